"""What holds for every pattern of the library, whatever it looks like."""

from fractions import Fraction

import numpy as np
import pytest
import support
from hypothesis import given, settings
from hypothesis import strategies as st
from wiping import NAMES, SMALL, edges, find, modifiers, plain, share, weights

from keyer.kinds.field import Geometry, Modifiers, Modulation
from keyer.kinds.settings import Edge
from keyer.pixel.wipes.fields import build

HALF_PIXEL = 0.5 / 5.4
STRAY = 2 * 0.03 / 2.7

TENTHS = [number / 10 for number in range(1, 10)]

AREAS = {
    "p": lambda p: p,
    "p^2": lambda p: p * p,
    "1-(1-p)^2": lambda p: 1 - (1 - p) ** 2,
    "2*p^2 for p<=0.5, else 1-2*(1-p)^2": lambda p: 2 * p * p if p <= 0.5 else 1 - 2 * (1 - p) ** 2,
}
EXACTLY = {
    "p exactly at p=0,1/4,1/2,3/4,1 (any frame shape)": (0.25, 0.5, 0.75),
    "p exactly at p=0,1/2,1": (0.5,),
}
SQUARE = {
    "p exactly at p=0,1 (and 1/2 on a square frame)",
    "p exactly at p=0,1/2,1 on a square frame",
}
CELLS = "p in steps of 1/N for N equal cells"
CIRCLE = "pi*(p*R)^2/(W*H) while p*R<=min(W,H)/2, R=half diagonal"

WITH_AREA = [
    wipe for wipe in support.reference("wipes")["wipe"] if wipe.get("area", "None") != "None"
]


@pytest.mark.parametrize("name", NAMES)
def test_the_field_is_finite_and_runs_from_0_to_1(name):
    field = plain(name)
    assert np.isfinite(field.values).all()
    assert 0.0 <= field.picture.min() < 0.06
    assert 0.94 < field.picture.max() <= 1.0


@given(st.sampled_from(NAMES), modifiers)
def test_no_modifier_leads_out_of_range(name, change):
    field = build(find(name), Geometry(64, 36), change)
    assert np.isfinite(field.values).all()
    assert field.picture.min() >= 0.0
    assert field.picture.max() <= 1.0


@given(st.sampled_from(NAMES), modifiers, edges)
def test_at_0_there_is_only_a_and_at_1_only_b(name, change, edge):
    field = build(find(name), Geometry(64, 36), change)
    of_a, of_b = weights(field, 0.0, edge)
    assert (of_a == 1.0).all()
    assert (of_b == 0.0).all()
    of_a, of_b = weights(field, 1.0, edge)
    assert (of_a == 0.0).all()
    assert (of_b == 1.0).all()


@given(st.sampled_from(NAMES), modifiers, edges)
def test_nothing_springs_up_at_the_start_or_at_the_end(name, change, edge):
    field = build(find(name), Geometry(64, 36), change)
    of_a, _ = weights(field, 1e-5, edge)
    assert of_a.min() > 0.99
    _, of_b = weights(field, 1 - 1e-5, edge)
    assert of_b.min() > 0.99


@given(st.sampled_from(NAMES), modifiers, edges, st.floats(0, 1))
def test_weights_are_shares(name, change, edge, progress):
    of_a, of_b = weights(build(find(name), Geometry(64, 36), change), progress, edge, 0.3)
    assert of_a.min() >= 0.0
    assert of_b.min() >= 0.0
    assert (of_a + of_b).max() <= 1.0 + 1e-6


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("edge", [Edge(), Edge(soft=8), Edge(border=4, border_soft=3)])
def test_the_share_of_b_never_falls(name, edge):
    found = [share(plain(name), step / 40, edge) for step in range(41)]
    assert found[0] == 0.0
    assert found[-1] == 1.0
    assert (np.diff(found) > -1e-5).all()


@settings(max_examples=40)
@given(st.sampled_from(NAMES), modifiers, edges, st.floats(0, 10))
def test_the_share_of_b_never_falls_with_any_setting(name, change, edge, seconds):
    """But for half a pixel in all, which a corner of a turned cell that comes into being may cost.

    Worst seen of these cases: 0.24 of a pixel of 64 x 36, parallel snakes turned by 18 degrees.
    A search finds far worse where edges are wider than cells: tips that are thinner than a pixel.
    """
    field = build(find(name), Geometry(64, 36), change)
    shown = [
        float(weights(field, step / 16, edge, seconds)[1].sum(dtype=np.float64))
        for step in range(17)
    ]
    assert (np.diff(shown) > -0.5).all()


@pytest.mark.parametrize("wipe", WITH_AREA, ids=lambda wipe: f"{wipe['type']}/{wipe['subtype']}")
def test_the_share_of_b_is_what_the_shape_says(wipe):
    """Within 0.2 % of the picture; in between cells within a cell."""
    name, rule = f"{wipe['type']}/{wipe['subtype']}", wipe["area"]
    if rule in SQUARE:
        assert share(plain(name, 600, 600), 0.5) == pytest.approx(0.5, abs=0.002)
        return
    field = plain(name, 960, 540)
    if rule in EXACTLY:
        for progress in EXACTLY[rule]:
            assert share(field, progress) == pytest.approx(progress, abs=0.002)
    elif rule == CELLS:
        for progress in TENTHS:
            assert share(field, progress) == pytest.approx(progress, abs=1 / 160)
    elif rule == CIRCLE:
        radius = np.hypot(960, 540) / 2
        for progress in (0.1, 0.2, 0.3, 0.4, 0.49):
            expected = np.pi * (progress * radius) ** 2 / (960 * 540)
            assert share(field, progress) == pytest.approx(expected, abs=0.002)
    else:
        for progress in TENTHS:
            assert share(field, progress) == pytest.approx(AREAS[rule](progress), abs=0.002)


