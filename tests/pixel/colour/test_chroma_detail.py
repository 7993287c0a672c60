import cv2
import numpy as np
import pytest

from keyer.pixel.colour.chroma_detail import chroma_detail
from keyer.pixel.colour.luma_chroma import rgb_to_ycc

LIGHT, DARK = np.array((0.8, 0.6, 0.45)), np.array((0.3, 0.15, 0.1))


def stripes(height=48, width=64):
    """Fine texture of one thing: mixtures of a light and a dark tone of it."""
    share = np.random.default_rng(3).random((height, width))
    return (share * LIGHT[:, None, None] + (1 - share) * DARK[:, None, None]).astype(np.float32)


def recorded(planes, across, down):
    """With a sample of chroma to so many pixels, and luma as it is."""
    luma, cb, cr = rgb_to_ycc(planes, "bt709")
    height, width = luma.shape
    size = width // across, height // down
    cb, cr = (
        cv2.resize(cv2.resize(plane, size, interpolation=cv2.INTER_AREA), (width, height))
        for plane in (cb, cr)
    )
    red, blue = luma + 1.5748 * cr, luma + 1.8556 * cb
    green = (luma - 0.2126 * red - 0.0722 * blue) / 0.7152
    return np.stack([red, green, blue]).astype(np.float32)


@pytest.mark.parametrize(("across", "down"), [(2, 2), (2, 1)])
def test_chroma_follows_luma_within_one_thing(across, down):
    """ITU-R BT.709-6 items 3.2 and 3.3: two tones lie on a line, so about half of the error goes;
    the rest is where the texture is taken for grain.
    """
    true = stripes()
    soft = recorded(true, across, down)
    found = chroma_detail(soft, "bt709", across, down)
    assert np.abs(found - true).mean() < 0.55 * np.abs(soft - true).mean()
    np.testing.assert_allclose(
        rgb_to_ycc(found, "bt709")[0], rgb_to_ycc(soft, "bt709")[0], atol=1e-5
    )


def test_a_flat_colour_and_grey_grain_stay():
    grain = np.random.default_rng(1).normal(0, 0.006, (1, 31, 45))
    planes = (np.array((0.1, 0.6, 0.25))[:, None, None] + grain).astype(np.float32)
    found = chroma_detail(planes, "bt709", 2, 2)
    assert np.abs(found - planes).max() < 0.01
