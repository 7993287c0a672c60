"""What is no mixture of a subject and the backing."""

import numpy as np
import pytest
from plates import making
from plates.portrait import LIME
from plates.proof import GREEN

from keyer.pixel.colour.luma_chroma import hue_axes, hue_of
from keyer.pixel.keys.foreign import foreign_parts


def foreign(picture, subject):
    behind = making.flat(GREEN, 90, 120)
    own = making.flat(subject, 90, 120)
    return foreign_parts(picture, own, behind, hue_axes(hue_of(GREEN, "bt709"), "bt709"))


def test_a_lime_product_is_no_mixture_of_a_grey_subject_and_green():
    picture = making.flat((0.5, 0.5, 0.5), 90, 120)
    picture[:, 20:60, 30:80] = np.array(LIME, np.float32)[:, None, None]
    found = foreign(picture, (0.5, 0.5, 0.5))
    assert found[23:57, 33:77].all()
    assert not found[:15].any()


def test_every_mixture_of_subject_and_backing_is_none_of_it():
    cover = np.linspace(0, 1, 120, dtype=np.float32)
    for subject in ((0.5, 0.5, 0.5), (0.7, 0.3, 0.15), (0.1, 0.1, 0.4)):
        mixed = cover * making.flat(subject, 90, 120) + (1 - cover) * making.flat(GREEN, 90, 120)
        assert not foreign(mixed, subject).any()


def test_a_thin_strand_of_another_colour_is_left_to_the_edge():
    picture = making.flat(GREEN, 90, 120)
    picture[:, 40:42] = np.array((0.9, 0.2, 0.1), np.float32)[:, None, None]
    assert not foreign(picture, (0.5, 0.5, 0.5)).any()


@pytest.mark.parametrize("size", [(1, 1), (2, 5), (9, 9)])
def test_small_pictures(size):
    picture = making.flat(GREEN, *size)
    axes = hue_axes(hue_of(GREEN, "bt709"), "bt709")
    assert not foreign_parts(picture, picture, picture, axes).any()
