"""A cue's picture placed as an overlay's is, and what stays in view where it is cropped."""

import numpy as np
import pytest
from PIL import Image

from keyer.errors import SheetError
from keyer.kinds.picture import RgbPicture
from keyer.pixel.compose.fit import fit, placement
from keyer.render.plan import Plan
from keyer.report.boards.story import story_frames
from keyer.report.words import placement_words
from keyer.sheet.load import build_sheet

WIDTH, HEIGHT = 160, 90


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A picture, and a portrait with a red head high up in it."""
    path = tmp_path_factory.mktemp("reframing")
    codes = np.random.default_rng(1).integers(0, 256, (HEIGHT, WIDTH, 3), dtype=np.uint8)
    Image.fromarray(codes).save(path / "wide.png")
    tall = np.zeros((320, 180, 3), np.uint8)
    tall[40:80, 70:110] = (255, 0, 0)
    Image.fromarray(tall).save(path / "tall.png")
    return path


def sheet_of(folder, cues, overlays=(), **sources):
    files = {"wide": {"file": "wide.png"}, **sources}
    return build_sheet(
        {
            "version": 1,
            "sheet": {"format": f"{WIDTH}x{HEIGHT}@25", "length": 20},
            "sources": {**files, "black": {"colour": "#000000"}},
            "cues": cues,
            "overlays": list(overlays),
        },
        folder=folder,
    )


def shown(sheet, frame=0):
    with Plan(sheet) as plan:
        return plan.picture(frame, np.float32).planes


STANDS = {"position": [30, 60], "scale": 50, "border": 2, "turn": 10}


def test_a_cues_picture_stands_as_an_overlay_over_black_would(folder):
    cue = sheet_of(folder, [{"source": "wide", "placement": STANDS}])
    over = sheet_of(folder, [{"source": "black"}], [{"source": "wide", "placement": STANDS}])
    np.testing.assert_allclose(shown(cue), shown(over), atol=1e-6)


def test_a_cue_moves_from_its_own_first_frame(folder):
    moves = [{"at": 0, "scale": 100}, {"at": 10, "scale": 200, "position": [40, 50]}]
    cues = [{"source": "black"}, {"source": "wide", "at": 5, "placement": {"keyframes": moves}}]
    sheet = sheet_of(folder, cues)
    still = {"scale": 150, "position": [45, 50]}
    half = sheet_of(folder, [{"source": "wide", "placement": still}])
    np.testing.assert_allclose(shown(sheet, 10), shown(half), atol=1e-6)
    np.testing.assert_allclose(
        shown(sheet, 5), shown(sheet_of(folder, [{"source": "wide"}])), atol=1e-6
    )
    frames = {one.frame: one.heads for one in story_frames(sheet)}
    assert "wide begins to move" in frames[5]
    assert "wide arrives" in frames[15]


def test_the_paper_says_poses_times_and_curves(folder):
    moves = [
        {"at": 0, "position": [20, 50], "scale": 40, "curve": "ease"},
        {"at": 5, "position": [70, 50]},
        {"at": 12},
        {"at": 15, "turn": 90},
    ]
    sheet = sheet_of(folder, [{"source": "wide", "placement": {"keyframes": moves}}])
    words = placement_words(sheet.cues[0].standing)
    assert "frame 0: middle 20 %, 50 %, size 40 %" in words
    assert "frame 5: middle 70 %, 50 %, size 40 % (ease); rests to frame 12" in words
    assert words.endswith("frame 15: middle 70 %, 50 %, size 40 %, turned 90°")


def test_a_placement_needs_a_source(folder):
    cues = [{"source": "wide"}, {"at": 3, "transition": {"kind": "fade"}, "placement": STANDS}]
    with pytest.raises(SheetError, match=r"cues\[1\]\.placement.*belongs to a cue that has"):
        sheet_of(folder, cues)


@pytest.mark.parametrize(("keep", "head"), [([50, 50], 0.0), ([50, 19], 1.0), ([50, 0], 1.0)])
def test_a_portrait_keeps_its_head(folder, keep, head):
    """By hand: filling 16:9, 101 of 320 rows are seen; the middle ones begin below the head."""
    sheet = sheet_of(folder, [{"source": "tall"}], tall={"file": "tall.png", "keep": keep})
    red = shown(sheet)[0]
    scale = WIDTH / 180
    assert red.sum() == pytest.approx(head * 40 * 40 * scale**2, rel=0.02, abs=1e-6)


def test_the_point_comes_to_the_middle_where_it_can():
    """By hand: of 1000 columns 300 are seen; 40 % lies at 400, so 250 to 550."""
    crop = placement(1000, 300, 100, 100, 1, "cover", (40.0, 0.0)).crop
    assert crop == (250, 0, 300, 300)
    assert placement(1000, 300, 100, 100, 1, "cover", (5.0, 0.0)).crop == (0, 0, 300, 300)
    assert placement(1000, 300, 100, 100, 1, "cover", (99.0, 0.0)).crop == (700, 0, 300, 300)
    assert placement(1001, 300, 100, 100, 1, "cover").crop == (350, 0, 300, 300)
    picture = RgbPicture(np.arange(3 * 4 * 8, dtype=np.uint8).reshape(3, 4, 8))
    found = fit(picture, 4, 4, how="none", keep=(100.0, 0.0))
    np.testing.assert_array_equal(found.planes, picture.planes[:, :, 4:])


def test_keep_belongs_to_what_is_cropped(folder):
    with pytest.raises(SheetError, match="has nothing to keep"):
        sheet_of(folder, [{"source": "a"}], a={"file": "wide.png", "fit": "fill", "keep": [1, 1]})
