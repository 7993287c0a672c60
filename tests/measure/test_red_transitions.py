"""Transitions to and from a saturated red."""

from itertools import pairwise

import numpy as np
import pytest
from signals.flashes import COLUMNS, ROWS, cells, random_mask
from support import reference

from keyer.measure.cells import coarse_light, light_of
from keyer.measure.red_transitions import (
    COLOUR_CHANGE,
    DIM_RED,
    RED_CHANGE,
    SATURATED,
    ColourTurns,
    RedTurns,
    chromaticity,
    is_saturated,
    red_of,
)

FLASH = reference("flash")
BLACK = (0, 0, 0)


def cell(colour, *, linear=False):
    """A coarse cell of a colour: 8-bit sRGB, or linear light."""
    light = np.array(colour, float) if linear else light_of(np.array(colour) / 255)
    return np.repeat(light.astype(np.float32), 9).reshape(3, 3, 3)


def turns(watcher, colours, **how):
    cells = [cell(colour, **how) for colour in colours]
    found = [watcher.add(red_of(part, coarse_light(part))) for part in cells]
    return [0 if shares is None else int(shares[0, 0]) for shares in found]


def test_limits_are_the_published_ones():
    red = FLASH["wcag"]["red_flash"]
    assert red["saturated_red_ratio"] == SATURATED
    assert red["change_limit"] / red["scale"] == RED_CHANGE
    assert FLASH["wcag"]["red_flash_new"]["chromaticity_change"] == COLOUR_CHANGE


@pytest.mark.parametrize("row", FLASH["transition"], ids=lambda r: f"{r['a']}{r['b']}")
def test_worked_transitions(row):
    pair = [row["a"], row["b"], row["a"]]
    for watcher, key in (
        (RedTurns(1, 1), "red_flash_half_classic"),
        (ColourTurns(1, 1), "red_flash_half_new"),
    ):
        found = turns(watcher, pair)
        assert sum(map(abs, found)) == 2 * row.get(key, False), (key, found, row["source"])
        assert sum(found) == 0


@pytest.mark.parametrize("row", FLASH["transition"], ids=lambda r: f"{r['a']}{r['b']}")
def test_worked_chromaticities(row):
    if "uv_change" not in row:
        return
    first, second = (
        np.array(chromaticity(*light_of(np.array(row[key]) / 255).astype(np.float32)))
        for key in ("a", "b")
    )
    apart = np.hypot(*(first - second))
    assert apart == pytest.approx(row["uv_change"], abs=2e-5), row["source"]


def test_saturated_red_begins_at_eight_tenths():
    assert not is_saturated(cell((0.79, 0.21, 0), linear=True))[0, 0]
    assert is_saturated(cell((0.81, 0.10, 0.09), linear=True))[0, 0]
    assert not is_saturated(cell(BLACK))[0, 0]


def test_red_has_to_change_by_more_than_twenty_of_320():
    """By hand: 20 / 320 = 0.0625 of R - G - B."""
    assert turns(RedTurns(1, 1), [BLACK, (0.062, 0, 0), BLACK], linear=True) == [0, 0, 0]
    assert turns(RedTurns(1, 1), [BLACK, (0.063, 0, 0), BLACK], linear=True) == [0, 1, -1]


@pytest.mark.parametrize(
    ("states", "wcag", "bt1702"),
    [
        (((60, 0, 0), BLACK), False, True),  # 0.045 of light, 14.5 of 320
        (((30, 0, 0), BLACK), False, True),
        (((12, 0, 0), BLACK), False, False),  # under `DIM_RED`: hardly to be seen
        (((60, 0, 0), (40, 0, 0)), False, True),  # it falls to less than a half
        (((60, 0, 0), (50, 0, 0)), False, False),
        (((60, 60, 60), BLACK), False, False),
        (((255, 0, 0), BLACK), True, True),
        (((200, 0, 0), (190, 0, 0)), True, True),
        (((60, 15, 15), BLACK), False, True),
        (((60, 40, 40), BLACK), False, False),  # not saturated
    ],
)
def test_for_television_a_dim_red_counts_as_well(states, wcag, bt1702):
    """BT.1702: transitions to or from a saturated red, irrespective of luminance."""
    for dim, expected in ((False, wcag), (True, bt1702)):
        found = turns(RedTurns(1, 1, dim=dim), [states[1], states[0], states[1]])
        assert found == ([0, 1, -1] if expected else [0, 0, 0]), dim


def test_dimmest_red_that_counts():
    assert float(light_of(np.array(13 / 255))) == pytest.approx(DIM_RED, rel=0.01)


def test_dark_red_counts_by_its_colour_alone():
    """R' of 60 is 14 of 320, but lies 0.46 from blue in u'v'."""
    pair = [(60, 0, 0), (0, 0, 255), (60, 0, 0)]
    assert turns(RedTurns(1, 1), pair) == [0, 0, 0]
    assert turns(ColourTurns(1, 1), pair) == [0, -1, 1]


def test_near_black_has_no_colour():
    assert turns(ColourTurns(1, 1), [(9, 0, 0), (0, 0, 9), (9, 0, 0)]) == [0, 0, 0]


def red_twin(values, reds):
    """R - G - B in plain words; each extreme remembers whether it was a saturated red."""
    states, way, out = [], 0, []
    for value, red in zip(values, reds, strict=True):
        low = min((v for v, _ in states), default=np.inf)
        high = max((v for v, _ in states), default=-np.inf)
        low_red = any(r for v, r in states if v == low)
        high_red = any(r for v, r in states if v == high)
        up = way <= 0 and max(value, 0) - max(low, 0) > 0.0625 and (low_red or red)
        down = way >= 0 and max(high, 0) - max(value, 0) > 0.0625 and (high_red or red)
        if up or down:
            way, states = (1 if up else -1), [(value, red)]
            out.append(way)
        else:
            states.append((value, red))
            out.append(0)
    return out


@pytest.mark.parametrize("seed", range(8))
def test_cells_that_change_as_one_follow_the_plain_twin(seed):
    rng = np.random.default_rng(seed)
    track = (rng.random((80, 3)) ** 2).astype(np.float32)
    track[:, 1:] *= rng.choice([0.05, 1.0], (80, 1)).astype(np.float32)  # some are red
    found = turns(RedTurns(1, 1), track, linear=True)
    reds = track[:, 0] >= np.float32(0.8) * track.sum(axis=1)
    assert found == red_twin(track[:, 0] - track[:, 1] - track[:, 2], reds)
    assert any(found)
    ways = [way for way in turns(ColourTurns(1, 1), track, linear=True) if way]
    assert all(first == -second for first, second in pairwise(ways))


@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("ground", [(0, 0, 0), (60, 60, 60), (20, 40, 160)])
@pytest.mark.parametrize("dim", [False, True])
def test_area_of_red(seed, ground, dim):
    """Full red on some ground: within half a percent of the picture, and not less than there is."""
    mask = random_mask(np.random.default_rng(seed))
    share = cells(mask)
    off = np.repeat(light_of(np.array(ground) / 255).astype(np.float32), ROWS * COLUMNS)
    off = off.reshape(3, ROWS, COLUMNS)
    on = off + share * (np.array([1, 0, 0], np.float32)[:, None, None] - off)
    watcher = RedTurns(ROWS // 3, COLUMNS // 3, dim=dim)
    watcher.add(red_of(off, coarse_light(off)))
    found = watcher.add(red_of(on, coarse_light(on)))
    assert -0.0002 < found.mean() - mask.mean() < 0.005
