from fractions import Fraction

import numpy as np
import pytest
from support import TWIN, reference

from keyer.errors import SettingError
from keyer.pixel.colour.load import load, store
from keyer.pixel.compose.generate import BARS, bars, checkerboard, colour, gradient, ramp

PUBLISHED = reference("video_levels")["bar"]


@pytest.mark.parametrize("percent", [75, 100])
@pytest.mark.parametrize("width", [8, 33, 64])
def test_bars_have_the_published_order_and_levels(percent, width):
    """video_levels.toml [[bar]], in the order of the file."""
    planes = bars(width, 3, percent).planes
    rows = [bar for bar in PUBLISHED if bar["standard"] == "bt709" and bar["percent"] == percent]
    assert len(rows) == len(BARS)
    for number, bar in enumerate(rows):
        middle = (2 * number + 1) * width // 16
        np.testing.assert_array_equal(planes[:, 1, middle], np.array(bar["rgb"], np.float32))
        codes = store(planes, np.uint8)[:, 1, middle]
        assert codes.tolist() == bar["rgb8_full"]


def test_bars_are_equally_wide():
    planes = bars(800, 1, 100).planes
    edges = np.flatnonzero(np.abs(np.diff(planes, axis=2)).sum(axis=(0, 1)))
    assert edges.tolist() == [99, 199, 299, 399, 499, 599, 699]


@pytest.mark.parametrize("percent", [0, -1, 101, float("nan")])
def test_bars_of_no_level_are_refused(percent):
    with pytest.raises(SettingError, match="percent of colour bars"):
        bars(8, 8, percent)


def test_a_colour_is_the_same_everywhere():
    picture = colour(5, 3, (0.1, 0.5, 1.0))
    assert (picture.width, picture.height) == (5, 3)
    assert picture.planes.dtype == np.float32
    expected = np.array([0.1, 0.5, 1.0], np.float32)
    np.testing.assert_array_equal(load(picture), np.tile(expected[:, None, None], (1, 3, 5)))


def test_a_ramp_runs_evenly_from_black_to_white():
    picture = ramp(256, 2)
    codes = store(picture.planes, np.uint8)
    np.testing.assert_array_equal(codes, np.broadcast_to(np.arange(256), (3, 2, 256)))
    assert ramp(1, 1).planes.tolist() == [[[0]], [[0]], [[0]]]


@pytest.mark.parametrize(
    ("angle", "start", "end"),
    [
        (0, np.s_[:, :, 0], np.s_[:, :, -1]),
        (90, np.s_[:, 0, :], np.s_[:, -1, :]),
        (180, np.s_[:, :, -1], np.s_[:, :, 0]),
        (45, np.s_[:, 0, 0], np.s_[:, -1, -1]),
        (-30, np.s_[:, -1, 0], np.s_[:, 0, -1]),
    ],
    ids=["right", "down", "left", "slanting-down", "slanting-up"],
)
def test_a_gradient_runs_from_edge_to_edge(angle, start, end):
    first, second = (0.2, 0.0, 0.9), (0.8, 1.0, 0.1)
    planes = gradient(40, 30, first, second, angle).planes
    for where, rgb in ((start, first), (end, second)):
        part = planes[where].reshape(3, -1)
        np.testing.assert_allclose(part, np.array(rgb)[:, None] + 0 * part, atol=TWIN)
    assert planes[1].min() >= 0
    assert planes[1].max() <= 1


def test_a_gradient_is_even():
    planes = gradient(50, 4, (0.0, 0.0, 0.0), (1.0, 1.0, 1.0)).planes
    np.testing.assert_allclose(np.diff(planes, axis=2), 1 / 49, atol=TWIN)
    assert gradient(1, 1, (0.3,) * 3, (1.0,) * 3).planes[0, 0, 0] == np.float32(0.3)


def test_the_angle_of_a_gradient_is_as_seen():
    """At 45 degrees, one pixel across counts twice one down where pixels are twice as wide."""
    planes = gradient(20, 40, (0.0,) * 3, (1.0,) * 3, 45, pixel_aspect=Fraction(2)).planes
    across = planes[0, 10, 11] - planes[0, 10, 10]
    down = planes[0, 11, 10] - planes[0, 10, 10]
    assert across == pytest.approx(2 * down, rel=1e-3)


@pytest.mark.parametrize(("squares", "aspect"), [(4, 1), (3, 1), (9, 1), (4, 2)])
def test_a_checkerboard_has_square_squares(squares, aspect):
    planes = checkerboard(
        96, 48, (1.0,) * 3, (0.0,) * 3, squares=squares, pixel_aspect=Fraction(aspect)
    ).planes
    down = np.flatnonzero(np.diff(planes[0, :, 50])) + 1
    # a row is of the square in which it begins: square k begins with row ceil(48 k / squares)
    assert down.tolist() == [-(-48 * k // squares) for k in range(1, squares)]
    across = np.diff(np.flatnonzero(np.diff(planes[0, 5])))
    assert set(np.round(across * aspect - 48 / squares)) <= {-1, 0, 1}
    assert set(np.unique(planes)) == {0.0, 1.0}


def test_a_checkerboard_is_centred():
    planes = checkerboard(60, 40, (1.0,) * 3, (0.0,) * 3, squares=4).planes
    np.testing.assert_array_equal(planes, planes[:, ::-1, ::-1])
    assert planes[0, 19, 29] == 1
    assert planes[0, 19, 30] == 0


@pytest.mark.parametrize(
    "draw",
    [
        pytest.param(lambda: colour(0, 4, (0, 0, 0)), id="colour"),
        pytest.param(lambda: bars(4, 0), id="bars"),
        pytest.param(lambda: ramp(-1, 4), id="ramp"),
        pytest.param(lambda: gradient(4, -2, (0, 0, 0), (1, 1, 1)), id="gradient"),
        pytest.param(lambda: checkerboard(4, 4, (0, 0, 0), (1, 1, 1), squares=0), id="squares"),
    ],
)
def test_sizes_below_one_are_refused(draw):
    with pytest.raises(SettingError, match="1 or more"):
        draw()


@pytest.mark.parametrize("width", [1, 2, 3])
def test_one_pixel_pictures(width):
    for picture in (
        bars(width, 1),
        ramp(width, 1),
        gradient(width, 1, (0, 0, 0), (1, 1, 1), 77),
        checkerboard(width, 1, (0, 0, 0), (1, 1, 1)),
    ):
        assert picture.planes.shape == (3, 1, width)
        assert np.isfinite(picture.planes).all()
