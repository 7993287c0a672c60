import numpy as np
import pytest
from support import reference

from keyer.measure.cells import light_of
from keyer.measure.transitions import (
    CHANGE,
    COLOUR_CHANGE,
    DARKER_BELOW,
    RED_CHANGE,
    SATURATED,
    ColourTurns,
    LightTurns,
    RedTurns,
    chromaticity,
    is_saturated,
)

FLASH = reference("flash")


def cell(colour, *, linear=False):
    """One cell of a colour: 8-bit sRGB, or linear light."""
    light = np.array(colour, float) if linear else light_of(np.array(colour) / 255)
    return light.astype(np.float32).reshape(3, 1, 1)


def turns(watcher, colours, **how):
    return [int(watcher.add(cell(colour, **how))[0, 0]) for colour in colours]


def test_limits_are_the_published_ones():
    general, red = FLASH["wcag"]["general_flash"], FLASH["wcag"]["red_flash"]
    assert general["luminance_change"] == CHANGE
    assert general["darker_below"] == DARKER_BELOW
    assert red["saturated_red_ratio"] == SATURATED
    assert red["change_limit"] / red["scale"] == RED_CHANGE
    assert FLASH["wcag"]["red_flash_new"]["chromaticity_change"] == COLOUR_CHANGE
    same = FLASH["bt1702"]["consistency"]
    assert (
        FLASH["bt1702"]["general_flash"]["change_cd_m2"] == CHANGE * same["reference_white_cd_m2"]
    )
    dark = FLASH["bt1702"]["general_flash"]["darker_below_cd_m2"]
    assert dark == DARKER_BELOW * same["reference_white_cd_m2"]


@pytest.mark.parametrize("row", FLASH["transition"], ids=lambda r: f"{r['a']}{r['b']}")
def test_worked_transitions(row):
    """Each is half of a flash exactly where the reference says so, in both directions."""
    pair = [row["a"], row["b"], row["a"]]
    for watcher, key in (
        (LightTurns, "general_flash_half"),
        (RedTurns, "red_flash_half_classic"),
        (ColourTurns, "red_flash_half_new"),
    ):
        found = turns(watcher(1, 1), pair)
        expected = 2 * row.get(key, False)
        assert sum(map(abs, found)) == expected, (key, found, row["source"])
        assert sum(found) == 0


@pytest.mark.parametrize("row", FLASH["transition"], ids=lambda r: f"{r['a']}{r['b']}")
def test_worked_chromaticities(row):
    if "uv_change" not in row:
        return
    first, second = (chromaticity(cell(row[key])) for key in ("a", "b"))
    apart = np.hypot(first[0] - second[0], first[1] - second[1])[0, 0]
    assert apart == pytest.approx(row["uv_change"], abs=2e-5), row["source"]


def test_saturated_red_begins_at_eight_tenths():
    assert not is_saturated(cell((0.79, 0.21, 0), linear=True))[0, 0]
    assert is_saturated(cell((0.81, 0.10, 0.09), linear=True))[0, 0]
    assert not is_saturated(cell((0, 0, 0)))[0, 0]


def test_red_has_to_change_by_more_than_twenty_of_320():
    """By hand: 20 / 320 = 0.0625 of R - G - B."""
    black = (0, 0, 0)
    assert turns(RedTurns(1, 1), [black, (0.062, 0, 0), black], linear=True) == [0, 0, 0]
    assert turns(RedTurns(1, 1), [black, (0.063, 0, 0), black], linear=True) == [0, 1, -1]


def test_dark_red_counts_by_its_colour_alone():
    """R' of 60 is 14 of 320, but lies 0.46 from blue in u'v'."""
    pair = [(60, 0, 0), (0, 0, 255), (60, 0, 0)]
    assert turns(RedTurns(1, 1), pair) == [0, 0, 0]
    assert turns(ColourTurns(1, 1), pair) == [0, -1, 1]


