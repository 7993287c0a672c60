"""Planes that stay from frame to frame: what is painted anew, and that nothing else had to be."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pixel.keys.test_clear import plate
from render.test_graph import COLUMNS, ROWS, graphs
from support import planes

from keyer.kinds.picture import RgbPicture
from keyer.kinds.settings import KeySettings
from keyer.render.between import Opacity
from keyer.render.effect import Effect, in_light
from keyer.render.evaluate import Evaluator, Outdated
from keyer.render.graph import Box, Layer
from keyer.render.keying import Key
from keyer.render.leaves import Lettering
from keyer.render.leaves import given as in_memory
from keyer.render.sinks.pictures import picture
from keyer.render.sinks.standing import Standing
from keyer.titles.ink import Canvas
from keyer.titles.layers import Drawn

GREEN = KeySettings(225.0, 110.0, 4.0, 1.1, 80.0, (0.1, 0.7, 0.15))


def _standing(width, height, edges):
    pixels = np.full((3, height, width), np.nan, np.float32)
    return pixels, Standing(pixels, Evaluator(), edges)


def _painted(standing, node):
    told = []
    boxes = standing.paint(node, told.append, threads=2)
    assert sorted(told) == sorted(boxes)
    return boxes


def _area(boxes):
    return sum(box.width * box.rows for box in boxes)


layers = st.lists(st.builds(Layer, graphs(2), st.sampled_from("abc")), max_size=3).map(tuple)


@settings(max_examples=settings.default.max_examples // 3)  # each takes as long as nine others
@given(graphs(2), layers, layers, st.sampled_from(["video", "linear"]), st.integers(0, 2))
def test_a_picture_over_another_is_that_picture(base, first, second, light, common):
    """Whatever came before it, and however many layers both have."""
    base = in_light(base, light)
    second = (*first[:common], *second)
    pixels, standing = _standing(COLUMNS, ROWS, [0, 16, 33, ROWS])
    for layers in (first, second, first):
        node = Effect(base, layers, light)
        _painted(standing, node)
        assert standing.holds(node)
        found = picture(node, Evaluator(), np.float32, fuse=False, rows=ROWS, threads=1)
        np.testing.assert_array_equal(pixels, found.planes)


def _title(seed, left, top, width, height):
    alpha = np.random.default_rng(seed).random((12, 50), np.float32)
    drawn = Drawn(
        RgbPicture(planes(seed, 12, 50), alpha), left, top, Canvas(width, height, 1.0), ()
    )
    return Lettering(("title", seed, left), width, height, lambda: drawn)


def _with_title(width, light="video"):
    base = in_light(in_memory(RgbPicture(planes(1, 96, width))), light)
    title = _title(2, 70, 40, width, 96)
    key = Key(in_memory(plate(3, "420", rows=96, columns=width, noise=20)), GREEN)
    return Effect(base, (Layer(key, "a"), Layer(title, "b")), light)


@pytest.mark.parametrize("light", ["video", "linear"])
@pytest.mark.parametrize("width", [256, 192, 250])
def test_where_a_title_changes_all_else_stays(width, light):
    """Columns 70 to 120 of rows 40 to 52: by hand, one strip and the columns 64 to 128."""
    node = _with_title(width, light)
    pixels, standing = _standing(width, 96, [0, 32, 64, 96])
    assert _area(_painted(standing, node)) == 96 * width
    key, title = node.layers
    for share in (0.3, 0.8):
        node = replace(node, layers=(key, Layer(Opacity(title.node, share), "b")))
        box = Box(64, 32, 128, 64) if width % 64 == 0 else Box(0, 32, width, 64)
        assert _painted(standing, node) == [box]
        found = picture(node, Evaluator(), np.float32, fuse=False)
        np.testing.assert_array_equal(pixels, found.planes)


def test_a_title_that_goes_is_taken_off():
    node = _with_title(256)
    pixels, standing = _standing(256, 96, [0, 32, 64, 96])
    _painted(standing, node)
    node = replace(node, layers=node.layers[:1])
    assert _painted(standing, node) == [Box(64, 32, 128, 64)]
    found = picture(node, Evaluator(), np.float32, fuse=False)
    np.testing.assert_array_equal(pixels, found.planes)


@pytest.mark.parametrize(
    "other",
    [
        lambda node: replace(node, layers=node.layers[::-1]),
        lambda node: replace(node, fade=((0.0, 0.0, 0.0), 0.2)),
        lambda node: replace(node, base=in_memory(RgbPicture(planes(9, 96, 256)))),
        lambda node: node.base,
    ],
    ids=["the order", "a fade", "the base", "no effect"],
)
def test_where_more_than_a_layer_changes_all_is_painted(other):
    node = _with_title(256)
    _, standing = _standing(256, 96, [0, 32, 64, 96])
    _painted(standing, node)
    assert _area(_painted(standing, other(node))) == 96 * 256


def test_what_was_given_up_halfway_is_painted_again():
    node = _with_title(256)
    pixels, standing = _standing(256, 96, [0, 32, 64, 96])

    def fail(_):
        raise Outdated

    with pytest.raises(Outdated):
        standing.paint(node, fail, threads=1)
    assert not standing.holds(node)
    assert _area(_painted(standing, node)) == 96 * 256
    found = picture(node, Evaluator(), np.float32, fuse=False)
    np.testing.assert_array_equal(pixels, found.planes)
