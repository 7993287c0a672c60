"""Waves and noise that displace an edge."""

import numpy as np
import pytest
from wiping import find, spread, weights

from keyer.errors import SettingError
from keyer.kinds.field import Geometry, Modifiers, Modulation
from keyer.kinds.settings import Edge
from keyer.pixel.wipes.displace import TABLE, block_most, displaced, wave_table
from keyer.pixel.wipes.fields import build


def test_the_waves_are_what_their_names_say():
    """By hand, at eighths of a cycle."""
    at = [TABLE * n // 8 for n in range(8)]
    root = 0.5**0.5
    sine = [0, root, 1, root, 0, -root, -1, -root]
    np.testing.assert_allclose(wave_table("sine")[at], sine, atol=1e-6)
    np.testing.assert_allclose(
        wave_table("triangle")[at], [0, 0.5, 1, 0.5, 0, -0.5, -1, -0.5], atol=1e-6
    )
    np.testing.assert_allclose(wave_table("square")[at], [0, 1, 1, 1, 0, -1, -1, -1], atol=1e-6)
    saw = wave_table("saw")
    assert (np.diff(saw[: int(TABLE * 0.47)]) > 0).all()
    assert saw[0] == pytest.approx(0)
    assert saw[TABLE // 4] == pytest.approx(0.25 / 0.47, abs=1e-3)


@pytest.mark.parametrize("kind", ["sine", "triangle", "square", "saw"])
def test_waves_reach_1_and_close(kind):
    wave = wave_table(kind)
    assert wave.max() == pytest.approx(1, abs=0.01)
    assert wave.min() == pytest.approx(-1, abs=0.01)
    assert wave[TABLE] == pytest.approx(wave[0], abs=1e-6)
    assert wave[:TABLE].mean() == pytest.approx(0, abs=1e-3)


@pytest.mark.parametrize(("amplitude", "wavelength"), [(5, 40), (10, 80), (2.5, 25)])
def test_amplitude_and_wavelength_are_percent_of_height(amplitude, wavelength):
    """A vertical edge at half progress bulges by the amplitude and repeats by the wavelength."""
    wave = Modulation("sine", amplitude, wavelength)
    field = build(find("barWipe"), Geometry(400, 200), Modifiers(modulation=wave))
    _, of_b = weights(field, 0.5)
    edge = of_b.sum(axis=1) - 0.5
    assert (edge.max() - edge.min()) / 2 == pytest.approx(amplitude * 2, abs=0.3)
    rows = int(wavelength * 2)
    np.testing.assert_allclose(edge[rows:], edge[:-rows], atol=0.05)


def test_phase_is_in_cycles():
    """A quarter of a cycle later the sine is a cosine: the edge has moved by 10 of 40 rows."""

    def edge(phase):
        wave = Modulation("sine", 5, 20, phase)
        field = build(find("barWipe"), Geometry(400, 200), Modifiers(modulation=wave))
        return weights(field, 0.5)[1].sum(axis=1)

    np.testing.assert_allclose(edge(0.25)[:-10], edge(0.0)[10:], atol=0.05)
    np.testing.assert_allclose(edge(1.0), edge(0.0), atol=1e-3)


def test_the_wave_comes_in_from_nothing():
    """At progress p the edge stands at most 2 p amplitudes ahead of where it would."""
    wave = Modulation("triangle", 10, 30)
    field = build(find("barWipe"), Geometry(400, 200), Modifiers(modulation=wave))
    edge = weights(field, 0.01)[1].sum(axis=1)
    assert edge.max() < 0.01 * 400 + 2 * 0.01 * 20 + 1
    assert edge.min() == 0.0


def test_far_from_the_edge_the_field_is_as_it_was():
    wave = Modulation("sine", 3, 20)
    field = build(find("barWipe"), Geometry(320, 180), Modifiers(modulation=wave))
    found = displaced(field, wave, 0.5, 0.0)
    laid = spread(found, field.values.shape)
    far = np.isinf(laid)
    assert far.mean() > 0.7
    np.testing.assert_array_equal(laid[far] < 0, field.values[far] < 0.5)
    near = np.abs(field.values - 0.5) < 0.005
    assert np.abs(laid[near] - field.values[near]).max() > 0.01


def test_displacement_agrees_with_its_twin():
    """field - swing (wave + 2 p - 1), with numpy's sine; the table's steps leave 1e-5."""
    wave = Modulation("sine", 8, 30, 0.1)
    field = build(find("ellipseWipe"), Geometry(96, 54), Modifiers(modulation=wave))
    found = displaced(field, wave, 0.4, 0.0)
    sine = np.sin(2 * np.pi * (field.along * 100 / 30 + 0.1))
    expected = field.values - field.swing * (sine + 2 * 0.4 - 1)
    laid = spread(found, field.values.shape)
    near = np.isfinite(laid)
    assert near.sum() > 1000
    np.testing.assert_allclose(laid[near], expected[near], atol=2e-5)


@pytest.mark.parametrize("kind", ["square", "noise"])
def test_neighbours_share_their_samples_to_the_last_bit(kind):
    """Else a boundary could leave one block where it does not enter the next."""
    wave = Modulation(kind, 8, 30, seed=4)
    field = build(find("starWipe"), Geometry(200, 120), Modifiers(modulation=wave))
    blocks = displaced(field, wave, 0.4, 0.0)
    laid = spread(blocks, field.values.shape)
    for place, samples in zip(blocks.places, blocks.samples, strict=True):
        top, left = (place // blocks.number.shape[1] * 8, place % blocks.number.shape[1] * 8)
        there = laid[top : top + 9, left : left + 9]
        here = samples[: there.shape[0], : there.shape[1]]
        known = np.isfinite(there)
        np.testing.assert_array_equal(here[known], there[known])


def test_block_most_is_the_greatest_swing():
    rng = np.random.default_rng(2)
    swing = rng.random((21, 18), dtype=np.float32)
    found = block_most(swing)
    assert found.shape == (3, 3)
    assert found[0, 0] == swing[:9, :9].max()
    assert found[2, 2] == swing[16:, 16:].max()


def test_a_field_without_modulation_cannot_be_displaced():
    with pytest.raises(ValueError, match="without a modulation"):
        displaced(build(find("barWipe"), Geometry(32, 18)), Modulation(), 0.5, 0.0)


def test_noise_displaces_alike_at_every_size():
    wave = Modulation("noise", 8, 30, seed=2)

    def found(width, height):
        field = build(find("barWipe"), Geometry(width, height), Modifiers(modulation=wave))
        return weights(field, 0.5, Edge(soft=10))[1]

    small, large = found(160, 90), found(320, 180)
    np.testing.assert_allclose(small, large.reshape(90, 2, 160, 2).mean(axis=(1, 3)), atol=0.06)


@pytest.mark.parametrize(
    ("settings", "named"),
    [
        ({"wave": "sinus"}, "modulation wave must be one of sine, triangle.*Did you mean 'sine'"),
        ({"amplitude": 60}, r"modulation amplitude must be in \[0, 50\], got 60"),
        ({"wavelength": 0}, r"modulation wavelength must be in \[1, 200\], got 0"),
        ({"phase": 90}, r"modulation phase must be in \[-1, 1\], got 90\. It is in cycles"),
        ({"speed": 99}, "modulation speed"),
        ({"seed": -1}, "modulation seed"),
    ],
)
def test_limits_are_stated(settings, named):
    with pytest.raises(SettingError, match=named):
        Modulation(**settings)
