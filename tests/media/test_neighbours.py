"""What we write is read by others, and what others write by us: imageio, tifffile, OpenCV."""

import cv2
import imageio.v3 as iio
import numpy as np
import pytest
import tifffile

from keyer.kinds.picture import RgbPicture
from keyer.media.source import open_source
from keyer.media.write import write_still
from keyer.pixel.colour.load import to_array

RANDOM = np.random.default_rng(8)
SIZE = (12, 20)


def drawn(depth, channels):
    top = np.iinfo(depth).max
    return RANDOM.integers(0, top, (channels, *SIZE), dtype=depth, endpoint=True)


@pytest.mark.parametrize("suffix", [".png", ".tif"])
@pytest.mark.parametrize("depth", [np.uint8, np.uint16])
@pytest.mark.parametrize("clear", [False, True])
def test_stills_are_read_by_others_as_they_were_written(tmp_path, suffix, depth, clear):
    planes = drawn(depth, 4)
    path = tmp_path / f"a{suffix}"
    write_still(path, RgbPicture(planes[:3], planes[3] if clear else None))
    expected = planes[: 4 if clear else 3].transpose(1, 2, 0)
    by_cv2 = cv2.imread(str(path), cv2.IMREAD_UNCHANGED)
    order = [2, 1, 0, 3][: expected.shape[2]]
    np.testing.assert_array_equal(by_cv2[..., order], expected)
    if suffix == ".tif":
        np.testing.assert_array_equal(tifffile.imread(path), expected)
    if depth == np.uint8:  # of 16 bits in three channels its reader of PNG keeps eight
        np.testing.assert_array_equal(iio.imread(path), expected)


@pytest.mark.parametrize(
    ("name", "depth", "channels"),
    [
        ("a.png", np.uint8, 3),
        ("a.png", np.uint8, 4),
        ("a.tif", np.uint8, 3),
        ("a.tif", np.uint16, 3),
    ],
)
def test_stills_of_others_are_read_as_they_were_written(tmp_path, name, depth, channels):
    cube = drawn(depth, channels).transpose(1, 2, 0)
    iio.imwrite(tmp_path / name, cube)
    source = open_source(tmp_path / name)
    found = source.read(0)
    source.close()
    np.testing.assert_array_equal(to_array(found), cube)
