"""The subject's own colour, once its matte is known."""

from dataclasses import replace

import numpy as np
import pytest
from plates.proof import GREEN
from support import TWIN

from keyer.pixel.colour.luma_chroma import LUMA, hue_axes
from keyer.pixel.keys.between import STEPS
from keyer.pixel.keys.own_colour import Lifting, own_colour, share_table
from keyer.pixel.keys.wedge import wedge_slope

AXES = hue_axes(229.68, "bt709")
SPREAD = 0.02 * np.eye(3)


def of(colour, size=(4, 6)):
    return np.broadcast_to(np.array(colour, np.float32)[:, None, None], (3, *size)).copy()


def lifting(cover, subject=(0.7, 0.45, 0.35), film=0.0, veil=0.0, suppress=0.0):
    def plane(value):
        return np.full((4, 6), value, np.float32)

    return Lifting(of(subject), of(GREEN), plane(cover), plane(film), veil, plane(suppress))


def table():
    return share_table(SPREAD, 0.01)


@pytest.mark.parametrize("cover", [0.1, 0.5, 0.9, 1.0])
def test_a_mixture_gives_its_premultiplied_subject(cover):
    subject = np.array((0.7, 0.45, 0.35))
    mixed = of(cover * subject + (1 - cover) * np.array(GREEN))
    fill = own_colour(mixed, lifting(cover), table(), AXES)
    assert fill[:, 0, 0] == pytest.approx(cover * subject, abs=1e-5)


def test_a_clear_pixel_is_exactly_nothing():
    noisy = of(GREEN) + np.random.default_rng(1).normal(0, 0.1, (3, 4, 6)).astype(np.float32)
    assert not own_colour(noisy, lifting(0.0, suppress=1.0), table(), AXES).any()


@pytest.mark.parametrize(("film", "veil"), [(0.2, 0.0), (0.2, 1.0), (0.1, 0.5)])
def test_a_film_is_taken_off_as_it_was_laid_on(film, veil):
    subject = np.array((0.6, 0.45, 0.4))
    lit = (1 - veil * film) * subject + film * np.array(GREEN)
    fill = own_colour(of(lit), lifting(1.0, lit, film, veil), table(), AXES)
    assert fill[:, 0, 0] == pytest.approx(subject, abs=1e-5)


def test_what_is_left_of_the_key_hue_goes_and_luma_stays():
    tinted = (0.4, 0.6, 0.45)
    fill = own_colour(of(tinted), lifting(1.0, tinted, suppress=1.0), table(), AXES)[:, 0, 0]
    weights = np.array(LUMA["bt709"])
    assert weights @ fill == pytest.approx(weights @ np.array(tinted), abs=1e-5)
    slope = wedge_slope(120.0)
    left = AXES.along @ fill - slope * abs(AXES.across @ fill)
    assert left == pytest.approx(0, abs=1e-5)


def twin(planes, parts, shares):
    """The same in plain numpy, pixel by pixel."""
    out = np.zeros_like(planes)
    slope = wedge_slope(120.0)
    for at in np.ndindex(parts.matte.shape):
        cover, film = float(parts.matte[at]), float(parts.film[at])
        if cover <= 0:
            continue
        colour, backing = planes[(slice(None), *at)], parts.backing[(slice(None), *at)]
        if cover < 1:
            start = cover * parts.subject[(slice(None), *at)]
            share = shares[int(cover * STEPS + 0.5)]
            colour = start + share @ (colour - start - (1 - cover) * backing)
        colour = (colour - cover * film * backing) / (1 - parts.veil * film)
        spill = max(float(AXES.along @ colour - slope * abs(AXES.across @ colour)), 0)
        colour = colour - AXES.unit * spill * parts.suppress[at]
        out[(slice(None), *at)] = np.clip(colour, 0, cover if cover < 1 else 16)
    return out


def test_twin():
    rng = np.random.default_rng(3)
    planes, subject, backing = rng.random((3, 3, 9, 14), dtype=np.float32)
    matte = rng.choice(np.array([0, 0.2, 0.6, 1], np.float32), (9, 14))
    film, suppress = 0.4 * rng.random((2, 9, 14), dtype=np.float32)
    parts = Lifting(subject, backing, matte, film, 0.6, suppress)
    shares = table()
    assert np.abs(own_colour(planes, parts, shares, AXES) - twin(planes, parts, shares)).max() < (
        2 * TWIN
    )


def test_white_may_be_whiter_than_white_only_where_solid():
    bright = of((1.3, 1.2, 1.2))
    assert own_colour(bright, lifting(1.0), table(), AXES).max() > 1.2
    half = replace(lifting(0.5), subject=bright)
    assert own_colour(bright, half, table(), AXES).max() <= 0.5
