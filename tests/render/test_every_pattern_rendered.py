"""Every pattern of the library through the renderer, whatever its effect."""

import re

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from wiping import ACROSS, DOWN, SWAPPED, edges, find, modifiers

from keyer.kinds.field import Modifiers
from keyer.kinds.picture import RgbPicture
from keyer.kinds.settings import Edge
from keyer.library import load_patterns
from keyer.render.effect import Effect, in_light
from keyer.render.evaluate import Evaluator
from keyer.render.leaves import given as in_memory
from keyer.render.patterns import between, misfits
from keyer.render.sinks.pictures import picture as picture_of
from keyer.sheet.effect import Transition

WIDTH, HEIGHT = 64, 36
EVERY = [pattern.name for pattern in load_patterns()]
MOVES = [name for name in EVERY if find(name).effect in {"push", "slide"}]

colours = st.tuples(*[st.floats(0, 1, width=32)] * 3)


def picture(seed, depth=np.uint8, width=WIDTH, height=HEIGHT):
    codes = np.random.default_rng(seed).integers(0, 256, (3, height, width), dtype=np.uint8)
    return RgbPicture(codes if depth == np.uint8 else codes.astype(np.uint16) * 257)


def shown(a, b, name, at, *, border=None, light="video", seconds=0.0, **settings):
    """A moment of a pattern between two pictures, at their own depth."""
    transition = Transition("wipe", 1, pattern=name, **settings)
    first, second, third = (
        None if one is None else in_light(in_memory(one), light) for one in (a, b, border)
    )
    node = between(
        first, second, transition, find(name), at, seconds=seconds, border=third, light=light
    )
    return picture_of(Effect(node, light=light), Evaluator(), a.planes.dtype).planes


@pytest.mark.parametrize("depth", [np.uint8, np.uint16])
@pytest.mark.parametrize("name", EVERY)
def test_the_ends_are_the_pictures_bit_for_bit(name, depth):
    a, b = picture(1, depth), picture(2, depth)
    np.testing.assert_array_equal(shown(a, b, name, 0.0), a.planes)
    np.testing.assert_array_equal(shown(a, b, name, 1.0), b.planes)
    middle = shown(a, b, name, 0.5)
    assert (middle != a.planes).any()
    assert (middle != b.planes).any()


@given(
    st.sampled_from(EVERY),
    modifiers,
    edges,
    st.none() | colours,
    st.booleans(),
    st.sampled_from(["video", "linear"]),
    st.floats(0, 60),
)
def test_the_ends_are_the_pictures_with_any_setting(
    name, change, edge, ramp, third, light, seconds
):
    if find(name).effect != "wipe":
        change, edge, ramp, third = Modifiers(), Edge(), None, False
    edge = Edge(edge.soft, edge.border, edge.border_soft, (1.0, 0.5, 0.0), ramp)
    a, b = picture(1), picture(2)
    how = {
        "modifiers": change,
        "edge": edge,
        "border": picture(3) if third else None,
        "light": light,
        "seconds": seconds,
    }
    np.testing.assert_array_equal(shown(a, b, name, 0.0, **how), a.planes)
    np.testing.assert_array_equal(shown(a, b, name, 1.0, **how), b.planes)


@given(st.sampled_from(EVERY), st.floats(0, 1), modifiers, edges, colours)
def test_whatever_fits_can_be_rendered(name, at, change, edge, colour):
    """What no misfit is told of renders; so a sheet that is checked does not fail later."""
    transition = Transition("wipe", 1, colour=colour, edge=edge, modifiers=change)
    if not list(misfits(transition, find(name), overlay=False)):
        found = shown(picture(1), picture(2), name, at, colour=colour, edge=edge, modifiers=change)
        assert found.shape == (3, HEIGHT, WIDTH)


def pairs(words):
    """Moves that become each other when their directions are exchanged."""
    found = []
    for name in MOVES:
        kind, part = name.split("/")
        side = re.sub(r"from", "", part).casefold()
        if side in words:
            found.append((name, f"{kind}/from{words[side].capitalize()}"))
    return found


@pytest.mark.parametrize(
    ("words", "turn"),
    [
        (ACROSS, lambda planes: planes[:, :, ::-1]),
        (DOWN, lambda planes: planes[:, ::-1]),
        (SWAPPED, lambda planes: planes.transpose(0, 2, 1)),
    ],
    ids=["left and right", "top and bottom", "lying and standing"],
)
def test_moves_keep_the_symmetries_that_their_names_promise(words, turn):
    """The other way round with turned pictures is the turned result."""
    assert len(pairs(words)) == (8 if words is SWAPPED else 4)
    size = {"width": 40, "height": 40} if words is SWAPPED else {}
    a, b = picture(1, **size), picture(2, **size)
    turned = [RgbPicture(np.ascontiguousarray(turn(one.planes))) for one in (a, b)]
    for name, other in pairs(words):
        for at in (0.25, 0.4, 0.75):
            expected = turn(shown(a, b, name, at))
            np.testing.assert_array_equal(shown(*turned, other, at), expected)


@pytest.mark.parametrize("name", MOVES)
def test_moves_show_the_same_at_half_and_double_size(name):
    """Where the seam falls on a whole pixel of both."""
    a, b = picture(1), picture(2)
    large = [RgbPicture(np.repeat(np.repeat(one.planes, 2, 1), 2, 2)) for one in (a, b)]
    for at in (0.25, 0.5, 0.75):
        small = shown(a, b, name, at)
        np.testing.assert_array_equal(shown(*large, name, at)[:, ::2, ::2], small)
