"""A subject's hues against the backing."""

import cv2
import numpy as np
import pytest
from measured import survey_subject
from plates import errors, making
from plates.keys import fine
from plates.portrait import LIME, eyes, portrait, product, scarf
from plates.proof import BLUE, GREEN, KINDS, make
from plates.textures import CROPS, texture
from signals.plate_signals import turned, with_subject

from keyer.errors import SettingError
from keyer.measure.backing import survey_backing
from keyer.measure.subject import (
    clash_map,
    clash_mask,
    judge_subject,
    survey_pixels,
)
from keyer.measure.subject_pixels import subject_of_plate
from keyer.pixel.mattes.masks import apply_masks


def surveyed(plate):
    backing = survey_backing(plate, "bt709")
    return survey_subject(plate, "bt709", backing), backing


@pytest.mark.parametrize("paint", [eyes, scarf, product])
def test_what_has_the_backings_hue_is_told_with_its_share(paint):
    plate, matte, marks = portrait(paint=paint)
    found, _ = surveyed(plate)
    share = 100 * marks.sum() / (matte > 0.5).sum()
    assert found.clash_percent == pytest.approx(share, rel=0.125)
    verdict = judge_subject(found)
    assert verdict.verdict != "holds"
    assert "mask" in verdict.remedy
    assert f"{found.clash_percent:.1f} % of the subject" in found.reasons[0]


@pytest.mark.parametrize("degrees", [20, 40, -40, 55])
@pytest.mark.parametrize("share", [0.15, 0.3, 1.2, 5])
def test_a_small_patch_keeps_its_border(degrees, share):
    """A square of another hue in the subject; what lies beside its border is no mesh."""
    found, _ = surveyed(with_subject(share, turned(degrees)))
    assert found.clash_percent == pytest.approx(share, rel=0.1)


def test_before_blue_the_scarf_matters_less_and_the_product_not_at_all():
    found, _ = surveyed(portrait(paint=product)[0])
    assert found.best == "blue"
    assert found.blue_clash_percent < 0.2
    assert "Hang a blue backing." in found.reasons


def test_a_subject_without_the_backings_hue_holds():
    found, _ = surveyed(portrait()[0])
    assert found.clash_percent < 0.1
    assert judge_subject(found).verdict == "holds"
    assert found.best == "green"


@pytest.mark.parametrize("kind", [k for k in KINDS if k.spill], ids=lambda kind: kind.name)
def test_spill_is_not_taken_for_the_subjects_own_hue(kind):
    plate = make(kind, seed=4)
    found, _ = surveyed(plate.recorded)
    assert found.clash_percent < 1.0


def test_hold_in_masks_save_what_would_go():
    plate, matte, marks = portrait(paint=scarf)
    keyed, _ = fine(plate)
    hold = cv2.dilate(marks, np.ones((5, 5), np.uint8)) * (matte == 1)
    held = apply_masks(keyed, hold=hold.astype(np.float32))
    assert (held[marks > 0.5] == 1).mean() > 0.9
    assert errors.mse(held, matte) <= errors.mse(keyed, matte)
    assert errors.mse(held, matte) < 1e-3


@pytest.mark.parametrize(
    ("colour", "best"),
    [(LIME, "blue"), (GREEN, "blue"), (BLUE, "green"), ((0.8, 0.1, 0.1), "green")],
)
def test_before_the_shoot_a_photograph_says_which_backing_to_hang(colour, best):
    picture = making.flat((0.95, 0.95, 0.95), 200, 300)
    picture[:, 60:150, 90:210] = np.array(colour, np.float32)[:, None, None]
    found = survey_subject(picture, "bt709")
    assert found.hue_deg is None
    assert found.best == best
    assert found.best_clash_percent < 0.2
    # the white ground is no part of the product
    assert found.neutral_percent < 5
    assert any(best in line for line in found.reasons)


