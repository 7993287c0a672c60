"""Solid parts: spill changes slowly, edges fast."""

import cv2
import numpy as np
from plates import making, shapes
from plates.portrait import LIME
from plates.proof import GREEN

from keyer.pixel.colour import hue_axes, hue_of
from keyer.pixel.solid import first_core, foreign_parts, solid_parts


def disc(radius=90.0, width=2.0, size=(360, 480)):
    rows, cols = np.mgrid[0 : size[0], 0 : size[1]]
    away = np.hypot(rows - size[0] / 2, cols - size[1] / 2)
    return np.clip((radius - away) / width + 0.5, 0, 1).astype(np.float32), away


def test_a_sharp_disc_is_solid_inside_and_not_outside():
    matte, away = disc()
    solid = solid_parts(matte)
    assert solid[away < 84].all()
    assert not solid[away > 91].any()


def test_spill_that_fades_inwards_is_solid_up_to_the_edge():
    matte, away = disc()
    spilled = matte * (1 - 0.25 * np.exp(-(90 - np.minimum(away, 90)) / 22))
    solid = solid_parts(spilled.astype(np.float32))
    assert solid[away < 84].all()
    assert not solid[away > 91].any()


def test_the_edge_of_a_moving_subject_is_not_solid():
    matte = shapes.motion_blur(disc()[0], 25, 0)
    solid = solid_parts(matte)
    assert matte[solid].min() > 0.9


def test_a_see_through_part_is_not_solid():
    matte, _ = disc()
    patch = np.zeros(matte.shape, np.float32)
    cv2.circle(patch, (240, 200), 40, 0.5, -1)
    solid = solid_parts(matte - cv2.GaussianBlur(patch, (0, 0), 1) * matte)
    assert not solid[180:220, 220:260].any()


def test_a_textured_patch_of_the_backings_hue_is_solid():
    rng = np.random.default_rng(2)
    matte, _ = disc()
    texture = cv2.GaussianBlur(rng.random(matte.shape, dtype=np.float32), (0, 0), 1.5)
    texture = 0.55 + 2.5 * (texture - texture.mean())
    rows, cols = np.mgrid[0:360, 0:480]
    patch = np.hypot(rows - 180, cols - 240) < 30
    matte[patch] = texture[patch].clip(0.2, 1)
    assert solid_parts(matte)[patch].mean() > 0.95


def test_a_window_through_which_the_backing_shows_is_not_solid():
    matte, _ = disc()
    rows, cols = np.mgrid[0:360, 0:480]
    matte[np.hypot(rows - 180, cols - 240) < 12] = 0
    assert not solid_parts(matte)[175:185, 235:245].any()


def test_strands_are_not_solid():
    matte = np.zeros((360, 480), np.float32)
    matte[:, 100:480:7] = 1
    matte[:, 101:480:7] = 0.6
    assert not solid_parts(matte).any()


def test_the_first_core_of_a_subject_with_spill_all_over_is_found():
    matte, away = disc()
    core = first_core(0.85 * matte, away < 70)
    assert core[away < 80].all()
    assert not core[away > 90].any()


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


def test_small_pictures():
    for size in ((1, 1), (2, 5), (9, 9)):
        assert solid_parts(np.ones(size, np.float32)).shape == size
        assert first_core(np.ones(size, np.float32), np.zeros(size, bool)).shape == size
