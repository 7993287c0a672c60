"""The keys of the demo against the mattes that are known to be true."""

from fractions import Fraction

import numpy as np
import pytest
from render.frames import ByKey

from keyer.demo.plates import PLATES, eight_bit, key_plate
from keyer.demo.project import CLIP_SIZE, clip_frame
from keyer.media.clip_write import ClipWriter
from keyer.media.source import open_source
from keyer.pixel.colour.load import from_array
from keyer.sheet.effect import Key

LARGEST_MSE = 4e-3
STRAY_PERCENT = 0.5
"""Of the truly clear area that is not clear, and of the truly solid that is not solid."""

SIZE = (960, 540)

FULL_SIZE = (1920, 1080)
"""As the demo has its plates: smaller, the bicycle's wires are of a pixel or two, and spill on
these is told from transparency by no pixel."""


def _check(picture, truth):
    matte = ByKey(Key("chroma"), picture).matte
    assert np.mean((matte - truth) ** 2) < LARGEST_MSE
    assert 100 * np.mean(matte[truth == 0] > 0.02) < STRAY_PERCENT
    assert 100 * np.mean(matte[truth == 1] < 0.98) < STRAY_PERCENT


@pytest.mark.parametrize("name", PLATES)
def test_still_plates(name):
    plate = key_plate(name, *SIZE)
    _check(from_array(eight_bit(plate.picture)), plate.matte)


@pytest.mark.parametrize("name", PLATES)
def test_still_plates_keyed_finely(name):
    plate = key_plate(name, *FULL_SIZE)
    picture, truth = from_array(eight_bit(plate.picture)), plate.matte
    fine, fast = (
        ByKey(Key("chroma", quality=quality), picture).matte for quality in ("fine", "fast")
    )
    error = np.mean((fine - truth) ** 2)
    assert error < LARGEST_MSE
    assert error < np.mean((fast - truth) ** 2)
    assert 100 * np.mean(fine[truth == 0] > 0.02) < STRAY_PERCENT
    assert 100 * np.mean(fine[truth == 1] < 0.98) < STRAY_PERCENT


@pytest.fixture(scope="module")
def clip(tmp_path_factory):
    """Frames of the moving plate as a camera delivers them: 4:2:0, H.264."""
    path = tmp_path_factory.mktemp("clip") / "rider.mp4"
    truths = []
    with ClipWriter(path, *CLIP_SIZE, Fraction(25), codec="h264") as writer:
        for number in (0, 20):
            picture, matte = clip_frame(number)
            writer.write(from_array(picture))
            truths.append(matte / np.float32(255))
    return path, truths


@pytest.mark.parametrize("number", [0, 1])
def test_moving_plate(clip, number):
    path, truths = clip
    source = open_source(path)
    _check(source.read(number), truths[number])
    source.close()
