from dataclasses import replace

import numpy as np
import pytest
from coded_plates import plate, settings
from render.frames import (
    Base,
    Fade,
    Frame,
    Keyed,
    Laid,
    Mix,
    Reveal,
    Wipe,
    compose,
    compose_clear,
    compose_matte,
)
from support import planes

from keyer.kinds.picture import RgbPicture
from keyer.kinds.settings import Edge
from keyer.pixel.colour.load import load

ROWS, COLUMNS = 24, 40


def picture(seed, alpha=None):
    cover = None
    if alpha is not None:
        cover = np.full((ROWS, COLUMNS), alpha, np.float32)
    return RgbPicture(planes(seed, ROWS, COLUMNS), cover)


CLEAR = picture(1, 0.0)
OPAQUE = picture(2)


def wipe(**edge):
    return Wipe("barWipe", Edge(**edge))


@pytest.mark.parametrize(("light", "away"), [("video", 1e-5), ("linear", 1e-3)])
def test_a_subject_over_nothing_has_its_own_colour_and_matte(light, away):
    """In light a dark colour goes through the steep end of the curve and back."""
    key = Keyed(plate(3, rows=ROWS, columns=COLUMNS, noise=60), settings())
    fill, matte = compose_matte(key)
    found = compose_clear(Frame(Base(CLEAR), (key,), light))
    np.testing.assert_allclose(found.alpha, matte, atol=1e-6)
    seen = matte > 0.05
    np.testing.assert_allclose(
        found.planes[:, seen], (fill / np.maximum(matte, 1e-6))[:, seen], atol=away
    )
    assert not found.planes[:, matte == 0].any()


def test_an_opaque_base_has_no_opacity_to_keep():
    frame = Frame(Base(OPAQUE), (Laid(picture(3, 0.5)),))
    found = compose_clear(frame)
    assert found.alpha is None
    np.testing.assert_array_equal(found.planes, compose(frame, np.float32).planes)


def test_overlays_add_up():
    """Porter and Duff 1984: 0.5 over 0.4 over nothing covers 1 - 0.5 x 0.6 = 0.7."""
    found = compose_clear(Frame(Base(CLEAR), (Laid(picture(3, 0.4)), Laid(picture(4, 0.5)))))
    np.testing.assert_allclose(found.alpha, 0.7, atol=1e-6)
    below, above = load(picture(3)), load(picture(4))
    np.testing.assert_allclose(found.planes, (0.5 * above + 0.2 * below) / 0.7, atol=1e-5)


@pytest.mark.parametrize(
    ("base", "alpha"),
    [
        (Base(CLEAR, OPAQUE, Mix(), 0.25), 0.25),
        (Base(OPAQUE, CLEAR, Mix(), 0.25), 0.75),
        (Base(picture(1, 0.6), picture(2, 0.2), Mix(), 0.5), 0.4),
        (Base(CLEAR, OPAQUE, Mix("non-additive"), 0.3), 0.3),
        # by hand: a fade is at its colour halfway, which is opaque
        (Base(CLEAR, CLEAR, Fade((1.0, 0.0, 0.0)), 0.5), 1.0),
        (Base(CLEAR, CLEAR, Fade((1.0, 0.0, 0.0)), 0.25), 0.5),
        (Base(CLEAR, OPAQUE, Mix(), 1.0), 1.0),
    ],
)
def test_transitions_of_opacity(base, alpha):
    found = compose_clear(Frame(base)).alpha
    np.testing.assert_allclose(1.0 if found is None else found, alpha, atol=1e-6)


def test_a_border_is_opaque():
    found = compose_clear(Frame(Base(CLEAR, CLEAR, wipe(border=20), 0.5)))
    assert found.alpha[:, COLUMNS // 2].min() > 0.99
    assert found.alpha[:, 0].max() == 0.0


def test_the_border_of_an_overlay_lies_where_the_overlay_does():
    laid = Laid(picture(3, 0.5), reveal=Reveal(wipe(border=20), 0.5))
    found = compose_clear(Frame(Base(CLEAR), (laid,)))
    assert found.alpha.max() == pytest.approx(0.5, abs=1e-6)
    assert found.alpha.min() == 0.0


def test_over_black_it_is_the_frame_that_is_seen():
    laid = (Laid(picture(3, 0.5)), replace(Laid(picture(4, 0.7)), opacity=0.5))
    frame = Frame(Base(picture(1, 0.3)), laid)
    found = compose_clear(frame)
    np.testing.assert_allclose(
        found.planes * found.alpha, compose(frame, np.float32).planes, atol=1e-5
    )
