"""TIFF strung together from strips, read back by other readers."""

import io
from fractions import Fraction

import cv2
import numpy as np
import pytest
import tifffile
from PIL import Image

from keyer.batch.bands import HeldBands, coded
from keyer.batch.tiff_bands import TiffCoding

SHAPES = [(1, 1, 3), (7, 5, 4), (40, 33, 3), (41, 9, 4), (95, 31), (130, 17, 3)]


def picture(shape, dtype=np.uint8, seed=1):
    top = np.iinfo(dtype).max
    return np.random.default_rng(seed).integers(0, top, shape, dtype, endpoint=True)


@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
@pytest.mark.parametrize("shape", SHAPES)
def test_tifffile_reads_back_every_pixel(shape, dtype):
    pixels = picture(shape, dtype)
    found = tifffile.imread(io.BytesIO(coded(pixels, TiffCoding())))
    np.testing.assert_array_equal(found, pixels)


@pytest.mark.parametrize("shape", SHAPES)
def test_pillow_reads_back_every_pixel(shape):
    pixels = picture(shape)
    with Image.open(io.BytesIO(coded(pixels, TiffCoding()))) as found:
        assert np.array_equal(np.asarray(found), pixels)


def test_opencv_reads_back_every_pixel():
    pixels = picture((95, 31, 3), np.uint16)
    data = np.frombuffer(coded(pixels, TiffCoding()), np.uint8)
    found = cv2.imdecode(data, cv2.IMREAD_UNCHANGED)
    np.testing.assert_array_equal(found[..., ::-1], pixels)


@pytest.mark.parametrize(("premultiplied", "tag"), [(False, 2), (True, 1)])
def test_what_alpha_is_stands_in_the_file(premultiplied, tag):
    """ExtraSamples (TIFF 6.0, section 18): 1 associated, 2 unassociated."""
    coding = TiffCoding(premultiplied, Fraction(16, 15))
    data = coded(picture((7, 5, 4), np.uint16), coding)
    with tifffile.TiffFile(io.BytesIO(data)) as file:
        tags = file.pages[0].tags
        assert tags["ExtraSamples"].value == (tag,)
        assert tags["BitsPerSample"].value == (16, 16, 16, 16)
        # fewer pixels across than down, and no unit: pixels are wider than high
        assert (tags["XResolution"].value, tags["YResolution"].value) == ((15, 1), (16, 1))
        assert tags["ResolutionUnit"].value == 1


def test_changed_rows_alone_give_the_same_bytes():
    base, changed = picture((130, 17, 4)), picture((130, 17, 4))
    changed[50:90] = picture((40, 17, 4), seed=2)
    held = HeldBands(base, TiffCoding())
    start, end = held.widened(50, 90)
    assert held.encode(changed[start:end], start, end) == coded(changed, TiffCoding())
