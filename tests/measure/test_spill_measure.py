"""Spill: what it is of every colour, on the subject and at its rim."""

import numpy as np
import pytest
from plates import keys, making
from plates.proof import KINDS, SEA_GREEN, make
from support import solid

from keyer.kinds.limits import LIMITS
from keyer.measure.against_plate import CLEAR, SOLID
from keyer.measure.spill import (
    RIM,
    VISIBLE_PERCENT,
    judge_rim,
    judge_spill,
    measure_spill,
    seen_of,
    spill_of,
)
from keyer.pixel.colour.luma_chroma import hue_of

GREEN, BLUE = (0.16, 0.68, 0.22), (0.13, 0.27, 0.72)
HUES = {colour: hue_of(colour, "bt709") for colour in (GREEN, BLUE, SEA_GREEN)}
OPAQUE = np.ones((4, 8), np.float32)
ROOM = np.linspace(0, 1, 41, dtype=np.float32)
CUBE = np.stack(np.meshgrid(ROOM, ROOM, ROOM, indexing="ij")).reshape(3, -1)


@pytest.mark.parametrize("matrix", ["bt601", "bt709"])
@pytest.mark.parametrize(("backing", "most"), [(GREEN, 1), (BLUE, 2)])
def test_of_all_colours_those_have_spill_in_which_the_backings_primary_is_greatest(
    backing, most, matrix
):
    """41 x 41 x 41 colours: how far it lies above both others, and nothing else."""
    spill = spill_of(CUBE, hue_of(backing, matrix), matrix)
    others = np.delete(CUBE, most, axis=0)
    greatest = (CUBE[most] > others[0]) & (CUBE[most] > others[1])
    np.testing.assert_array_equal(spill > 0, greatest)
    beyond = np.minimum(CUBE[most] - others[0], CUBE[most] - others[1])
    np.testing.assert_allclose(spill, np.where(greatest, beyond, 0), atol=1e-6)


