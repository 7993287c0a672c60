"""Light, film and noise of the drawings."""

import numpy as np
import pytest

from examples.drawing import film, light, tiles

pytestmark = pytest.mark.slow  # any change of the drawing is seen by test_same


def test_encode_runs_from_black_to_white():
    """Reinhard et al. 2002, equation 4: the light called white comes out as 1."""
    bright = np.linspace(0, 3.2, 100, dtype=np.float32)
    coded = light.encode(bright, 3.2)
    assert coded[0] == 0
    assert coded[-1] == pytest.approx(1, abs=1e-6)
    assert (np.diff(coded) > 0).all()


def test_encode_of_one():
    """By hand: 1 (1 + 1/16) / 2 = 0.53125, to the power 1/2.2 is 0.7501."""
    assert light.encode(np.float32([1.0]), 4.0)[0] == pytest.approx(0.53125 ** (1 / 2.2), abs=1e-6)


def test_linear_reads_both_notations():
    np.testing.assert_allclose(light.linear("#FF8000"), light.linear((1.0, 128 / 255, 0.0)))
    np.testing.assert_allclose(light.gamma(light.linear("#336699")), [0.2, 0.4, 0.6], atol=1e-6)


def test_normals_of_a_slope():
    """By hand: a height rising 0.75 a pixel to the right leans left: (-0.6, 0, 0.8)."""
    height = np.broadcast_to(np.arange(20, dtype=np.float32) * np.float32(0.75), (20, 20))
    nx, ny, nz = (part[10, 10] for part in light.normals(np.ascontiguousarray(height)))
    assert (nx, ny, nz) == pytest.approx((-0.6, 0.0, 0.8), abs=1e-5)


def test_a_cushion_is_round_at_its_edge_and_flat_inside():
    cover = np.zeros((80, 80), np.float32)
    cover[10:70, 10:70] = 1
    height = light.inflate(cover, 12, soften=0.1)
    assert height[40, 40] == pytest.approx(12, abs=0.2)
    assert height[40, 11] < height[40, 16] < height[40, 24]


def test_only_what_is_wanted_is_lit():
    rows = np.linspace(-0.6, 0.6, 30, dtype=np.float32)[:, None] * np.ones((1, 20), np.float32)
    normal = (rows, np.zeros_like(rows), np.sqrt(1 - rows**2))
    where = np.zeros(rows.shape, bool)
    where[5:15, 4:9] = True
    settings = {"gloss": 0.5, "sheen": 0.2, "metal": 0.4, "coat": 0.6}
    albedo = np.float32([0.5, 0.3, 0.2])
    whole = light.lit(normal, albedo, **settings)
    part = light.lit(normal, albedo, where=where, **settings)
    np.testing.assert_allclose(part[where], whole[where], atol=1e-6)
    assert not part[~where].any()
    assert 0 <= whole.min() <= whole.max() <= 1


def test_a_wide_blur_keeps_the_mean_and_leaves_no_facets():
    plane = np.random.default_rng(2).random((120, 160), np.float32)
    soft = light.blurred(plane, 12)
    assert soft.mean() == pytest.approx(plane.mean(), abs=0.01)
    assert np.abs(np.diff(soft, 2, axis=1)).max() < 0.005


def test_develop_keeps_to_the_range():
    bright = np.random.default_rng(5).random((40, 60, 3), np.float32) ** 8 * 40
    picture = film.develop(bright, 1)
    assert picture.dtype == np.float32
    assert 0 <= picture.min() <= picture.max() <= 1
    assert (picture == film.develop(bright, 1)).all()


def test_tiles_repeat_without_a_seam():
    tile = tiles.tile(9, 1.5)
    assert tile.mean() == pytest.approx(0, abs=1e-3)
    assert tile.std() == pytest.approx(1, abs=1e-3)
    inside = np.abs(np.diff(tile, axis=1)).max()
    assert np.abs(tile[:, 0] - tile[:, -1]).max() <= inside * 1.2
    with pytest.raises(ValueError, match="read-only"):
        tile[0, 0] = 1


def test_sample_reads_whole_places_exactly():
    tile = tiles.tile(9, 1.5)
    u, v = np.float32([[3, 515, 511, -1]]), np.float32([[7, 7, 600, 600]])
    np.testing.assert_allclose(
        tiles.sample(tile, u, v)[0],
        [tile[7, 3], tile[7, 3], tile[88, 511], tile[88, 511]],
        atol=1e-5,
    )