def test_near_black_has_no_colour():
    assert turns(ColourTurns(1, 1), [(9, 0, 0), (0, 0, 9), (9, 0, 0)]) == [0, 0, 0]


def test_a_slow_fade_is_one_transition():
    up = [(v, v, v) for v in range(0, 256, 5)]
    found = turns(LightTurns(1, 1), up + up[::-1])
    assert [t for t in found if t] == [1, -1]


def test_small_ripples_on_the_way_do_not_count():
    values = [0.0, 0.3, 0.22, 0.5, 0.42, 0.7, 0.63, 0.2, 0.28, 0.0]
    found = turns(LightTurns(1, 1), [(v, v, v) for v in values], linear=True)
    assert [t for t in found if t] == [1, -1]


def test_bright_states_do_not_count():
    """The darker state has to lie below 0.8."""
    bright = [(v, v, v) for v in (0.81, 1.0, 0.81, 1.0)]
    assert turns(LightTurns(1, 1), bright, linear=True) == [0, 0, 0, 0]
    darker = [(v, v, v) for v in (0.79, 1.0, 0.79)]
    assert turns(LightTurns(1, 1), darker, linear=True) == [0, 1, -1]


def light_twin(values):
    """Follow one cell in plain words: extremes since the last transition."""
    low, high, way, out = np.inf, -np.inf, 0, []
    for value in values:
        up = way <= 0 and value - low >= np.float32(0.1) and low < 0.8
        down = way >= 0 and high - value >= np.float32(0.1) and value < 0.8
        if up or down:
            way = 1 if up else -1
            low = high = value
            out.append(way)
        else:
            low, high = min(low, value), max(high, value)
            out.append(0)
    return out


def red_twin(values, reds):
    """The same for R - G - B; each extreme remembers whether it was a saturated red."""
    states, way, out = [], 0, []
    for value, red in zip(values, reds, strict=True):
        low = min((v for v, _ in states), default=np.inf)
        high = max((v for v, _ in states), default=-np.inf)
        low_red = any(r for v, r in states if v == low)
        high_red = any(r for v, r in states if v == high)
        up = way <= 0 and value - low > 0.0625 and (low_red or red)
        down = way >= 0 and high - value > 0.0625 and (high_red or red)
        if up or down:
            way, states = (1 if up else -1), [(value, red)]
            out.append(way)
        else:
            states.append((value, red))
            out.append(0)
    return out


def test_kernels_follow_their_twins():
    rng = np.random.default_rng(7)
    frames = (rng.random((60, 3, 4, 5)) ** 2).astype(np.float32)
    frames[:, 1:] *= rng.choice([0.05, 1.0], (60, 1, 4, 5)).astype(np.float32)  # some are red
    light, red = LightTurns(4, 5), RedTurns(4, 5)
    found = np.array([light.add(frame) for frame in frames])
    found_red = np.array([red.add(frame) for frame in frames])
    weights = np.array([0.2126, 0.7152, 0.0722], np.float32)
    for y in range(4):
        for x in range(5):
            track = frames[:, :, y, x]
            assert found[:, y, x].tolist() == light_twin(track @ weights)
            values = np.maximum(track[:, 0] - track[:, 1] - track[:, 2], 0)
            reds = track[:, 0] >= np.float32(0.8) * track.sum(axis=1)
            assert found_red[:, y, x].tolist() == red_twin(values, reds)
    assert (found != 0).any()
    assert (found_red != 0).any()


def test_transitions_of_a_cell_alternate():
    rng = np.random.default_rng(8)
    for watcher in (LightTurns(6, 6), RedTurns(6, 6), ColourTurns(6, 6)):
        found = np.array([watcher.add(rng.random((3, 6, 6), np.float32) ** 3) for _ in range(80)])
        for track in found.reshape(80, -1).T:
            ways = track[track != 0]
            assert (ways[1:] == -ways[:-1]).all()
