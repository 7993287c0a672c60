"""The drawing tool still draws what the demo is made of."""

import cv2
import numpy as np
import pytest
from support import HERE, demo_matte, demo_picture

from examples.drawing.media import NEAR, PLATES
from examples.drawing.plates import eight_bit, key_plate
from examples.drawing.png import png
from examples.drawing.scenery import SCENES, draw

SMALL = (96, 54)

KEPT = HERE / "drawing" / "pictures"
"""Drawn at that size when the demo's pictures were, each written by `png`."""


def _small(name):
    """A small scene or plate, or a plate's matte."""
    if name in SCENES:
        return eight_bit(draw(name, *SMALL))
    plate = key_plate(name.removesuffix("-matte"), *SMALL)
    return eight_bit(plate.matte if name.endswith("-matte") else plate.picture)


def _off(drawn, kept):
    """Largest difference in codes: 1 where rounding falls the other way on another processor."""
    assert drawn.shape == kept.shape
    return np.abs(drawn.astype(int) - kept).max()


@pytest.mark.parametrize("name", [*SCENES, *PLATES, *(f"{plate}-matte" for plate in PLATES)])
def test_small_pictures(name):
    kept = cv2.imread(str(KEPT / f"{name}.png"), cv2.IMREAD_UNCHANGED)
    assert _off(_small(name), kept[..., ::-1] if kept.ndim == 3 else kept) <= 1


@pytest.mark.slow
@pytest.mark.parametrize("name", SCENES)
def test_scenery_at_full_size(name):
    assert _off(eight_bit(draw(name)), demo_picture(f"{name}.png")) <= NEAR + 1


@pytest.mark.slow
@pytest.mark.parametrize("name", PLATES)
def test_plates_at_full_size(name):
    plate = key_plate(name)
    assert _off(eight_bit(plate.picture), demo_picture(f"{name}.png")) <= 1
    assert np.abs(plate.matte - demo_matte(f"{name}-true-matte.png")).max() < 1 / 255


@pytest.mark.parametrize("near", [0, 1, 2])
@pytest.mark.parametrize("shape", [(9, 7), (9, 7, 3), (1, 1, 3)])
def test_a_png_is_off_by_no_more_than_was_allowed(near, shape):
    """As another reader sees it (OpenCV); extremes of the range may not run over."""
    noise = np.random.default_rng(3).integers(0, 256, shape).astype(np.uint8)
    for picture in (noise, np.where(noise > 127, np.uint8(255), np.uint8(0))):
        read = cv2.imdecode(np.frombuffer(png(picture, near), np.uint8), cv2.IMREAD_UNCHANGED)
        assert _off(picture, read[..., ::-1] if read.ndim == 3 else read) <= near
