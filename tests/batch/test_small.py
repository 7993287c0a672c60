"""Results made small, from bands and from files."""

import cv2
import numpy as np
import pytest

from keyer.batch.bands import coded
from keyer.batch.png_bands import PNG
from keyer.batch.small import Shrink, SmallFiles, SmallPictures
from keyer.batch.tiff_bands import TiffCoding


def held(pixels, largest):
    height, width = pixels.shape[:2]
    return SmallPictures(pixels, Shrink(height, width, 1.0, largest))


def noise(shape, dtype=np.uint8):
    return np.random.default_rng(3).integers(0, np.iinfo(dtype).max, shape, dtype)


@pytest.mark.parametrize("shape", [(95, 64), (95, 64, 3), (80, 64, 4)])
@pytest.mark.parametrize("dtype", [np.uint8, np.uint16])
@pytest.mark.parametrize("coding", [PNG, TiffCoding()])
def test_bands_unpack_to_the_picture(shape, dtype, coding):
    pixels = noise(shape, dtype)
    found, bands = coding.apart(coded(pixels, coding))
    rows = [coding.unpack(band, n, found) for n, band in enumerate(bands)]
    np.testing.assert_array_equal(np.concatenate(rows), pixels)


def test_other_pngs_are_left_to_the_decoder():
    done, data = cv2.imencode(".png", noise((95, 64, 3)))
    assert done
    assert PNG.apart(data.tobytes()) is None
    assert SmallFiles(PNG, 1.0, 720).read(data.tobytes()) is None
    assert PNG.apart(b"no picture at all") is None
    assert TiffCoding().apart(b"II*\0 no picture at all") is None


def test_a_whole_picture_is_averaged_as_opencv_does_it():
    """1080 rows to 405: each band of 40 becomes 15, and INTER_AREA has no seams there."""
    pixels = noise((1080, 1920, 3))
    small = held(pixels, 720).replaced(pixels[:0], 0)
    whole = cv2.resize(pixels, (720, 405), interpolation=cv2.INTER_AREA)
    np.testing.assert_array_equal(small, whole)


def test_only_changed_bands_are_made_anew():
    first, second = noise((200, 160, 3)), noise((200, 160, 3))
    second[80:120] = 7
    small = held(first, 80)  # 200 rows become 80, a band 16
    changed = small.replaced(second[80:120], 80)
    np.testing.assert_array_equal(changed, held(second, 80).replaced(second[:0], 0))
    assert (changed[32:48] == 7).all()


def test_what_is_clear_lies_over_the_checkerboard():
    """By hand: greys 0.42 and 0.52 are 107 and 133 of 255; squares of 24 pixels."""
    clear = np.zeros((80, 80, 4), np.uint8)
    small = held(clear, 80).replaced(clear[:0], 0)
    assert small[0, 0].tolist() == [133] * 3
    assert small[0, 24].tolist() == [107] * 3
    assert small[24, 0].tolist() == [107] * 3
    assert small[48, 0].tolist() == [133] * 3  # it runs on from band to band


def test_small_pictures_have_square_pixels():
    """720 x 576 shown at 4 : 3, its pixels 16 : 15: by hand 576 rows to 20 of each 40."""
    shrink = Shrink(576, 720, 16 / 15, 384)
    assert (shrink.step, shrink.width) == (20, 384)


@pytest.mark.parametrize("shape", [(95, 64, 3), (80, 64, 4)])
@pytest.mark.parametrize("coding", [PNG, TiffCoding(), TiffCoding(premultiplied=True)])
def test_files_read_small_are_what_was_rendered(shape, coding):
    pixels, premultiplied = noise(shape), getattr(coding, "premultiplied", False)
    shrink = Shrink(*shape[:2], 1.0, 48, premultiplied=premultiplied)
    small = SmallPictures(pixels, shrink).replaced(pixels[:0], 0)
    files = SmallFiles(coding, 1.0, 48, premultiplied=premultiplied)
    data = coded(pixels, coding)
    for _ in range(2):  # the second from bands that are known
        np.testing.assert_array_equal(files.read(data), small)
    damaged = bytearray(data)
    damaged[80] ^= 255
    found = files.read(bytes(damaged))
    assert found is None or found.shape == small.shape
