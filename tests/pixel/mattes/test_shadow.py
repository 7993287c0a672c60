"""Shadows on the backing, kept and laid on the new background."""

from dataclasses import replace

import numpy as np
import pytest
from plates import errors, making
from plates.proof import GREEN, KINDS, make

from keyer.errors import SettingError
from keyer.measure.backing import survey_backing
from keyer.measure.plate import backing_surface, backing_without_shadows
from keyer.pixel.keys.backing import lit_backing
from keyer.pixel.keys.fine import fine_key
from keyer.pixel.mattes.shadow import shade_of, shadow_of


def shaded(name, dark=0.4, height=360, width=480):
    """A plate with a soft shadow beside the subject, and that shadow."""
    kind = next(kind for kind in KINDS if kind.name == name)
    plate = make(replace(kind, noise=0.0), height, width, seed=3)
    rows, cols = np.mgrid[0:height, 0:width]
    away = np.hypot((rows - height * 0.62) / (height * 0.3), (cols - width * 0.78) / (width * 0.16))
    shadow = (dark * np.clip((1.15 - away) / 0.5, 0, 1)).astype(np.float32)
    lost = (1 - plate.matte) * plate.backing * shadow
    noisy = making.noisy(plate.recorded - lost, kind.noise, np.random.default_rng(1))
    return making.rounded(noisy), shadow, plate


def found(recorded):
    backing = survey_backing(recorded, "bt709")
    surface = backing_surface(recorded, backing.rgb, "bt709")
    noise = backing.noise_percent / 100
    key = fine_key(recorded, surface.planes, backing.hue_deg, noise, "bt709")
    lit = backing_without_shadows(recorded, backing.rgb, "bt709")
    return key, shadow_of(recorded, lit, key.matte, key.fill, noise)


@pytest.mark.parametrize("name", ["plain", "strands", "noise", "spill veil"])
def test_a_shadow_is_keyed_out_and_its_depth_read(name):
    recorded, shadow, plate = shaded(name)
    key, read = found(recorded)
    seen = plate.matte < 0.05
    # between strands the shadowed backing is not seen, so a little of it stays there
    assert key.matte[seen & (shadow > 0.3)].mean() < (0.03 if name == "strands" else 0.01)
    assert errors.mse(key.matte, plate.matte) < 1.5e-3
    assert read[seen & (shadow > 0.39)].mean() == pytest.approx(0.4, abs=0.03)
    assert np.abs(read - shadow)[seen].mean() < 0.01


@pytest.mark.parametrize("name", ["plain", "a stop uneven"])
def test_without_a_shadow_there_is_next_to_none(name):
    recorded, _, plate = shaded(name, dark=0.0)
    _, read = found(recorded)
    assert read[plate.matte < 0.05].mean() < 0.01


def test_the_backing_without_shadows_is_that_of_the_bright_parts():
    backing = making.flat(GREEN, 60, 100)
    shaded_part = backing.copy()
    shaded_part[:, 20:40, 30:60] *= 0.6
    lit = lit_backing(shaded_part, np.ones((60, 100), bool), GREEN, 60, 100)
    assert np.abs(lit - backing).max() < 0.02


def test_it_darkens_by_its_strength():
    background = np.full((3, 20, 30), 0.5, np.float32)
    shadow = np.zeros((20, 30), np.float32)
    shadow[5:15, 10:20] = 0.4
    for strength, level in ((0, 0.5), (50, 0.4), (100, 0.3), (200, 0.1)):
        laid = background * (1 - shade_of(shadow, strength, 0))
        assert laid[:, 10, 15] == pytest.approx(level, abs=1e-6)
        assert laid[:, 0, 0] == pytest.approx(0.5, abs=1e-6)


def test_softness_spreads_the_shadow_and_keeps_its_sum():
    shadow = np.zeros((80, 80), np.float32)
    shadow[30:50, 30:50] = 0.4
    soft = shade_of(shadow, 100, 20)
    assert soft.sum() == pytest.approx(shadow.sum(), rel=1e-3)
    assert soft[40, 25] > 0.05


@pytest.mark.parametrize(("strength", "soft"), [(-1, 0), (201, 0), (100, -1), (float("nan"), 0)])
def test_out_of_range_is_refused(strength, soft):
    with pytest.raises(SettingError, match="shadow"):
        shade_of(np.zeros((4, 4), np.float32), strength, soft)
