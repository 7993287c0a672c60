"""The keys of the demo against the mattes that are known to be true."""

import numpy as np
import pytest
from render.frames import ByKey
from support import DEMO, demo_matte, demo_picture

from keyer.demo.project import CASES
from keyer.media.source import open_source
from keyer.pixel.colour.load import from_array, load
from keyer.sheet.effect import Key

LARGEST_MSE = 4e-3
STRAY_PERCENT = 0.5
"""Of the truly clear area that is not clear, and of the truly solid that is not solid."""

SIZE = (960, 540)

MOVING = ("rider.mp4", "rider-true-matte.mov")


def _check(picture, truth):
    matte = ByKey(Key("chroma"), picture).matte
    assert np.mean((matte - truth) ** 2) < LARGEST_MSE
    assert 100 * np.mean(matte[truth == 0] > 0.02) < STRAY_PERCENT
    assert 100 * np.mean(matte[truth == 1] < 0.98) < STRAY_PERCENT


@pytest.mark.parametrize("name", CASES)
def test_still_plates(name):
    picture = from_array(demo_picture(f"{name}.png", SIZE))
    _check(picture, demo_matte(f"{name}-true-matte.png", SIZE))


@pytest.mark.parametrize("name", CASES)
def test_still_plates_keyed_finely(name):
    """At full size: smaller, the bicycle's wires are of a pixel or two, and spill on these is
    told from transparency by no pixel."""
    picture, truth = from_array(demo_picture(f"{name}.png")), demo_matte(f"{name}-true-matte.png")
    fine, fast = (
        ByKey(Key("chroma", quality=quality), picture).matte for quality in ("fine", "fast")
    )
    error = np.mean((fine - truth) ** 2)
    assert error < LARGEST_MSE
    assert error < np.mean((fast - truth) ** 2)
    assert 100 * np.mean(fine[truth == 0] > 0.02) < STRAY_PERCENT
    assert 100 * np.mean(fine[truth == 1] < 0.98) < STRAY_PERCENT


@pytest.mark.parametrize("number", [0, 20])
def test_moving_plate(number):
    """A frame as a camera delivers it: 4:2:0, H.264."""
    plate, truth = (open_source(DEMO / "media" / name) for name in MOVING)
    _check(plate.read(number), load(truth.read(number))[0])
    plate.close()
    truth.close()
