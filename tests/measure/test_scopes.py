import numpy as np
import pytest
from support import reference, solid

from keyer.measure.scopes import HIGHEST, LOWEST, SPAN, bar_points, vectorscope, waveform


def test_each_column_of_the_waveform_adds_up_to_one():
    rng = np.random.default_rng(4)
    picture = rng.random((3, 30, 50), dtype=np.float32) * 3 - 1
    np.testing.assert_allclose(waveform(picture, "bt709", 20, 60).sum(axis=0), 1, atol=1e-6)


@pytest.mark.parametrize("level", [-0.05, 0.0, 0.5, 1.0, 1.05])
def test_a_grey_stands_at_its_level(level):
    picture = solid((level, level, level), 8, 16)
    counts = waveform(picture, "bt709", 4, 1200)
    (row,) = set(np.argmax(counts, axis=0).tolist())
    read = HIGHEST - (row + 0.5) * (HIGHEST - LOWEST) / 1200
    assert read == pytest.approx(100 * level, abs=0.11)


def test_the_waveform_keeps_left_and_right():
    picture = np.zeros((3, 4, 8), np.float32)
    picture[:, :, 4:] = 1
    counts = waveform(picture, "bt709", 2, 12)
    assert np.argmax(counts[:, 0]) > np.argmax(counts[:, 1])


def test_levels_beyond_the_ends_count_there():
    counts = waveform(solid((3.0, 3.0, 3.0)), "bt709", 2, 12)
    assert counts[0].tolist() == [1, 1]


@pytest.mark.parametrize("matrix", ["bt601", "bt709"])
def test_the_bars_lie_where_the_reference_has_them(matrix):
    points = bar_points(matrix)
    found = {
        bar["colour"]: (bar["cb"], bar["cr"])
        for bar in reference("video_levels")["bar"]
        if bar["standard"] == matrix and bar["percent"] == 75
    }
    names = {"R": "red", "Yl": "yellow", "G": "green", "Cy": "cyan", "B": "blue", "Mg": "magenta"}
    for short, name in names.items():
        assert points[short] == pytest.approx(found[name], abs=1e-6)


def test_a_colour_stands_at_its_cb_and_cr():
    """Cb to the right, Cr up: 75 percent red is left of the middle and above it."""
    size = 600
    counts = vectorscope(solid((0.75, 0.0, 0.0)), "bt709", size)
    row, column = np.unravel_index(np.argmax(counts), counts.shape)
    cb, cr = bar_points("bt709")["R"]
    assert ((column + 0.5) / size * 2 - 1) * SPAN == pytest.approx(cb, abs=SPAN / size * 1.01)
    assert (1 - (row + 0.5) / size * 2) * SPAN == pytest.approx(cr, abs=SPAN / size * 1.01)
    assert counts.sum() == pytest.approx(1)


def test_grey_is_in_the_middle():
    counts = vectorscope(solid((0.4, 0.4, 0.4)), "bt709", 101)
    assert np.unravel_index(np.argmax(counts), counts.shape) == (50, 50)