@pytest.mark.parametrize("level", [0.4, 0.75, 1.0])
@pytest.mark.parametrize("grey", [0.0, 0.3])
@pytest.mark.parametrize("matrix", ["bt601", "bt709"])
def test_own_yellow_cyan_and_magenta_are_no_spill(level, grey, matrix):
    for backing in (GREEN, BLUE, (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (0.33, 0.66, 0.30)):
        hue = hue_of(backing, matrix)
        for bar in ((1, 1, 0), (0, 1, 1), (1, 0, 1), (1, 0, 0)):
            colour = solid(tuple(grey + (level - grey) * part for part in bar))
            assert spill_of(colour, hue, matrix).max() == 0


def test_a_backing_between_green_and_cyan_leaves_both():
    """Its light on a grey is both: green beyond the others, or green and blue beyond red."""
    hue = HUES[SEA_GREEN]
    for colour, expected in (
        ((0.4, 0.5, 0.46), 0.06),
        ((0.4, 0.5, 0.41), 0.09),
        ((0.2, 0.6, 0.6), 0.4),
        ((0.6, 0.6, 0.2), 0.0),
        ((0.5, 0.3, 0.6), 0.0),
    ):
        assert spill_of(solid(colour), hue, "bt709").max() == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize("backing", [GREEN, BLUE])
@pytest.mark.parametrize("share", [0.02, 0.05, 0.15])
def test_backing_light_on_a_grey_is_found_to_the_share(backing, share):
    """By hand: a grey with a share of the backing has that share of what the backing has of it."""
    colour = tuple(0.5 + share * (part - 0.5) for part in backing)
    spill = measure_spill(solid(colour), OPAQUE, HUES[backing], "bt709")
    _, middle, most = sorted(backing)
    for found in (spill.mean_percent, spill.p95_percent):
        assert found == pytest.approx(100 * share * (most - middle), abs=1e-3)


def test_half_of_the_subject_tinted():
    colour = solid((0.5, 0.5, 0.5))
    colour[1, :, :4] = 0.6
    spill = measure_spill(colour, OPAQUE, HUES[GREEN], "bt709")
    assert spill.area_percent == 50.0
    assert spill.mean_percent == pytest.approx(5, abs=1e-4)
    assert spill.p95_percent == pytest.approx(10, abs=1e-4)


def test_what_is_not_subject_does_not_count():
    matte = OPAQUE.copy()
    matte[:, 4:] = 0.4
    colour = solid((0.5, 0.5, 0.5))
    colour[1, :, 4:] = 1.0
    assert measure_spill(colour, matte, HUES[GREEN], "bt709").mean_percent == 0


@pytest.mark.parametrize("matte", [0.0, CLEAR])
def test_no_subject_no_spill(matte):
    spill = measure_spill(solid((0, 1, 0)), np.full((4, 8), matte, np.float32), 231.0, "bt709")
    assert spill.mean_percent == spill.rim_p95_percent == 0.0


def edge(height=200, width=300):
    """A subject on the right half; its matte rises over five pixels."""
    ramp = np.clip((np.arange(width) - width / 2) / 5, 0, 1).astype(np.float32)
    return np.broadcast_to(ramp, (height, width)).copy()


def test_the_rim_is_the_edge_and_a_little_of_the_solid_beside_it():
    matte = edge(height=1000)
    seen = seen_of(matte)
    assert RIM * 1000 == 4  # pixels
    columns = np.unique(seen.index[seen.rim] % matte.shape[1])
    soft = np.flatnonzero((matte[0] > CLEAR) & (matte[0] < SOLID))
    assert columns.tolist() == [*soft, *range(soft[-1] + 1, soft[-1] + 5)]


@pytest.mark.parametrize("grey", [0.0, 0.18, 0.5, 1.0])
def test_the_rim_is_measured_as_it_shows_over_any_grey(grey):
    matte = edge()
    colour = making.flat((0.4, 0.5, 0.45), *matte.shape)
    spill = measure_spill(colour, matte, HUES[GREEN], "bt709")
    shown = matte * colour + (1 - matte) * np.float32(grey)
    soft = (matte > CLEAR) & (np.arange(matte.shape[1]) < 156)  # the rim: one pixel of 200 rows
    green = 100 * (shown[1] - np.maximum(shown[0], shown[2]))[soft]
    assert spill.rim_mean_percent == pytest.approx(green.mean(), rel=1e-4)
    assert spill.rim_p95_percent == pytest.approx(np.percentile(green, 95), rel=1e-4)


def test_a_green_rim_fails_though_the_subject_as_a_whole_holds():
    """Two pixels of plain green about a grey subject: 1.3 % of it, and all that is seen."""
    matte = edge()
    colour = making.flat((0.45, 0.45, 0.45), *matte.shape)
    rim = (matte > 0) & (np.arange(matte.shape[1]) < 157)
    colour[:, rim] = np.array((0.3, 0.55, 0.3), np.float32)[:, None]
    spill = measure_spill(colour, matte, HUES[GREEN], "bt709")
    assert judge_spill(spill).verdict == "holds"
    assert judge_rim(spill).verdict == "fails"
    assert "rim" in judge_rim(spill).measure


def test_a_fast_key_before_sea_green_leaves_a_green_rim_that_is_told():
    """The hue lies 31 degrees from green: the wedge about it leaves plain green on the strands."""
    plate = make(next(kind for kind in KINDS if kind.name == "sea green, spill"))
    matte, fill = keys.fast(plate.recorded)
    colour = fill / np.maximum(matte, 1e-6)
    spill = measure_spill(colour, matte, HUES[SEA_GREEN], "bt709")
    shown = fill + (1 - matte) * np.float32(0.5)
    green = (shown[1] - np.maximum(shown[0], shown[2]))[(matte > CLEAR) & (matte < SOLID)]
    assert np.percentile(green, 95) > 0.05  # seen on grey without any measure
    assert spill.rim_p95_percent > 5
    assert judge_rim(spill).verdict != "holds"


def test_verdicts_say_which_figure_they_judge():
    for amount, verdict in ((2.4, "holds"), (2.6, "watch"), (9.9, "watch"), (10.1, "fails")):
        colour = solid((0.4, 0.4 + amount / 100, 0.4))
        spill = measure_spill(colour, OPAQUE, HUES[GREEN], "bt709")
        found = judge_spill(spill)
        assert (found.verdict, found.measure) == (verdict, "spill.after_p95")
    assert (VISIBLE_PERCENT, LIMITS["spill.rim_p95"].fails) == (2.5, 10)
