"""Transitions of luminance, and the share of each cell on which they come about."""

from itertools import pairwise

import numpy as np
import pytest
from signals.flashes import COLUMNS, HEIGHT, ROWS, WIDTH, cells, random_mask, random_states
from signals.flashes import ellipse as drawn_ellipse
from support import reference

from keyer.measure.cells import light_of, luminance
from keyer.measure.transitions import CHANGE, DARKER_BELOW, LightTurns

FLASH = reference("flash")
DEFAULT, WHOLE = range(60), range(1000)


def plane(value, rows=3, columns=3):
    return np.full((rows, columns), value, np.float32)


def turns(values):
    """Of one coarse cell of one luminance."""
    watcher = LightTurns(1, 1)
    found = [watcher.add(plane(value)) for value in values]
    return [0 if shares is None else int(shares[0, 0]) for shares in found]


def grey(code):
    return float(luminance(light_of(np.full((3, 1, 1), code / 255)).astype(np.float32))[0, 0])


def test_limits_are_the_published_ones():
    general = FLASH["wcag"]["general_flash"]
    assert general["luminance_change"] == CHANGE
    assert general["darker_below"] == DARKER_BELOW
    same = FLASH["bt1702"]["consistency"]
    change = FLASH["bt1702"]["general_flash"]["change_cd_m2"]
    assert change == CHANGE * same["reference_white_cd_m2"]
    dark = FLASH["bt1702"]["general_flash"]["darker_below_cd_m2"]
    assert dark == DARKER_BELOW * same["reference_white_cd_m2"]


@pytest.mark.parametrize("row", FLASH["transition"], ids=lambda r: f"{r['a']}{r['b']}")
def test_worked_transitions(row):
    """Each is half of a flash exactly where the reference says so, in both directions."""
    found = turns([row["luminance_a"], row["luminance_b"], row["luminance_a"]])
    assert sum(map(abs, found)) == 2 * row["general_flash_half"], row["source"]
    assert sum(found) == 0


def test_a_slow_fade_is_one_transition():
    up = [grey(code) for code in range(0, 256, 5)]
    assert [t for t in turns(up + up[::-1]) if t] == [1, -1]


def test_small_ripples_on_the_way_do_not_count():
    values = [0.0, 0.3, 0.22, 0.5, 0.42, 0.7, 0.63, 0.2, 0.28, 0.0]
    assert [t for t in turns(values) if t] == [1, -1]


def test_bright_states_do_not_count():
    """The darker state has to lie below 0.8."""
    assert turns([0.81, 1.0, 0.81, 1.0]) == [0, 0, 0, 0]
    assert turns([0.79, 1.0, 0.79]) == [0, 1, -1]


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


def test_cells_that_change_as_one_follow_the_plain_twin():
    rng = np.random.default_rng(7)
    values = (rng.random(200) ** 2).astype(np.float32)
    found = turns(values)
    assert found == light_twin(values)
    ways = [way for way in found if way]
    assert all(first == -second for first, second in pairwise(ways))


def read(mask, dark, light):
    """Area that is found to turn up and down, and the true one."""
    share = cells(mask)
    watcher = LightTurns(ROWS // 3, COLUMNS // 3)
    off, on = plane(dark, ROWS, COLUMNS), (dark + share * (light - dark)).astype(np.float32)
    found = [watcher.add(frame) for frame in (off, on, off)]
    assert found[0] is None
    return [0.0 if one is None else float(np.sum(one)) / one.size for one in found[1:]]


def check_area(seed):
    """Within half a percent of the picture, and never on the lenient side by more than 0.02 %."""
    rng = np.random.default_rng(seed)
    mask, (dark, light) = random_mask(rng), random_states(rng)
    for found in map(abs, read(mask, dark, light)):
        assert -0.0002 < found - mask.mean() < 0.005, (seed, found, mask.mean(), dark, light)


@pytest.mark.parametrize("seed", DEFAULT)
def test_area_of_any_shape_and_depth(seed):
    check_area(seed)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, 1000, 100))
