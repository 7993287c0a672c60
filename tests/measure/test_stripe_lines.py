"""Runs of regular stripes along lines: where they begin, their phase, and what hangs together."""

import math
from itertools import pairwise

import numpy as np
import pytest
from signals.stripes import spokes, straight
from support import planes

from keyer.measure.stripe_lines import (
    ALIKE,
    DIFFERENCE,
    LEAST,
    LIGHT_STRIPE,
    LINES,
    SLIM,
    STRAY,
    STRAYS,
    SURE,
    UNLIKE,
    runs_of,
)


def bars(size, *edges, low=0.0, high=1.0):
    """A line that is dark at first and changes at each of the edges."""
    line = np.full(size, low, np.float32)
    for number, edge in enumerate(edges):
        line[edge:] = low if number % 2 else high
    return np.repeat(line[np.newaxis], 20, axis=0)


def test_phase_frequency_and_pairs_by_hand():
    """Edges at 10, 15, 20 ... 60: light begins at 10, 20, ...; a pair is ten cells wide."""
    runs = runs_of(bars(70, *range(10, 65, 5)))
    row = runs.phase[7]
    assert row[10] == pytest.approx(0.05)  # the edge lies halfway between cells 9 and 10
    assert row[15] == pytest.approx(0.55)
    assert row[24] == pytest.approx(0.45)
    np.testing.assert_allclose(runs.frequency[7, 10:60], 0.1, atol=1e-6)
    assert runs.pairs[7] == pytest.approx(5)  # eleven edges, ten stripes
    assert (row[:10] == -1).all()  # ten cells are no stripe of five
    assert (row[60:] == -1).all()
    assert (runs.kept[:, 10:60] == 2).all()


def test_a_cut_stripe_at_the_end_counts_as_much_as_is_there():
    runs = runs_of(bars(63, *range(2, 62, 5)))
    assert runs.pairs[3] == pytest.approx((11 + 2 / 5 + 1) / 2)  # twelve edges
    assert (runs.phase[3, :62] >= 0).all()


@pytest.mark.parametrize(("edges", "kept"), [(2, 0), (3, 1), (4, 1), (5, 2), (9, 2)])
def test_a_run_needs_edges(edges, kept):
    runs = runs_of(bars(100, *range(20, 20 + 6 * edges, 6)))
    assert runs.kept[:, 20 : 20 + 6 * (edges - 1)].max() == kept


def test_irregular_edges_make_no_run():
    edges = np.cumsum([5, 3, 9, 4, 17, 6, 21, 3, 11, 30])
    assert (runs_of(bars(150, *edges)).kept < 2).all()


def test_too_dim_or_too_faint_a_stripe_is_none():
    edges = range(10, 90, 5)
    assert (runs_of(bars(100, *edges, high=0.99 * LIGHT_STRIPE)).kept == 0).all()
    assert (runs_of(bars(100, *edges, low=0.5, high=0.499 + DIFFERENCE)).kept == 0).all()
    assert (runs_of(bars(100, *edges, high=1.01 * LIGHT_STRIPE)).kept == 2).any()


@pytest.mark.parametrize(("rows", "seen"), [(LINES - 1, False), (LINES, False), (13, True)])
def test_stripes_hang_together_for_as_far_as_a_pair_is_wide(rows, seen):
    plane = bars(100, *range(10, 90, 5))
    plane = np.concatenate([plane[:rows], np.zeros((20, 100), np.float32)])
    assert runs_of(plane).kept.any() == seen


