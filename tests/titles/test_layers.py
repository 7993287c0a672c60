"""Layers laid on each other: straight alpha, clean edges, agreement with Pillow's over."""

import numpy as np
import pytest
from PIL import Image

from keyer.kinds.picture import RgbPicture
from keyer.titles.ink import Canvas, Mark
from keyer.titles.layers import Drawn, Layer, bounds, flatten

GENERATOR = np.random.default_rng(3)


def layer(colour, opacity=1.0, left=0, top=0, shape=(6, 8), role="panel"):
    cover = GENERATOR.random(shape, dtype=np.float32)
    return Layer(role, Mark(cover, left, top), colour, opacity)


def test_one_layer_keeps_its_colour_wherever_it_covers():
    one = layer((0.2, 0.5, 0.9), 0.7)
    planes, alpha = flatten([one], (0, 0, 8, 6))
    assert np.allclose(alpha, one.mark.coverage * 0.7, atol=1e-6)
    for plane, value in zip(planes, one.colour, strict=True):
        assert np.allclose(plane, value, atol=1e-5)


def test_clear_pixels_carry_the_colour_of_the_rearmost_layer_near():
    cover = np.zeros((4, 6), np.float32)
    cover[1:3, 2:4] = 0.5
    back = Layer("shadow", Mark(cover, 0, 0), (0.1, 0.2, 0.3), 1.0)
    front = Layer("letters", Mark(cover, 0, 0), (1.0, 1.0, 1.0), 1.0)
    planes, alpha = flatten([back, front], (0, 0, 6, 4))
    assert alpha[0, 0] == 0
    assert planes[:, 0, 0] == pytest.approx([0.1, 0.2, 0.3])


def test_two_layers_agree_with_the_formula():
    back, front = layer((1, 0, 0), 0.6), layer((0, 0, 1), 0.8, left=2, top=1, shape=(3, 4))
    planes, alpha = flatten([back, front], (0, 0, 8, 6))
    ab, af = back.mark.coverage[2, 3] * 0.6, front.mark.coverage[1, 1] * 0.8
    # by hand: ao = af + ab (1 - af), co = (af cf + ab (1 - af) cb) / ao
    expected = af + ab * (1 - af)
    assert alpha[2, 3] == pytest.approx(expected, abs=1e-6)
    assert planes[0, 2, 3] == pytest.approx(ab * (1 - af) / expected, abs=1e-5)
    assert planes[2, 2, 3] == pytest.approx(af / expected, abs=1e-5)


def test_agrees_with_alpha_composite_of_pillow():
    layers = [layer((0.9, 0.2, 0.1), 0.8), layer((1, 1, 1)), layer((0, 0.4, 0.2), 0.5)]
    under = Image.new("RGBA", (8, 6), (0, 0, 0, 0))
    for one in layers:
        over = np.zeros((6, 8, 4), np.uint8)
        over[..., :3] = np.round(np.array(one.colour) * 255)
        over[..., 3] = np.round(one.mark.coverage * one.opacity * 255)
        under = Image.alpha_composite(under, Image.fromarray(over, "RGBA"))
    planes, alpha = flatten(layers, (0, 0, 8, 6))
    theirs = np.asarray(under).astype(float) / 255
    assert np.allclose(alpha, theirs[..., 3], atol=2 / 255)
    assert np.allclose(
        planes * alpha, (theirs[..., :3] * theirs[..., 3:]).transpose(2, 0, 1), atol=3 / 255
    )


def test_layers_reach_over_the_picture_edge_unharmed():
    one = layer((1, 1, 1), left=-3, top=-2)
    assert bounds([one.mark], Canvas(4, 3)) == (0, 0, 4, 3)
    _, alpha = flatten([one], (0, 0, 4, 3))
    assert np.array_equal(alpha, one.mark.coverage[2:5, 3:7])
    assert bounds([], Canvas(4, 3)) == (0, 0, 1, 1)
    assert bounds([Mark(one.mark.coverage, 99, 99)], Canvas(4, 3)) == (0, 0, 1, 1)


def test_full_picture_is_clear_all_round():
    planes, alpha = np.ones((3, 2, 3), np.float32), np.ones((2, 3), np.float32)
    drawn = Drawn(RgbPicture(planes, alpha), 4, 5, Canvas(10, 9), ())
    full = drawn.full()
    assert full.planes.shape == (3, 9, 10)
    assert full.alpha is not None
    assert full.alpha.sum() == 6
    assert full.alpha[5:7, 4:7].all()


def test_a_picture_lies_over_with_its_own_colours():
    own = GENERATOR.random((3, 6, 8), dtype=np.float32)
    back = layer((0.9, 0.2, 0.1), 0.8)
    cover = GENERATOR.random((6, 8), dtype=np.float32)
    front = Layer("picture", Mark(cover, 0, 0), (0.5, 0.5, 0.5), 0.5, planes=own)
    planes, alpha = flatten([back, front], (0, 0, 8, 6))
    # plain numpy: Porter and Duff's over, premultiplied
    ab, af = back.mark.coverage * 0.8, cover * 0.5
    assert np.allclose(alpha, af + ab * (1 - af), atol=1e-6)
    colour = np.array(back.colour, np.float32)[:, None, None]
    assert np.allclose(planes * alpha, own * af + colour * ab * (1 - af), atol=1e-5)
