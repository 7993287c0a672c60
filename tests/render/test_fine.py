import numpy as np
import pytest
from plates import errors
from plates.proof import KINDS, make
from render.frames import ByKey

from keyer.kinds.picture import RgbPicture
from keyer.render.choose import choose_key, survey_key
from keyer.render.fine import settled
from keyer.sheet.effect import Key


@pytest.fixture(scope="module")
def plate():
    return make(next(kind for kind in KINDS if kind.name == "strands"), 180, 240, seed=9)


def _picture(plate):
    return RgbPicture(np.ascontiguousarray(plate.recorded, np.float32))


def test_settled_ends_and_untouched_middle():
    """By hand, with 0.04 and 0.06: 0.06 -> 2 (0.06 - 0.04), 0.9 -> 1 - 2 (0.1 - 0.06)."""
    matte = np.array([[0.0, 0.04, 0.06, 0.08, 0.5, 0.88, 0.9, 0.94, 1.0]], np.float32)
    expected = [[0.0, 0.0, 0.04, 0.08, 0.5, 0.88, 0.92, 1.0, 1.0]]
    np.testing.assert_allclose(settled(matte, 0.04, 0.06), expected, atol=1e-6)


def test_a_fine_key_is_nearer_to_the_truth_than_a_fast_one(plate):
    fine, fast = (
        ByKey(Key("chroma", quality=quality), _picture(plate)).at(0) for quality in ("fine", "fast")
    )
    assert errors.mse(fine.alpha, plate.matte) < errors.mse(fast.alpha, plate.matte)
    finely, quickly = (one.planes + (1 - one.alpha) * plate.behind for one in (fine, fast))
    assert errors.psnr(finely, plate.composite) > errors.psnr(quickly, plate.composite)


def test_a_picture_that_stands_is_keyed_once(plate):
    picture, other = _picture(plate), _picture(plate)
    layer = ByKey(Key("chroma", quality="fine"), picture, picture, other)
    assert layer.at(1) is layer.at(0)
    assert layer.at(2) is not layer.at(0)


def test_what_the_first_picture_was_found_to_be_like_holds_for_all(plate):
    """Whichever is keyed first: a clip begun anywhere is the clip begun at its start."""
    darker = RgbPicture(np.ascontiguousarray(0.9 * plate.recorded, np.float32))
    pictures = _picture(plate), darker
    key = Key("chroma", quality="fine")
    late, both = ByKey(key, *pictures), ByKey(key, *pictures)
    both.at(0)
    np.testing.assert_array_equal(late.at(1).alpha, both.at(1).alpha)


def test_clip_and_gain_by_hand_bite(plate):
    plain, hard = (
        ByKey(Key("chroma", quality="fine", **by_hand), _picture(plate)).at(0)
        for by_hand in ({}, {"clip_percent": 50.0, "gain": 50.0})
    )
    np.testing.assert_array_equal(hard.alpha[plain.alpha < 0.5], 0)
    np.testing.assert_array_equal(hard.planes[:, plain.alpha < 0.5], 0)


def test_what_is_set_by_hand_is_kept_and_said(plate):
    key = Key("chroma", gain=3.0, acceptance_deg=100.0)
    choice = choose_key(survey_key(_picture(plate).planes, "bt709", key), key)
    assert (choice.settings.gain, choice.settings.acceptance_deg) == (3.0, 100.0)
    about_gain = [reason for reason in choice.reasons if reason.startswith("Gain")]
    assert about_gain == ["Gain 3 as asked."]
