"""Moving backgrounds."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from wiping import find, noise_plane

from keyer.errors import SettingError
from keyer.kinds.field import Geometry, Modifiers
from keyer.kinds.look import Look, LookWave
from keyer.library.looks import load_looks
from keyer.pixel.wipes.background import draw_background, lay_background

LOOKS = tuple(load_looks().values())
BLACK, WHITE, RED = (0.0, 0.0, 0.0), (1.0, 1.0, 1.0), (1.0, 0.0, 0.0)
GRAIN = 0.5 / 255 + 1e-6


def drawn(look: Look, share: float = 0.0, width: int = 96, height: int = 54, **options):
    ground = lay_background(look, find(look.pattern), Geometry(width, height))
    return draw_background(ground, share, **options)


def ramp(**settings) -> Look:
    return Look("test", "test", "barWipe", **{"colours": (BLACK, WHITE), **settings})


@pytest.mark.parametrize("look", LOOKS, ids=lambda look: look.name)
def test_every_look_is_a_picture_and_its_loop_closes(look):
    first = drawn(look)
    assert first.shape == (3, 54, 96)
    assert first.dtype == np.float32
    assert first.min() >= 0.0
    assert first.max() <= 1.0
    assert first.std() > 0.003
    np.testing.assert_array_equal(drawn(look, 1.0), first)
    assert np.abs(drawn(look, 0.4) - first).max() > 0.01


@pytest.mark.parametrize("look", LOOKS, ids=lambda look: look.name)
def test_a_loop_runs_without_a_jump(look):
    """Over 250 frames (ten seconds), the step over the seam is no greater than the others."""
    frames = [drawn(look, n / 250) for n in (247, 248, 249, 250, 251)]
    steps = [float(np.abs(b - a).mean()) for a, b in pairwise(frames)]
    assert max(steps) < 2 * min(steps) + 1e-3
    assert max(steps) < 0.02


@pytest.mark.parametrize("look", LOOKS, ids=lambda look: look.name)
def test_the_brightness_of_the_whole_rises_and_falls_at_most_once_a_loop(look):
    """So that a loop of a second or more stays below the three flashes a second of BT.1702-3."""
    mean = [float(drawn(look, n / 60).mean()) for n in range(61)]
    turns, last = 0, mean[0]
    rising = 0
    for value in mean[1:]:
        way = 1 if value - last > 0.05 else -1 if last - value > 0.05 else 0
        if way:
            turns += rising not in {0, way}
            rising, last = way, value
    assert turns <= 2


@pytest.mark.parametrize("look", LOOKS, ids=lambda look: look.name)
def test_half_and_double_size_show_the_same(look):
    small = drawn(look, 0.2, 160, 90)
    large = drawn(look, 0.2, 320, 180).reshape(3, 90, 2, 160, 2).mean(axis=(2, 4))
    assert np.abs(small - large).mean() < 0.008
    assert np.abs(small - large).max() < 0.15


def test_colours_are_run_through_as_the_pattern_says():
    """By hand: black at 0, white half way, black again; a smooth slope 3 t^2 - 2 t^3 between."""
    row = drawn(ramp(runs=1), width=100, height=4)[0, 2]
    place = ((np.arange(100) + 0.5) / 100) * 2
    part = np.where(place < 1, place, 2 - place)
    np.testing.assert_allclose(row, 3 * part**2 - 2 * part**3, atol=GRAIN + 1e-3)


def test_soft_0_is_bands_with_one_pixel_between():
    row = drawn(ramp(runs=2, soft=0), width=200, height=4)[0, 2]
    between = (row > 0.02) & (row < 0.98)
    assert between.sum() <= 8  # four edges, two pixels each
    assert row[1:24].max() < 0.02  # black is centred on whole runs
    assert row[27:74].min() > 0.98


def test_drift_moves_by_whole_runs():
    look = ramp(runs=2, drift=1)
    still, moved = drawn(look, 0.0, 200, 4), drawn(look, 0.25, 200, 4)
    # a quarter of a run is an eighth of the width: 25 columns to the right
    np.testing.assert_allclose(moved[:, :, 25:], still[:, :, :-25], atol=2 * GRAIN + 2e-3)


def test_too_fine_bands_merge_into_their_mean():
    """Where a run is shorter than a pixel, the mean of the colours is left."""
    found = drawn(ramp(runs=60, soft=20, colours=(RED, WHITE)), width=40, height=4)
    np.testing.assert_allclose(found[0], 1.0, atol=GRAIN)
    np.testing.assert_allclose(found[1], 0.5, atol=0.06)


def test_a_sine_bends_by_its_amplitude():
    """Twin: the runs are the field plus the wave."""
    wave = LookWave("sine", amplitude=20, wavelength=50, angle=90, cycles=2)
    found = drawn(ramp(waves=(wave,)), 0.1, 96, 54)
    y, x = (np.mgrid[:54, :96] + 0.5) / np.array([54, 96])[:, None, None]
    runs = x + 0.2 * np.sin(2 * np.pi * ((y - 0.5 / 54) / 0.5 - 0.2))
    place = (runs % 1) * 2
    part = np.where(place < 1, place, 2 - place)
    np.testing.assert_allclose(found[0], 3 * part**2 - 2 * part**3, atol=GRAIN + 3e-3)


def test_noise_bends_by_its_amplitude():
    """Twin: noise of the same seed over the same lattice, read at every pixel."""
    wave = LookWave("noise", amplitude=30, wavelength=40, seed=3)
    found = drawn(ramp(waves=(wave,)), 0.0, 96, 54)
    step = 1 / 0.4 / 54
    noise = noise_plane(54, 96, origin=(step / 2, step / 2), step=(step, step), seed=3)
    runs = (np.arange(96) + 0.5) / 96 + 0.3 * noise
    place = (runs % 1) * 2
    part = np.where(place < 1, place, 2 - place)
    np.testing.assert_allclose(found[0], 3 * part**2 - 2 * part**3, atol=GRAIN + 6e-3)


def test_the_corners_are_darkened():
    found = drawn(ramp(colours=(WHITE, WHITE), shade=40), width=160, height=90)[0]
    assert found[45, 80] > 0.99
    assert found[0, 0] == pytest.approx(0.6, abs=0.01)


def test_threads_do_not_matter():
    look = LOOKS[1]
    np.testing.assert_array_equal(drawn(look, 0.3, threads=1), drawn(look, 0.3, threads=2))


@given(
    st.sampled_from(["barWipe", "clockWipe", "starWipe", "snakeWipe"]),
    st.floats(0, 64, width=32),
    st.floats(0, 100, width=32),
    st.integers(-5, 5),
    st.floats(0, 1),
)
def test_any_setting_gives_a_picture(pattern, runs, soft, drift, share):
    wave = LookWave("noise", 80, 20, 30, 1, 3, 7)
    look = Look(
        "any",
        "any",
        pattern,
        (BLACK, RED, WHITE),
        Modifiers(rotation=20, repeat=(2, 1)),
        runs,
        soft,
        drift,
        (wave,),
        50,
    )
    found = drawn(look, share, 48, 27)
    assert np.isfinite(found).all()
    assert found.min() >= 0.0
    assert found.max() <= 1.0


@pytest.mark.parametrize(
    ("settings", "named"),
    [
        ({"colours": (BLACK,)}, "colours must be 2 to 8, got 1"),
        ({"runs": -1}, r"runs must be in \[0, 64\]"),
        ({"soft": 101}, r"soft must be in \[0, 100\]"),
        ({"drift": 0.5}, "drift must be a whole number"),
        ({"shade": 200}, "shade"),
        ({"colours": (BLACK, (2.0, 0.0, 0.0))}, "colours"),
        ({"waves": (LookWave(),) * 7}, "waves must be at most 6"),
    ],
)
def test_limits_are_stated(settings, named):
    with pytest.raises(SettingError, match=named):
        ramp(**settings)


@pytest.mark.parametrize(
    ("settings", "named"),
    [
        ({"kind": "square"}, "wave kind must be one of sine, noise"),
        ({"amplitude": 300}, "wave amplitude"),
        ({"wavelength": 0}, "wave wavelength"),
        ({"cycles": 0.5}, "wave cycles must be a whole number"),
        ({"stretch": 0}, "wave stretch"),
    ],
)
def test_limits_of_waves_are_stated(settings, named):
    with pytest.raises(SettingError, match=named):
        LookWave(**settings)