@pytest.mark.parametrize("name", NAMES)
def test_half_and_double_size_show_the_same(name):
    """Within half a pixel of the edge's place: a ramp of 5.4 pixels changes by 0.09 in that."""
    edge = Edge(soft=6)
    _, small = weights(plain(name, 160, 90), 0.4, edge)
    _, large = weights(plain(name, 320, 180), 0.4, edge)
    halved = large.reshape(90, 2, 160, 2).mean(axis=(1, 3))
    assert np.abs(small - halved).max() < HALF_PIXEL
    assert np.abs(small - halved).mean() < 0.002


@pytest.mark.parametrize("name", NAMES)
def test_reverse_is_the_complement_in_time(name):
    """Within what the boundary may stray: 0.03 pixels to each side over a ramp of 2.7."""
    back = build(find(name), SMALL, Modifiers(reverse=True))
    edge = Edge(soft=5)
    for progress in (0.04, 0.33, 0.52, 0.81):  # where no boundary runs through a sample
        _, forth = weights(plain(name), 1 - progress, edge)
        _, found = weights(back, progress, edge)
        np.testing.assert_allclose(found, 1 - forth, atol=STRAY)


@pytest.mark.parametrize("name", ["barWipe", "ellipseWipe", "clockWipe", "starWipe"])
def test_a_reversed_wave_is_the_complement_in_time_too(name):
    wave = Modulation("sine", 5, 30, 0.2)
    forward = build(find(name), SMALL, Modifiers(modulation=wave))
    back = build(find(name), SMALL, Modifiers(modulation=wave, reverse=True))
    _, forth = weights(forward, 0.7, Edge(soft=5))
    _, found = weights(back, 0.3, Edge(soft=5))
    np.testing.assert_allclose(found, 1 - forth, atol=STRAY)


@pytest.mark.parametrize("name", NAMES)
def test_a_whole_turn_changes_nothing(name):
    for turns in (360.0, -720.0):
        turned = build(find(name), SMALL, Modifiers(rotation=turns))
        np.testing.assert_array_equal(turned.picture, plain(name).picture)


@pytest.mark.parametrize("name", NAMES)
def test_two_half_turns_are_none(name):
    """Half a turn of the pattern is the picture turned by half a turn."""
    turned = build(find(name), SMALL, Modifiers(rotation=180.0))
    _, found = weights(turned, 0.43, Edge(soft=8))
    _, straight = weights(plain(name), 0.43, Edge(soft=8))
    np.testing.assert_allclose(found[::-1, ::-1], straight, atol=0.02)


@pytest.mark.parametrize("name", NAMES)
def test_mirrored_twice_is_the_identity(name):
    field = build(find(name), Geometry(96, 60), Modifiers(repeat=(3, 3), mirror=True)).picture
    first, second, third = field[:20, :32], field[:20, 32:64], field[:20, 64:]
    np.testing.assert_allclose(second[:, ::-1], first, atol=2e-5)
    np.testing.assert_allclose(third, first, atol=2e-5)
    np.testing.assert_allclose(field[20:40, :32][::-1], first, atol=2e-5)


@pytest.mark.parametrize("name", NAMES)
def test_repetitions_are_the_pattern_made_small(name):
    field = build(find(name), Geometry(192, 108), Modifiers(repeat=(2, 2))).picture
    for tile in (field[:54, :96], field[:54, 96:], field[54:, :96], field[54:, 96:]):
        np.testing.assert_allclose(tile, plain(name).picture, atol=2e-5)


@pytest.mark.parametrize("name", NAMES)
def test_the_same_seed_gives_the_same_field(name):
    def found(seed):
        wave = Modulation("noise", 6, 30, seed=seed)
        field = build(find(name), SMALL, Modifiers(modulation=wave))
        return weights(field, 0.47, Edge(soft=3))[1]

    np.testing.assert_array_equal(found(4), found(4))
    assert np.abs(found(4) - found(5)).max() > 0.1


@pytest.mark.parametrize("name", NAMES)
def test_pixels_of_any_shape_show_the_same(name):
    """Twice as many columns, half as wide."""
    narrow = build(find(name), Geometry(320, 90, float(Fraction(1, 2))))
    _, found = weights(narrow, 0.4, Edge(soft=6))
    _, square = weights(plain(name, 160, 90), 0.4, Edge(soft=6))
    pairs = found.reshape(90, 160, 2).mean(axis=2)
    assert np.abs(pairs - square).max() < HALF_PIXEL


@settings(max_examples=20)
@given(st.sampled_from(NAMES), st.floats(0, 1), st.floats(0, 1))
def test_start_and_end_run_a_part(name, first, second):
    start, end = sorted((first, second))
    part = build(find(name), SMALL, Modifiers(start=start, end=end))
    for progress in (0.0, 0.5, 1.0):
        _, found = weights(part, progress)
        _, whole = weights(plain(name), start + (end - start) * progress)
        np.testing.assert_array_equal(found, whole)