def test_green_and_blue_and_neither():
    picture = making.flat((0.95, 0.95, 0.95), 200, 300)
    picture[:, 60:150, 90:150] = np.array(GREEN, np.float32)[:, None, None]
    picture[:, 60:150, 150:210] = np.array(BLUE, np.float32)[:, None, None]
    found = survey_subject(picture, "bt709")
    assert found.best not in ("green", "blue")
    assert found.green_clash_percent == pytest.approx(50, abs=2)
    assert found.blue_clash_percent == pytest.approx(50, abs=2)


@pytest.mark.parametrize("name", CROPS)
def test_shares_of_a_photograph_add_up(name):
    found = survey_subject(texture(name, 120, 160), "bt709")
    assert sum(found.hues_percent) + found.neutral_percent == pytest.approx(100, abs=1e-3)


def test_the_map_shows_where():
    plate, _, marks = portrait(paint=scarf)
    shown = clash_map(plate, survey_backing(plate, "bt709").hue_deg, "bt709")
    inside = cv2.erode(marks, np.ones((9, 9), np.uint8)) > 0.5
    assert shown[inside].mean() > 6
    assert shown[110:160, 220:260].mean() < 1


def test_small_and_grey_pictures():
    for size in ((1, 1), (2, 3)):
        found = survey_subject(np.full((3, *size), 0.5, np.float32), "bt709")
        assert found.clash_percent == 0
        assert found.best == "green"


def test_an_angle_out_of_range_is_refused():
    with pytest.raises(SettingError, match="acceptance"):
        survey_subject(np.full((3, 4, 4), 0.5, np.float32), "bt709", None, 5.0)


def test_what_is_clear_in_a_cut_out_is_no_part_of_the_subject():
    picture = making.flat(GREEN, 200, 300)
    picture[:, 60:150, 90:210] = np.array((0.8, 0.1, 0.1), np.float32)[:, None, None]
    alpha = np.zeros((200, 300), np.float32)
    alpha[60:150, 90:210] = 1
    assert survey_subject(picture, "bt709", alpha=alpha).green_clash_percent == 0
    # opaque throughout: the plain ground goes, as of any photograph
    opaque = survey_subject(picture, "bt709", alpha=np.ones_like(alpha))
    assert opaque == survey_subject(picture, "bt709")


def test_the_mask_has_the_share_that_is_told():
    plate, _, marks = portrait(paint=scarf)
    backing = survey_backing(plate, "bt709")
    pixels = subject_of_plate(plate, backing, "bt709")
    found = survey_pixels(pixels, "bt709", backing.hue_deg)
    mask = clash_mask(pixels, backing.hue_deg, "bt709")
    assert 100 * mask.sum() / pixels.inside.sum() == pytest.approx(found.clash_percent, abs=0.05)
    assert (mask & (marks > 0.5)).sum() > 0.9 * (marks > 0.5).sum()


def test_a_backing_that_serves_may_stay():
    found, _ = surveyed(portrait(BLUE)[0])
    assert found.reasons[-1] == "No other backing serves this subject better."


def test_a_grey_subject_is_said_to_have_no_hue():
    plate = making.flat(GREEN, 180, 240)
    plate[:, 60:, 90:150] = 0.5
    found, _ = surveyed(plate)
    assert not found.coloured
    assert "next to no hue" in found.reasons[0]
    assert "degrees away" not in found.reasons[0]


def test_an_empty_backing_is_said_to_be_empty():
    found, _ = surveyed(making.flat(GREEN, 180, 240))
    assert found.reasons == ("No subject is in the picture.",)
    assert found.clash_percent == 0


def test_backing_seen_through_a_mesh_is_no_hue_of_the_subject():
    plate, matte, _ = portrait()
    holes = np.zeros(matte.shape, np.float32)
    holes[250:330:4, 200:290] = holes[251:330:4, 200:290] = 1
    backing = np.array(GREEN, np.float32)[:, None, None]
    plate = (plate + holes * (backing - plate)).astype(np.float32)
    found, _ = surveyed(plate)
    assert found.clash_percent < 0.2
