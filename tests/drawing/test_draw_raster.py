"""The compiled loops of the drawing against numpy twins and areas known by geometry."""

from itertools import pairwise

import numpy as np
import pytest
from support import TWIN

from examples.drawing import raster

SHAPE = (37, 53)


def _centres(shape=SHAPE):
    rows, columns = shape
    return np.arange(columns)[None, :] + 0.5, np.arange(rows)[:, None] + 0.5


def _segments(points):
    """Unclamped and clamped place along each piece, and the foot's distance, for every pixel."""
    x, y = _centres()
    for start, end in pairwise(points):
        way = end - start
        reached = ((x - start[0]) * way[0] + (y - start[1]) * way[1]) / (way @ way)
        t = np.clip(reached, 0, 1)
        away = np.hypot(x - start[0] - t * way[0], y - start[1] - t * way[1])
        yield start, way, reached, t, away


def test_sweep_agrees_with_twin():
    points = np.array([[8.0, 9.0], [25.0, 14.0], [40.0, 30.0]])
    radii = np.array([4.0, 6.0, 3.0])
    near, along, across = raster.sweep(points, radii, SHAPE, reach=100.0)
    best = np.full(SHAPE, np.inf)
    twin_along, twin_across = np.zeros(SHAPE), np.zeros(SHAPE)
    run = 0.0
    for number, (start, way, reached, t, away) in enumerate(_segments(points)):
        x, y = _centres()
        radius = radii[number] + t * (radii[number + 1] - radii[number])
        length = np.hypot(*way)
        place = reached * length
        place = np.maximum(place, 0) if number else place
        place = place if number == len(points) - 2 else np.minimum(place, length)
        side = np.sign((x - start[0]) * way[1] - (y - start[1]) * way[0])
        closer = away - radius < best
        best = np.where(closer, away - radius, best)
        twin_along = np.where(closer, run + place, twin_along)
        twin_across = np.where(closer, np.where(side >= 0, 1, -1) * away / radius, twin_across)
        run += length
    # Pixels of float32 at distances up to 50: 24 bits leave about 4e-6.
    np.testing.assert_allclose(near, best, atol=50 * TWIN)
    np.testing.assert_allclose(along, twin_along, atol=50 * TWIN)
    np.testing.assert_allclose(across, twin_across, atol=50 * TWIN)


def test_sweep_marks_what_is_out_of_reach():
    near, _, _ = raster.sweep(np.array([[5.0, 5.0], [9.0, 5.0]]), np.array([1.0, 1.0]), SHAPE)
    assert near[30, 45] == raster.FAR


def test_strokes_agree_with_twin():
    line = np.array([[6.0, 6.0], [30.0, 17.0], [45.0, 12.0]])
    width = np.array([0.6, 3.0, 1.4])
    cover = raster.strokes([line], [width], SHAPE)
    twin = np.zeros(SHAPE)
    for number, (_, _, _, t, away) in enumerate(_segments(line)):
        radius = (width[number] + t * (width[number + 1] - width[number])) / 2
        inner = np.minimum(away + 0.5, radius) - np.maximum(away - 0.5, -radius)
        twin = np.maximum(twin, np.clip(inner, 0, 1))
    np.testing.assert_allclose(cover, twin, atol=10 * TWIN)


@pytest.mark.parametrize("width", [0.3, 0.8, 1.0, 2.5])
def test_a_level_stroke_covers_its_width(width):
    """By hand: a level line of width w covers w square pixels a column, wherever it lies."""
    line = np.array([[-20.0, 17.3], [80.0, 17.3]])
    cover = raster.strokes([line], [np.full(2, width)], SHAPE)
    np.testing.assert_allclose(cover.sum(axis=0), width, atol=1e-5)


def test_no_strokes_cover_nothing():
    assert not raster.strokes([], [], SHAPE).any()


def test_lay_agrees_with_twin():
    random = np.random.default_rng(3)
    colour, alpha = random.random((12, 16, 3), np.float32), random.random((12, 16), np.float32)
    paint, mask = random.random((4, 5, 3), np.float32), random.random((8, 10), np.float32)
    mask[0] = 0
    twin_colour, twin_alpha = colour.copy(), alpha.copy()
    large = paint.repeat(2, axis=0).repeat(2, axis=1)
    keep = 1 - mask
    twin_colour[2:10, 4:14] = twin_colour[2:10, 4:14] * keep[..., None] + large * mask[..., None]
    twin_alpha[2:10, 4:14] = twin_alpha[2:10, 4:14] * keep + mask
    raster.lay(colour, alpha, paint, mask, (4, 2), 2)
    np.testing.assert_allclose(colour, twin_colour, atol=TWIN)
    np.testing.assert_allclose(alpha, twin_alpha, atol=TWIN)


def test_dim_agrees_with_twin():
    random = np.random.default_rng(4)
    colour, keep = random.random((12, 16, 3), np.float32), random.random((4, 5), np.float32)
    twin = colour.copy()
    twin[2:10, 4:14] *= keep.repeat(2, axis=0).repeat(2, axis=1)[..., None]
    raster.dim(colour, keep, (4, 2), 2)
    np.testing.assert_allclose(colour, twin, atol=TWIN)


