import numpy as np
import pytest
from plates import errors
from plates.proof import KINDS, make

from keyer.kinds.picture import RgbPicture
from keyer.render.compose import compose_matte
from keyer.render.frame import Keyed
from keyer.render.keys import FineKeyer, choose_key, settled
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
    picture = _picture(plate)
    choice = choose_key(picture, Key("chroma"))
    fine = FineKeyer(choice, Key("chroma", quality="fine"))(picture)
    fill, matte = compose_matte(Keyed(picture, choice.settings))
    assert errors.mse(fine.matte, plate.matte) < errors.mse(matte, plate.matte)
    finely = fine.fill + (1 - fine.matte) * plate.behind
    fast = fill + (1 - matte) * plate.behind
    assert errors.psnr(finely, plate.composite) > errors.psnr(fast, plate.composite)


def test_a_picture_that_stands_is_keyed_once(plate):
    picture = _picture(plate)
    keyer = FineKeyer(choose_key(picture, Key("chroma")), Key("chroma"))
    assert keyer(picture) is keyer(picture)
    assert keyer(_picture(plate)) is not keyer(picture)


def test_clip_and_gain_by_hand_bite(plate):
    picture = _picture(plate)
    choice = choose_key(picture, Key("chroma"))
    plain = FineKeyer(choice, Key("chroma"))(picture)
    hard = FineKeyer(choice, Key("chroma", clip_percent=50.0, gain=50.0))(picture)
    np.testing.assert_array_equal(hard.matte[plain.matte < 0.5], 0)
    np.testing.assert_array_equal(hard.fill[:, plain.matte < 0.5], 0)


def test_what_is_set_by_hand_is_kept_and_said(plate):
    choice = choose_key(_picture(plate), Key("chroma", gain=3.0, acceptance_deg=100.0))
    assert (choice.settings.gain, choice.settings.acceptance_deg) == (3.0, 100.0)
    about_gain = [reason for reason in choice.reasons if reason.startswith("Gain")]
    assert about_gain == ["Gain 3 as asked."]