def test_area_of_a_thousand_shapes_and_depths(first):
    for seed in WHOLE[first : first + 100]:
        check_area(seed)


def test_a_quarter_of_the_picture_at_a_small_depth_reads_a_quarter():
    """25.4 % of the picture from black to 0.15 of white."""
    mask = np.zeros((HEIGHT, WIDTH), np.uint8)
    rng = np.random.default_rng(4)
    while mask.mean() < 0.254:
        drawn_ellipse(rng, mask, 0.4)
    up, down = read(mask, 0.0, 0.15)
    assert up == pytest.approx(mask.mean(), abs=0.005)
    assert up > mask.mean() - 0.0002
    assert down == -up


@pytest.mark.parametrize(
    ("wide", "depth"),
    [(4, 0.15), (5, 0.15), (8, 0.15), (4, 0.5), (5, 0.5), (4, 1), (5, 1), (8, 0.11), (8, 1)],
)
def test_thin_lines_come_out_large_rather_than_small(wide, depth):
    """Lines of a 1920th of the width each, as far apart as they are wide: half of all pixels."""
    x = np.arange(WIDTH) * 1920 // WIDTH
    mask = np.broadcast_to((x // wide) % 2, (HEIGHT, WIDTH)).astype(np.uint8)
    up, _ = read(mask, 0.0, depth)
    assert mask.mean() - 0.001 < up <= 1


@pytest.mark.parametrize("gain", [0.0, 0.5, 1.6])
def test_a_textured_part_comes_out_large_rather_than_small(gain):
    """Pixels that each change by as much as the texture is bright."""
    rng = np.random.default_rng(5)
    spectrum = np.fft.rfft2(rng.standard_normal((HEIGHT, WIDTH)))
    frequency = np.hypot(np.fft.fftfreq(HEIGHT)[:, None], np.fft.rfftfreq(WIDTH))
    frequency[0, 0] = 1
    texture = np.fft.irfft2(spectrum / frequency, (HEIGHT, WIDTH))
    texture = np.clip(0.35 + 0.2 * texture / texture.std(), 0, 1)
    mask = random_mask(rng)
    lit = np.clip(np.where(mask, gain * texture, texture), 0, 1)
    turned = (np.abs(lit - texture) >= CHANGE) & (np.minimum(lit, texture) < DARKER_BELOW)
    watcher = LightTurns(ROWS // 3, COLUMNS // 3)
    watcher.add(cells(texture))
    found = abs(watcher.add(cells(lit)).mean())
    assert turned.mean() < found < mask.mean() + 0.005


def test_a_soft_outline_is_taken_where_it_reaches_the_limit():
    """Light that rises from nothing to 0.2 across the width: right half 0.1 or more."""
    ramp = np.broadcast_to(np.linspace(0, 0.2, COLUMNS, dtype=np.float32), (ROWS, COLUMNS)).copy()
    watcher = LightTurns(ROWS // 3, COLUMNS // 3)
    watcher.add(np.zeros((ROWS, COLUMNS), np.float32))
    assert watcher.add(ramp).mean() == pytest.approx(0.5, abs=0.003)


def test_what_turns_both_ways_within_a_cell_evens_out():
    board = (np.indices((ROWS, COLUMNS)).sum(axis=0) % 2).astype(np.float32)
    watcher = LightTurns(ROWS // 3, COLUMNS // 3)
    watcher.add(board)
    turned = watcher.add(1 - board)
    # 5 of nine cells turn one way, 4 the other: the mean by a ninth, which is more than a tenth
    assert np.abs(turned).max() == 1
    faint = LightTurns(ROWS // 3, COLUMNS // 3)
    faint.add(0.8 * board)
    assert not faint.add(0.8 * (1 - board)).any()