def _spokes_twin(shape, inverse, count, turn, blur, flange, inner, outer, half):
    x, y = _centres(shape)
    wx = inverse[0, 0] * x + inverse[0, 1] * y + inverse[0, 2]
    wy = inverse[1, 0] * x + inverse[1, 1] * y + inverse[1, 2]
    radius, angle = np.hypot(wx, wy), np.arctan2(wy, wx)
    scale = 1 / np.sqrt(abs(np.linalg.det(inverse[:, :2])))
    lean = np.arccos(np.minimum(flange / radius, 1))
    pitch, free = 2 * np.pi / count, 1.0
    for way, offset in enumerate((lean, -lean)):
        phase = (angle - turn + offset) / pitch + 0.25 * way
        away = (phase - np.floor(phase + 0.5)) * pitch
        width, spread = half / radius, 0.5 * blur + 0.5 / (scale * radius)
        high, low = np.clip(away + spread, -width, width), np.clip(away - spread, -width, width)
        free = free * (1 - (high - low) / (2 * spread))
    return np.where((radius < inner) | (radius > outer), 0, 1 - free)


WHEEL = {"count": 8, "turn": 0.3, "flange": 0.1, "inner": 0.15, "outer": 0.9, "half": 0.02}
INVERSE = np.array([[1 / 50, 0.0, -1.0], [0.0, 1 / 50, -1.0]])


@pytest.mark.parametrize("blur", [0.0, 0.2])
def test_spokes_agree_with_twin(blur):
    cover, side = raster.spokes((100, 100), INVERSE, blur=blur, **WHEEL)
    twin = _spokes_twin(
        (100, 100), INVERSE, 8, 0.3, blur, flange=0.1, inner=0.15, outer=0.9, half=0.02
    )
    np.testing.assert_allclose(cover, twin, atol=20 * TWIN)
    assert np.abs(side).max() <= 2


def test_blur_spreads_spokes_without_losing_any():
    """Where spokes do not cross, the blur of their turn moves coverage about and keeps its sum."""
    one = {**WHEEL, "inner": 0.6}
    still, _ = raster.spokes((200, 200), INVERSE / 2 * [[1, 1, 2]], blur=0.0, **one)
    moved, _ = raster.spokes((200, 200), INVERSE / 2 * [[1, 1, 2]], blur=0.1, **one)
    assert moved.max() < 0.7 * still.max()
    assert moved.sum() == pytest.approx(still.sum(), rel=0.02)


def _polygon_twin(outline, shape, fine=64):
    """Even-odd rule at `fine` x `fine` places in each pixel."""
    rows, columns = shape
    x = (np.arange(columns * fine) + 0.5)[None, :] / fine
    y = (np.arange(rows * fine) + 0.5)[:, None] / fine
    inside = np.zeros((rows * fine, columns * fine), bool)
    for start, end in pairwise([*outline, outline[0]]):
        if start[1] != end[1]:
            between = (start[1] <= y) != (end[1] <= y)
            inside ^= between & (
                x < start[0] + (y - start[1]) * (end[0] - start[0]) / (end[1] - start[1])
            )
    return inside.reshape(rows, fine, columns, fine).mean(axis=(1, 3))


@pytest.mark.parametrize("turn", [1, -1])
def test_polygon_agrees_with_twin(turn):
    outline = np.array([[3.2, 2.7], [20.4, 5.1], [17.7, 7.3], [25.9, 14.8], [4.4, 12.2]])[::turn]
    cover = raster.polygon([outline], (18, 29))
    # 64 x 64 places a pixel know an area to about 1 / 64 of an edge.
    np.testing.assert_allclose(cover, _polygon_twin(outline, (18, 29)), atol=0.012)


def test_polygon_covers_its_area():
    """By hand: a rectangle of 10.5 x 6.25 pixels, and a slanted one by the shoelace formula."""
    outline = np.array([[5.25, 4.0], [15.75, 4.0], [15.75, 10.25], [5.25, 10.25]])
    assert raster.polygon([outline], SHAPE).sum() == pytest.approx(10.5 * 6.25, abs=1e-3)
    slanted = np.array([[4.0, 7.0], [40.3, 3.1], [47.7, 21.0], [9.1, 33.3]])
    x, y = slanted.T
    area = abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))) / 2
    assert raster.polygon([slanted], SHAPE).sum() == pytest.approx(area, abs=1e-3)


def test_polygon_may_reach_beyond_the_picture():
    outline = np.array([[-10.0, -5.0], [70.0, -5.0], [70.0, 50.0], [-10.0, 50.0]])
    assert (raster.polygon([outline], SHAPE) == 1).all()
    assert not raster.polygon([outline + 200], SHAPE).any()


def test_a_hole_in_a_polygon_is_clear():
    ring = [
        np.array([[5.0, 5], [35, 5], [35, 30], [5, 30]]),
        np.array([[15.0, 12], [25, 12], [25, 22], [15, 22]]),
    ]
    cover = raster.polygon(ring, SHAPE)
    assert cover[17, 20] == 0
    assert cover[8, 8] == 1
