"""The film of backing light on a subject."""

from dataclasses import replace

import cv2
import numpy as np
import pytest
from plates import making, shapes
from plates.proof import BLUE, GREEN
from plates.textures import texture

from keyer.pixel.colour.luma_chroma import hue_axes, hue_of
from keyer.pixel.keys.film import (
    LEEWAY,
    MOST,
    NO_FILM,
    Film,
    edge_distance,
    measure_film,
    most_shares,
)

HEIGHT, WIDTH = 270, 360


def spilled(name, backing, strength, kind, floor=0.0):
    """A textured subject with a film, what is solid of it, and the film that was put on."""
    rng = np.random.default_rng(5)
    matte = shapes.coverage(shapes.body(HEIGHT, WIDTH, rng), HEIGHT, WIDTH)
    subject = texture(name, HEIGHT, WIDTH)
    behind = making.flat(backing, HEIGHT, WIDTH)
    share = making.spill_share(matte, 0.06, floor)
    lit = making.spilled(subject, behind, share, strength, kind)
    solid = cv2.erode((matte > 0.99).astype(np.uint8), np.ones((5, 5), np.uint8)).astype(bool)
    smooth = np.stack([cv2.GaussianBlur(plane, (0, 0), 1) for plane in lit])
    axes = hue_axes(hue_of(backing, "bt709"), "bt709")
    film = measure_film(smooth, behind, solid, solid, axes, "bt709")
    return film, solid, strength * share


@pytest.mark.parametrize("name", ["suit", "cat", "machine", "tissue", "cup"])
@pytest.mark.parametrize("backing", [GREEN, BLUE])
def test_a_subject_without_spill_has_next_to_no_film(name, backing):
    film, _, _ = spilled(name, backing, 0.0, "veil")
    assert (film.shares + np.maximum(film.leans, 0) * 0.5).max() < 0.05


@pytest.mark.parametrize("name", ["suit", "cat", "machine"])
@pytest.mark.parametrize("kind", ["veil", "add"])
def test_its_share_at_the_edge_is_read_to_a_third(name, kind):
    film, solid, true = spilled(name, GREEN, 0.24, kind)
    at_edge = (edge_distance(solid) > 0) & (edge_distance(solid) < 0.02)
    luma = np.full(solid.shape, 0.4, np.float32)
    found = film.share_at(edge_distance(solid), luma)
    assert found[at_edge].mean() == pytest.approx(true[at_edge].mean(), rel=0.34)


def test_the_highlights_tell_a_veil_from_added_light():
    veil, _, _ = spilled("suit", GREEN, 0.24, "veil")
    added, _, _ = spilled("suit", GREEN, 0.24, "add")
    assert veil.veil > added.veil + 0.2


def test_light_thrown_back_in_the_subjects_colour_leans_with_luma():
    film, _, _ = spilled("tissue", GREEN, 0.3, "cast")
    assert film.leans[0] > 0.1


def test_too_little_to_tell_from_is_no_film():
    planes = np.full((3, 20, 20), 0.5, np.float32)
    solid = np.zeros((20, 20), bool)
    solid[5:9, 5:9] = True
    axes = hue_axes(230.0, "bt709")
    behind = making.flat(GREEN, 20, 20)
    assert measure_film(planes, behind, solid, solid, axes, "bt709") is NO_FILM


def test_share_between_the_distances_is_interpolated():
    film = replace(
        NO_FILM, distances=np.array([0.0, 0.1]), shares=np.array([0.2, 0.0]), leans=np.zeros(2)
    )
    distance = np.array([[-1.0, 0.0, 0.05, 0.1, 3.0]], np.float32)
    found = film.share_at(distance, np.zeros_like(distance))
    assert found[0] == pytest.approx([0.2, 0.2, 0.1, 0.0, 0.0], abs=1e-3)


def test_a_subject_of_a_single_colour_without_grain_has_a_film_too():
    solid = np.zeros((HEIGHT, WIDTH), np.bool_)
    solid[60:, 100:260] = True
    axes = hue_axes(hue_of(GREEN, "bt709"), "bt709")
    behind = making.flat(GREEN, HEIGHT, WIDTH)
    plain = making.flat((0.5, 0.5, 0.5), HEIGHT, WIDTH)
    film = measure_film(plain, behind, solid, solid, axes, "bt709")
    assert film.shares.max() < 0.02
    assert np.isfinite(film.leans).all()


def grey_square(tint):
    """A grey square with a share of green added along its rim: what may be taken off it there."""
    solid = np.zeros((200, 200), bool)
    solid[20:180, 20:180] = True
    rim = solid & (edge_distance(solid) < 0.05)
    backing = making.flat(GREEN, 200, 200)
    planes = np.full((3, 200, 200), 0.8, np.float32) + np.float32(tint) * rim * backing
    film = Film(np.array([0.0, 0.05, 0.06, 1.0]), np.array([0.2, 0.2, 0, 0]), np.zeros(4), 0.0, 0.0)
    axes = hue_axes(hue_of(GREEN, "bt709"), "bt709")
    most = most_shares(film, planes, planes, backing, solid, axes)
    middle_of_rim = solid & (abs(edge_distance(solid) - 0.025) < 0.005)
    return most[middle_of_rim], float(axes.along @ np.array(GREEN)), (film, planes, backing, axes)


@pytest.mark.parametrize("tint", [0.0, 0.1])
def test_no_more_than_its_tint_is_taken_off_a_grey_rim(tint):
    """Else it would turn to the colour opposite to the backing's."""
    most, full, _ = grey_square(tint)
    assert most == pytest.approx(tint + LEEWAY / full, abs=0.01)


def test_nothing_is_known_of_a_subject_without_depth():
    _, _, (film, planes, backing, axes) = grey_square(0.1)
    nowhere = np.zeros((200, 200), bool)
    assert (most_shares(film, planes, planes, backing, nowhere, axes) == MOST).all()
