"""The settings chosen from a plate make its backing clear and its subject solid."""

import numpy as np
import pytest
from plates import errors
from plates.making import flat
from plates.proof import GREEN, KINDS, make

from keyer.measure.auto_key import auto_settings
from keyer.measure.backing import survey_backing
from keyer.pixel.keys.fast import clip_and_gain, key_signal


def fast_matte(recorded, settings):
    matte = np.empty(recorded.shape[1:], np.float32)
    key_signal(recorded, settings, "bt709", matte)
    clip_and_gain(matte, settings.clip_percent, settings.gain)
    return matte


def keyed(plate):
    backing = survey_backing(plate.recorded, "bt709")
    chosen = auto_settings(plate.recorded, backing, "bt709")
    return chosen, fast_matte(plate.recorded, chosen.settings)


@pytest.mark.parametrize(
    "kind", [k for k in KINDS if not k.bits_a_pixel], ids=lambda kind: kind.name
)
def test_backing_clear_and_subject_solid(kind):
    plate = make(kind, seed=77)
    _, matte = keyed(plate)
    clear, solid = plate.matte == 0, plate.matte == 1
    assert (matte[clear] > 0.02).mean() < 0.01
    assert matte[solid].mean() > 0.95
    # A saturated subject whose hue lies opposite the backing's reads too solid where it is
    # see-through: a key that looks at one pixel at a time cannot know its colour.
    assert errors.mse(matte, plate.matte) < 9e-3


def test_mean_matte_error_over_all_kinds():
    plates = [make(kind, seed=5) for kind in KINDS]
    mean = np.mean([errors.mse(keyed(plate)[1], plate.matte) for plate in plates])
    assert mean < 2.2e-3


def test_it_says_why():
    chosen, _ = keyed(make(KINDS[0]))
    assert len(chosen.reasons) == 3
    for word, reason in zip(("Acceptance", "Clip", "Gain"), chosen.reasons, strict=True):
        assert reason.startswith(word)
        assert reason.endswith(".")


def test_noise_raises_the_clip():
    noisy = next(kind for kind in KINDS if kind.name == "noise")
    quiet = next(kind for kind in KINDS if kind.name == "strands")
    assert keyed(make(noisy))[0].settings.clip_percent > keyed(make(quiet))[0].settings.clip_percent


def test_a_hue_asked_for_is_kept():
    plate = make(KINDS[0])
    backing = survey_backing(plate.recorded, "bt709")
    chosen = auto_settings(plate.recorded, backing, "bt709", hue_deg=230.0)
    assert chosen.settings.hue_deg == 230.0


@pytest.mark.parametrize("size", [(1, 1), (2, 3), (40, 60)])
def test_a_picture_of_backing_alone_is_clear(size):
    picture = flat(GREEN, *size)
    backing = survey_backing(picture, "bt709")
    settings = auto_settings(picture, backing, "bt709").settings
    assert fast_matte(picture, settings).max() == 0.0
