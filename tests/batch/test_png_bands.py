"""PNG strung together from bands."""

import io
import zlib

import cv2
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from keyer.batch.bands import BAND_ROWS, HeldBands
from keyer.batch.png_bands import PNG, _joined_adler, png_bytes

SHAPES = [(1, 1, 3), (7, 5, 4), (40, 33, 3), (41, 9, 4), (95, 31), (130, 17, 3)]


def picture(shape, dtype=np.uint8, seed=1):
    top = np.iinfo(dtype).max
    return np.random.default_rng(seed).integers(0, top, shape, dtype, endpoint=True)


@pytest.mark.parametrize("shape", SHAPES)
def test_pillow_reads_back_every_pixel(shape):
    pixels = picture(shape)
    with Image.open(io.BytesIO(png_bytes(pixels))) as found:
        found.load()
        assert np.array_equal(np.asarray(found), pixels)


@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
@pytest.mark.parametrize("shape", SHAPES)
def test_opencv_reads_back_every_pixel(shape, dtype):
    pixels = picture(shape, dtype)
    found = cv2.imdecode(np.frombuffer(png_bytes(pixels), np.uint8), cv2.IMREAD_UNCHANGED)
    order = [2, 1, 0, 3][: shape[2]] if len(shape) == 3 else None
    assert np.array_equal(found if order is None else found[..., order], pixels)


@pytest.mark.parametrize(("top", "bottom"), [(0, 3), (50, 90), (119, 130), (0, 130), (60, 61)])
def test_changed_rows_alone_give_the_same_bytes(top, bottom):
    base, changed = picture((130, 17, 4)), picture((130, 17, 4))
    changed[top:bottom] = picture((bottom - top, 17, 4), seed=2)
    held = HeldBands(base, PNG)
    start, end = held.widened(top, bottom)
    assert start % BAND_ROWS == 0
    assert held.encode(changed[start:end], start, end) == png_bytes(changed)
    assert held.encode(base[:0], 0, 0) == png_bytes(base)


@given(st.binary(max_size=300), st.binary(max_size=300))
def test_checksum_of_two_stretches(first, second):
    joined = _joined_adler(zlib.adler32(first), zlib.adler32(second), len(second))
    assert joined == zlib.adler32(first + second)
