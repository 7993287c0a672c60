"""The steps of a key as pictures."""

import numpy as np
import pytest
from PIL import Image
from support import solid

from keyer.errors import SettingError
from keyer.kinds.picture import RgbPicture
from keyer.measure.hues import bar_hue
from keyer.pixel.colour.false_colour import FROM_NOTHING, UNKNOWN
from keyer.pixel.colour.load import to_array
from keyer.render.key_views import MOST_SPILL, spill_picture
from keyer.render.plan import Plan
from keyer.render.still import frame_picture
from keyer.sheet.load import parse_sheet

GREEN = bar_hue("green", "bt709")

SHEET = """version = 1
[sheet]
format = "160x90@25"
length = "2s"
[sources.plate]
file = "plate.png"
[sources.under]
colour = "#204060"
[[cues]]
source = "under"
[[overlays]]
source = "plate"
key = { kind = "%s" }
"""


@pytest.fixture
def folder(tmp_path):
    """A grey square with a green tint at its left, before green."""
    picture = np.empty((90, 160, 3), np.uint8)
    picture[:] = (40, 170, 60)
    picture[25:90, 60:100] = (150, 140, 130)
    picture[25:90, 60:72] = (140, 165, 130)
    Image.fromarray(picture).save(tmp_path / "plate.png")
    return tmp_path


def shown(folder, show, kind="chroma", more=""):
    sheet = parse_sheet(SHEET % kind + more, folder=folder)
    with Plan(sheet) as plan:
        found = frame_picture(plan, 10, show)
    return to_array(found) if isinstance(found, RgbPicture) else found


@pytest.mark.parametrize("quality", ["fast", "fine"])
def test_every_step_of_either_key_can_be_seen(folder, quality):
    kind = f'chroma", quality = "{quality}'
    signal = shown(folder, "key-signal", kind)
    assert signal[5, 5] < 0.05
    assert signal[60, 85] == 1
    matte = shown(folder, "matte", kind)
    assert (matte[5, 5], matte[60, 85]) == (0, 1)
    subject = shown(folder, "subject", kind)
    assert abs(subject[5, 5].astype(int) - 128).max() <= 1
    spill = shown(folder, "spill", kind)
    assert spill[5, 5].tolist() == [round(255 * UNKNOWN)] * 3
    assert spill[60, 85].sum() < spill[60, 66].sum()  # the tint is brighter


def test_a_spill_of_half_the_scale_has_its_middle_colour():
    matte = np.ones((4, 8), np.float32)
    matte[:, :2] = 0.02
    matte[:, 2:4] = 0.5
    found = to_array(spill_picture(solid((0.5, 0.55, 0.48)), matte, GREEN, "bt709"))
    assert MOST_SPILL == 10
    middle = [255 * part for part in FROM_NOTHING[2]]
    np.testing.assert_allclose(found[0, 5], middle, atol=1)  # 5 % of white
    quarter = [255 * part for part in FROM_NOTHING[1]]  # half of it shows: 2.5 %
    np.testing.assert_allclose(found[0, 2], quarter, atol=1)
    np.testing.assert_allclose(found[0, 0], 255 * UNKNOWN, atol=1)


def test_a_key_without_a_backing_has_no_spill(folder):
    for show in ("spill", "key-signal"):
        with pytest.raises(SettingError, match="chroma key"):
            shown(folder, show, "luminance")


def test_a_placed_subject_has_its_spill_where_it_was_recorded(folder):
    moved = "placement = { position = [25, 25] }\n"
    np.testing.assert_array_equal(shown(folder, "spill"), shown(folder, "spill", more=moved))
    assert (shown(folder, "matte") != shown(folder, "matte", more=moved)).any()