def test_a_checkerboard_does_not_hang_together():
    y, x = np.mgrid[:60, :120]
    assert not runs_of(((x // 10 + y // 10) % 2).astype(np.float32)).kept.any()


def test_lean_of_slanting_stripes():
    runs = runs_of(straight(18, 20))
    cos, sin = math.cos(math.radians(20)), math.sin(math.radians(20))
    reach = 450 * cos + 252 * sin
    sure = runs.kept == 2
    assert sure.mean() > 0.95
    assert runs.frequency[sure].mean() == pytest.approx(18 * cos / reach, rel=0.02)
    assert runs.lean[sure].mean() == pytest.approx(18 * sin / reach, rel=0.02)


# --- plain twins of the kernels


def extremes_twin(line):
    found, low, high, way = [], (0, line[0]), (0, line[0]), 0
    for i, now in enumerate(line[1:], 1):
        if way >= 0 and high[1] - now >= DIFFERENCE:
            found.append(high)
            way, low = -1, (i, now)
        elif way <= 0 and now - low[1] >= DIFFERENCE:
            found.append(low)
            way, high = 1, (i, now)
        elif now > high[1]:
            high = (i, now)
        elif now < low[1]:
            low = (i, now)
    return [*found, high if way > 0 else low] if way else []


def edges_twin(line):
    points = extremes_twin(line)
    edges = []
    for j, ((a, first), (b, second)) in enumerate(pairwise(points)):
        level = [first, second]
        if j == 0 and a == 0:
            level = [points[1][1], points[2][1]] if len(points) > 2 else level
        elif j == len(points) - 2 and b == len(line) - 1:
            level = [points[j - 1][1], first]
        middle = np.float32(0.5) * (level[0] + level[1])
        beyond = line[a + 1 : b] >= middle if second > first else line[a + 1 : b] <= middle
        i = a + 1 + (int(np.argmax(beyond)) if beyond.any() else b - a - 1)
        step = line[i] - line[i - 1]
        part = np.clip((middle - line[i - 1]) / step, -0.5, 1.5) if step else 0.5
        bright = max(first, second) >= LIGHT_STRIPE
        edges.append((i - 1 + part, second - first if bright else 0.0))
    return edges


def run_twin(edges, first):
    for b in range(first + 1, len(edges)):
        ratio = abs(edges[b][1] / edges[b - 1][1])
        if not 1 / UNLIKE <= ratio <= UNLIKE:
            return b - 1
        at = [edge for edge, _ in edges[: b + 1]]
        if b - first >= 2:
            period = at[b] - at[b - 2]
            if min(at[b] - at[b - 1], at[b - 1] - at[b - 2]) < SLIM * period:
                return b - 1
        if b - first >= 3 and not 1 / ALIKE <= period / (at[b - 1] - at[b - 3]) <= ALIKE:
            return b - 1
    return len(edges) - 1


def longest_twin(line):
    """Edges of the longest run, by the rules in words."""
    edges, best, first = edges_twin(line), 0, 0
    while first + LEAST <= len(edges):
        last = run_twin(edges, first) if edges[first][1] else first
        count = last - first + 1
        best = max(best, count if count >= LEAST else 0)
        first = (
            (len(edges) if last == len(edges) - 1 else last - 1) if count >= LEAST else first + 1
        )
    return best


@pytest.mark.parametrize("seed", range(5))
def test_runs_are_those_of_the_plain_twin(seed):
    rng = np.random.default_rng(seed)
    regular = 0.5 + 0.5 * np.sin(np.arange(240) / rng.uniform(1, 6) + rng.uniform(0, 6, (40, 1)))
    plane = np.clip(regular + rng.normal(0, 0.12, (40, 240)), 0, 1).astype(np.float32)
    plane[:13] = planes(seed, 13, 240)[0]
    runs = runs_of(plane)
    for y, line in enumerate(plane):
        longest = longest_twin(line)
        assert (runs.pairs[y] > 0) == (longest > 0)
        assert longest / 2 - 0.5 <= runs.pairs[y] <= longest / 2 + 0.5 or longest == 0
        assert (runs.phase[y] >= 0).any() == (longest > 0)


def hang_twin(runs, length, stretch=1.0):
    """What hangs together down each column."""
    kept = np.zeros(runs.phase.shape, np.uint8)
    rows, columns = runs.phase.shape
    for x in range(columns):
        part = []
        for y in range(rows + 1):
            inside = y < rows and runs.phase[y, x] >= 0
            if inside and part:
                now, before = runs.frequency[y, x], runs.frequency[y - 1, x]
                step = (runs.phase[y, x] - runs.phase[y - 1, x] + 0.5) % 1 - 0.5
                near = abs(step) <= min(1.25 * now * stretch + STRAY, STRAYS)
                inside = 1 / ALIKE <= now / before <= ALIKE and near
            if not inside and part:
                total = sum(1 / runs.frequency[i, x] for i in part)
                if len(part) >= LINES and len(part) ** 2 * stretch >= total:
                    kept[part, x] = np.where(length[part, x] >= SURE, 2, 1)
                part = []
            if y < rows and runs.phase[y, x] >= 0:
                part = [*part, y] if inside else [y]
    return kept


@pytest.mark.parametrize("plane", [straight(9, 30), spokes(15)], ids=["straight", "spokes"])
def test_what_hangs_together_is_that_of_the_plain_twin(plane):
    part = plane[60:160, 100:220]
    runs = runs_of(part)
    length = np.where(runs.kept == 2, SURE, LEAST)  # where nothing is kept it does not matter
    twin = hang_twin(runs, length)
    assert np.mean(runs.kept != twin) < 1e-3  # steps of just the limit fall on either side
