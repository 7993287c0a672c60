"""How chroma was sampled, told from the picture."""

import cv2
import numpy as np
import pytest
from plates import making
from plates.proof import KINDS, make
from support import planes

from keyer.pixel.colour.sampling import Sampling, measure_sampling, moved


def sampled(plate, across, down, repeated):
    """A plate whose chroma went through fewer samples."""
    ycc = making.to_ycc(plate)
    height, width = plate.shape[1:]
    how = cv2.INTER_NEAREST if repeated else cv2.INTER_LINEAR
    for part in (1, 2):
        size = (width // across, height // down)
        small = cv2.resize(ycc[part], size, interpolation=cv2.INTER_AREA)
        ycc[part] = cv2.resize(small, (width, height), interpolation=how)
    return making.rounded(np.clip(making.to_rgb(ycc), 0, 1))


@pytest.mark.parametrize(
    "name",
    ["strands", "noise", "see-through", "spill add", "noise, blue", "motion blur", "spill cast"],
)
@pytest.mark.parametrize(
    ("across", "down", "repeated"), [(1, 1, False), (2, 1, False), (2, 2, False), (2, 2, True)]
)
def test_the_sampling_is_told_from_the_picture(name, across, down, repeated):
    plate = make(next(kind for kind in KINDS if kind.name == name), seed=11)
    ycc = making.to_ycc(sampled(plate.recorded, across, down, repeated))
    edge = (plate.matte > 0.02) & (plate.matte < 0.98)
    edge = cv2.dilate(edge.astype(np.uint8), np.ones((5, 5), np.uint8)).astype(bool)
    calm = cv2.dilate(plate.matte, np.ones((9, 9), np.uint8)) == 0
    assert measure_sampling(*ycc, edge, calm) == Sampling(across, down, repeated)


def test_a_picture_without_edges_is_taken_as_fully_sampled():
    flat = np.full((40, 60), 0.5, np.float32)
    nowhere = np.zeros((40, 60), bool)
    assert measure_sampling(flat, flat, flat, nowhere, nowhere) == Sampling()


@pytest.mark.parametrize("name", ["plain", "strands", "spill veil", "see-through, blue, spill"])
@pytest.mark.parametrize("shift", [-0.5, 0.0, 0.5])
def test_chroma_that_sits_half_a_pixel_beside_its_place_is_found(name, shift):
    plate = make(next(kind for kind in KINDS if kind.name == name), seed=12)
    luma, cb, cr = making.to_ycc(sampled(plate.recorded, 2, 2, False))
    displaced = luma, moved(cb, -shift), moved(cr, -shift)
    edge = (plate.matte > 0.02) & (plate.matte < 0.98)
    edge = cv2.dilate(edge.astype(np.uint8), np.ones((5, 5), np.uint8)).astype(bool)
    calm = cv2.dilate(plate.matte, np.ones((9, 9), np.uint8)) == 0
    found = measure_sampling(*displaced, edge, calm)
    assert (found.across, found.shift) == (2, shift)


def test_no_shift_is_the_same():
    plane = planes(5)[0]
    assert moved(plane, 0.0) is plane
