"""Letters as coverage: place, edges, lean, outline, shadow, pixel shape."""

import numpy as np
import pytest

from keyer.titles.ink import Canvas, Mark, Placed, draw_ink, shifted
from keyer.titles.lines import lay_line
from keyer.titles.model import Outline, TextStyle

CANVAS = Canvas(640, 360)
BLOCK = "\u2588"


def ink_of(text, x=50.0, baseline=100.0, canvas=CANVAS, **style):
    line = lay_line([(text, TextStyle(**({"size": 10} | style)))], canvas.unit)
    return draw_ink([Placed(line, x, baseline)], canvas)[0]


def centre(mark: Mark) -> tuple[float, float]:
    """Centre of gravity in picture coordinates."""
    rows, columns = np.indices(mark.coverage.shape)
    total = mark.coverage.sum()
    x = (mark.coverage * (columns + 0.5)).sum() / total + mark.left
    y = (mark.coverage * (rows + 0.5)).sum() / total + mark.top
    return float(x), float(y)


def test_coverage_stays_in_its_range_and_is_clear_all_round():
    cover = ink_of("Hamburg").letters.coverage
    assert cover.dtype == np.float32
    assert cover.min() >= 0
    assert cover.max() == 1
    for edge in (cover[0], cover[-1], cover[:, 0], cover[:, -1]):
        assert not edge.any()


@pytest.mark.parametrize("step", [0.0, 0.25, 0.5, 0.75])
def test_letters_move_by_fractions_of_a_pixel(step):
    still, moved = ink_of("Hm"), ink_of("Hm", x=50 + step, baseline=100 + step)
    x0, y0 = centre(still.letters)
    x1, y1 = centre(moved.letters)
    assert x1 - x0 == pytest.approx(step, abs=0.03)
    assert y1 - y0 == pytest.approx(step, abs=0.03)
    assert moved.letters.coverage.sum() == pytest.approx(still.letters.coverage.sum(), rel=0.005)


def test_area_grows_with_the_square_of_the_size():
    small, large = ink_of("Re", size=10), ink_of("Re", size=20)
    assert large.letters.coverage.sum() == pytest.approx(4 * small.letters.coverage.sum(), rel=0.02)


def test_same_shape_where_pixels_are_not_square():
    """On 1.5 times as wide pixels the letters take two thirds of the columns, as high as ever."""
    wide = Canvas(640, 360, 1.5)
    square, squeezed = ink_of("Hamburg").letters, ink_of("Hamburg", canvas=wide).letters
    assert squeezed.coverage.shape[1] == pytest.approx(square.coverage.shape[1] / 1.5, abs=3)
    assert squeezed.coverage.shape[0] == square.coverage.shape[0]
    assert squeezed.coverage.sum() * 1.5 == pytest.approx(square.coverage.sum(), rel=0.005)
    assert centre(squeezed)[0] * 1.5 == pytest.approx(centre(square)[0], abs=0.1)


def test_lean_moves_the_top_and_leaves_the_baseline():
    upright, leaned = ink_of("I").letters, ink_of("I", slant=20).letters
    assert leaned.coverage.sum() == pytest.approx(upright.coverage.sum(), rel=0.01)
    # by hand: the middle of a stem of height h moves by tan(20 degrees) h / 2
    stem = 0.66 * 36
    expected = np.tan(np.radians(20)) * stem / 2
    assert centre(leaned)[0] - centre(upright)[0] == pytest.approx(expected, abs=0.3)
    assert centre(leaned)[1] == pytest.approx(centre(upright)[1], abs=0.1)


def test_outline_surrounds_the_letters_evenly():
    ink = ink_of("\u2014", outline=Outline(width=1.0))  # a dash; 1 % of 360 rows is 3.6 pixels
    outline, letters = ink.outline, ink.letters
    assert outline is not None
    assert (outline.coverage >= letters.coverage - 0.05).all()
    for axis in (0, 1):
        inside = letters.coverage.sum(axis).max()
        around = outline.coverage.sum(axis).max()
        assert around - inside == pytest.approx(2 * 3.6, abs=0.3)


def test_two_styles_are_two_inks_in_order():
    styles = [TextStyle(size=10), TextStyle(size=10, weight=700)]
    line = lay_line([("a ", styles[0]), ("b ", styles[1]), ("c", styles[0])], CANVAS.unit)
    inks = draw_ink([Placed(line, 50, 100)], CANVAS)
    assert [ink.style for ink in inks] == styles


def test_blanks_leave_no_ink():
    line = lay_line([("   ", TextStyle())], CANVAS.unit)
    assert draw_ink([Placed(line, 50, 100)], CANVAS) == []


def test_shadow_keeps_its_weight_and_moves():
    plane = np.zeros((11, 11), np.float32)
    plane[4:7, 4:7] = 1
    mark = Mark(plane, 20, 30)
    soft = shifted(mark, 2.5, -1.25, 4.0, 1.0)
    assert soft.coverage.sum() == pytest.approx(9, rel=1e-3)
    x, y = centre(soft)
    assert (x, y) == (pytest.approx(25.5 + 2.5, abs=0.01), pytest.approx(35.5 - 1.25, abs=0.01))
    hard = shifted(mark, 3, 2, 0, 1.0)
    assert np.array_equal(hard.coverage[1:-1, 1:-1], plane)
    assert (hard.left, hard.top) == (22, 31)


def test_softness_is_four_standard_deviations():
    plane = np.zeros((3, 81), np.float32)
    plane[:, 40:] = 1
    soft = shifted(Mark(np.tile(plane, (27, 1)), 0, 0), 0, 0, 16.0, 1.0)
    middle = soft.coverage[soft.coverage.shape[0] // 2]
    edge = 40 - soft.left
    # by hand: half at the edge, 2.3 % two standard deviations (8 pixels) away
    assert middle[edge - 1 : edge + 1].mean() == pytest.approx(0.5, abs=0.01)
    assert middle[edge - 8] == pytest.approx(0.03, abs=0.01)
