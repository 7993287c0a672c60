"""Where a colour lies between the subject's and the backing's."""

import numpy as np
import pytest
from plates.proof import BLUE, GREEN
from support import TWIN

from keyer.pixel.keys.between import ROUNDS, STEPS, between, weight_table

SPREAD = np.array([[0.02, 0.015, 0.01], [0.015, 0.02, 0.012], [0.01, 0.012, 0.02]])


def planes_of(colour, size=(5, 7)):
    return np.broadcast_to(np.array(colour, np.float32)[:, None, None], (3, *size)).copy()


def twin(planes, subject, backing, wanted, table, matte):
    """The same in plain numpy, pixel by pixel."""
    out = matte.copy()
    for at in np.argwhere(wanted):
        here = tuple(at)
        toward = (subject - backing)[:, here[0], here[1]].astype(np.float64)
        off = (planes - backing)[:, here[0], here[1]].astype(np.float64)
        cover = float(matte[here])
        for _ in range(ROUNDS):
            index = int(min(max(cover, 0.0), 1.0) * STEPS + 0.5)
            weight = table[index].astype(np.float64) @ toward
            cover = (weight @ off) / max(weight @ toward, 1e-6)
        out[here] = min(max(cover, 0.0), 1.0)
    return out


@pytest.mark.parametrize("backing", [GREEN, BLUE])
@pytest.mark.parametrize("cover", [0.0, 0.1, 0.5, 0.77, 1.0])
def test_a_mixture_of_two_known_colours_is_told_exactly(backing, cover):
    subject = (0.7, 0.45, 0.35)
    mixed = [cover * f + (1 - cover) * b for f, b in zip(subject, backing, strict=True)]
    matte = np.full((5, 7), 0.4, np.float32)
    wanted = np.ones((5, 7), bool)
    table = weight_table(SPREAD, 0.01)
    between(planes_of(mixed), planes_of(subject), planes_of(backing), wanted, table, matte)
    assert np.abs(matte - cover).max() < 1e-5


def test_twin():
    rng = np.random.default_rng(8)
    planes, subject, backing = rng.random((3, 3, 11, 13), dtype=np.float32)
    matte = rng.random((11, 13), dtype=np.float32)
    wanted = rng.random((11, 13)) < 0.7
    table = weight_table(SPREAD, 0.02)
    expected = twin(planes, subject, backing, wanted, table, matte)
    between(planes, subject, backing, wanted, table, matte)
    # A guess may fall on either side of a step of the table: a pixel in a hundred, at most.
    assert (np.abs(matte - expected) > 10 * TWIN).mean() < 0.01


def test_what_is_not_wanted_is_left_alone():
    matte = np.full((5, 7), 0.4, np.float32)
    table = weight_table(SPREAD, 0.01)
    colour = planes_of((0.5, 0.5, 0.5))
    between(colour, colour, planes_of(GREEN), np.zeros((5, 7), bool), table, matte)
    assert (matte == np.float32(0.4)).all()


def test_a_subject_of_the_backings_own_colour_gives_numbers():
    matte = np.full((5, 7), 0.4, np.float32)
    green = planes_of(GREEN)
    between(green, green, green, np.ones((5, 7), bool), weight_table(SPREAD, 0.01), matte)
    assert np.isfinite(matte).all()


def test_luma_counts_little_where_the_subject_varies_in_luma():
    """A brighter subject than the one carried outwards still reads nearly true."""
    spread = 0.03 * np.ones((3, 3)) + 1e-4 * np.eye(3)
    subject, brighter = np.array((0.5, 0.4, 0.35)), np.array((0.6, 0.5, 0.45))
    mixed = 0.5 * brighter + 0.5 * np.array(GREEN)
    matte = np.full((5, 7), 0.5, np.float32)
    args = planes_of(mixed), planes_of(subject), planes_of(GREEN), np.ones((5, 7), bool)
    between(*args, weight_table(spread, 0.01), matte)
    assert abs(float(matte[0, 0]) - 0.5) < 0.02
