import threading

import pytest

from keyer.pixel.kernels.bands import BAND_PIXELS, band_rows, default_threads, run_bands


@pytest.mark.parametrize("threads", [1, 2, 3, 8])
@pytest.mark.parametrize("rows", [None, 1, 7, 100])
def test_every_row_is_worked_once(threads, rows):
    seen, lock = [], threading.Lock()

    def work(top, bottom):
        with lock:
            seen.extend(range(top, bottom))

    run_bands(53, 40, work, threads=threads, rows=rows)
    assert sorted(seen) == list(range(53))


@pytest.mark.parametrize("size", [(480, 852), (1080, 1920), (2160, 3840), (1, 1), (3, 16384)])
def test_bands_are_shared_out_evenly_and_fit_the_cache(size):
    height, width = size
    rows = band_rows(height, width, 2)
    bands = -(-height // rows)
    assert rows == 1 or rows * width <= BAND_PIXELS * 1.1
    assert bands % 2 == 0 or height % 2 == 1


@pytest.mark.parametrize(("height", "rows"), [(1080, 80), (480, 64), (5, 16), (96, 48)])
def test_bands_may_be_a_multiple_of_the_height_of_a_tile(height, rows):
    """By hand: 1080 lines make 16 bands of 68 rows, 480 lines 8 of 60; up to the next 16."""
    width = {1080: 1920, 480: 2180}.get(height, 96)
    assert band_rows(height, width, 2, 16) == rows


def test_an_error_in_any_band_comes_out():
    def work(top, bottom):
        if top:
            message = "band"
            raise ValueError(message)

    with pytest.raises(ValueError, match="band"):
        run_bands(8, 8, work, threads=2, rows=2)


def test_there_is_at_least_one_thread():
    assert default_threads() >= 1
