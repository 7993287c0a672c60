"""What the renderer does with pictures that move, fades in parts, borders and slid overlays."""

import numpy as np
import pytest
from coded_plates import plate
from render.frames import (
    Base,
    Fade,
    Frame,
    Laid,
    Matted,
    Move,
    Reveal,
    Wipe,
    compose,
    compose_clear,
)
from support import TWIN, planes
from wiping import find, weights

from keyer.kinds.field import Geometry
from keyer.kinds.picture import RgbPicture
from keyer.kinds.settings import Edge
from keyer.pixel.colour.load import from_array, load
from keyer.pixel.colour.transfer import decode_signal, encode_light
from keyer.pixel.compose.move import push, slide
from keyer.pixel.compose.over import premultiply
from keyer.pixel.wipes.fields import build

ROWS, COLUMNS = 70, 96
SIDES = ["left", "top", "right", "bottom"]
MOVES = {"push": push, "slide": slide}


def picture(seed, depth=np.float32, alpha=None):
    values = planes(seed, ROWS, COLUMNS)
    if depth is not np.float32:
        values = (values * np.iinfo(depth).max + 0.5).astype(depth)
    cover = None if alpha is None else np.full((ROWS, COLUMNS), alpha, np.float32)
    return RgbPicture(values, cover)


def wipe(name="barWipe/leftToRight", third=None, **edge):
    return Wipe(name, Edge(**edge), border=third)


def weighed(effect, progress):
    """Weights of A and B, by the tests' own arithmetic."""
    field = build(find(effect.pattern), Geometry(COLUMNS, ROWS))
    return weights(field, progress, effect.edge)


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("kind", MOVES)
@pytest.mark.parametrize("depth", [np.uint8, np.uint16])
def test_pictures_move_code_by_code(kind, side, depth):
    """Bands of 9 rows, so that the seam between the pictures runs through some of them."""
    a, b = picture(1, depth), picture(2, depth)
    for at in (0.0, 0.31, 0.5, 1.0):
        frame = Frame(Base(a, b, Move(kind, side), at))
        found = compose(frame, depth, rows=9).planes
        np.testing.assert_array_equal(found, MOVES[kind](a.planes, b.planes, at, side))


@pytest.mark.parametrize("kind", MOVES)
def test_a_part_of_a_moving_frame_is_that_part_of_it(kind):
    frame = Frame(Base(picture(1), picture(2), Move(kind, "top"), 0.4))
    whole = compose(frame, np.float32).planes
    part = compose(frame, np.float32, window=(20, 41)).planes
    np.testing.assert_array_equal(part, whole[:, 20:41])


@pytest.mark.parametrize("sampling", ["420", "422"])
@pytest.mark.parametrize("side", ["top", "bottom"])
def test_pictures_with_fewer_chroma_samples_move_as_the_whole_of_them(side, sampling):
    """Rows that come from odd places have the chroma that they have in the picture."""
    a, b = (plate(seed, sampling, rows=ROWS, columns=COLUMNS, noise=60) for seed in (1, 2))
    for at in (0.1, 0.5, 33 / ROWS):
        frame = Frame(Base(a, b, Move("push", side), at))
        found = compose(frame, np.float32, rows=9).planes
        np.testing.assert_array_equal(found, push(load(a), load(b), at, side))


def test_opacity_moves_with_its_picture():
    base = Base(picture(1, alpha=0.2), picture(2, alpha=0.8), Move("push", "right"), 0.25)
    found = compose_clear(Frame(base))
    np.testing.assert_allclose(found.alpha[:, :72], 0.2, atol=TWIN)
    np.testing.assert_allclose(found.alpha[:, 72:], 0.8, atol=TWIN)
    np.testing.assert_allclose(found.planes[:, :, :72], load(picture(1))[:, :, 24:], atol=1e-5)


@pytest.mark.parametrize("part", ["to", "from"])
def test_a_fade_in_one_part_begins_and_ends_with_the_pictures(part):
    a, b = picture(1, np.uint8), picture(2, np.uint8)
    effect = Fade((1.0, 0.5, 0.0), part)
    for at, source in ((0.0, a), (1.0, b)):
        found = compose(Frame(Base(a, b, effect, at)), np.uint8).planes
        np.testing.assert_array_equal(found, source.planes)


@pytest.mark.parametrize(("part", "of_picture", "seed"), [("to", 0.7, 1), ("from", 0.3, 2)])
def test_a_fade_in_one_part_runs_all_the_time(part, of_picture, seed):
    colour = (1.0, 0.5, 0.0)
    frame = Frame(Base(picture(1), picture(2), Fade(colour, part), 0.3))
    found = compose(frame, np.float32).planes
    plain = np.array(colour)[:, None, None]
    expected = of_picture * picture(seed).planes + (1 - of_picture) * plain
    np.testing.assert_allclose(found, expected, atol=TWIN)


@pytest.mark.parametrize("part", ["through", "to", "from"])
def test_a_fade_mixes_light_with_the_light_of_its_colour(part):
    """Half way through a fade, and at 0.3 of the others; by numpy alone."""
    colour = (0.5, 0.25, 1.0)
    at, of_picture, seed = {"through": (0.25, 0.5, 1), "to": (0.3, 0.7, 1), "from": (0.3, 0.3, 2)}[
        part
    ]
    frame = Frame(Base(picture(1), picture(2), Fade(colour, part), at), light="linear")
    found = compose(frame, np.float32).planes
    plain = decode_signal(np.array(colour))[:, None, None]
    light = of_picture * decode_signal(picture(seed).planes) + (1 - of_picture) * plain
    np.testing.assert_allclose(found, encode_light(light), atol=1e-3)


def test_the_colour_of_a_border_is_a_signal_in_any_light():
    """A border of #804020 is that colour on the screen, whether light is mixed or codes."""
    colour = (128 / 255, 64 / 255, 32 / 255)
    for light in ("video", "linear"):
        effect = wipe(border_colour=colour, border=40)
        found = compose(Frame(Base(picture(1), picture(2), effect, 0.5), light=light)).planes
        assert (found[:, 30, 48] == (128, 64, 32)).all()


def test_a_soft_border_mixes_light_where_light_is_mixed():
    colour = (0.5, 0.5, 0.5)
    a, b = picture(1), picture(2)
    effect = wipe(border=10, soft=20, border_colour=colour)
    of_a, of_b = weighed(effect, 0.5)
    rest = 1 - of_a - of_b
    lights = [decode_signal(part) for part in (a.planes, b.planes, np.full((3, 1, 1), 0.5))]
    expected = encode_light(of_a * lights[0] + of_b * lights[1] + rest * lights[2])
    found = compose(Frame(Base(a, b, effect, 0.5), light="linear"), np.float32).planes
    np.testing.assert_allclose(found, expected, atol=1e-3)


@pytest.mark.parametrize("depth", [np.uint8, np.float32])
@pytest.mark.parametrize("light", ["video", "linear"])
def test_a_third_source_fills_the_border(depth, light):
    a, b, third = (picture(seed, depth) for seed in (1, 2, 3))
    effect = wipe("irisWipe", third, border=12)
    found = compose(Frame(Base(a, b, effect, 0.5), light=light), depth).planes
    of_a, of_b = weighed(effect, 0.5)
    solid = (of_a == 0) & (of_b == 0)
    assert solid.sum() > 200
    atol = 1 if depth == np.uint8 else 1e-3
    np.testing.assert_allclose(
        found[:, solid].astype(float), third.planes[:, solid].astype(float), atol=atol
    )
    outside = of_a == 1
    np.testing.assert_allclose(
        found[:, outside].astype(float), a.planes[:, outside].astype(float), atol=atol
    )


def test_a_third_source_is_as_clear_as_it_is():
    """The border shows a picture that is half clear, between two that are opaque."""
    effect = wipe(third=picture(3, alpha=0.5), border=40)
    clear = picture(1, alpha=1.0)
    found = compose_clear(Frame(Base(clear, clear, effect, 0.5)))
    assert found.alpha[30, 48] == pytest.approx(0.5, abs=1e-6)
    assert found.alpha[30, 2] == 1.0


def test_a_ramped_border_is_opaque_throughout():
    ramp = {"border_colour": (1.0, 0.0, 0.0), "border_ramp": (0.0, 0.0, 0.0)}
    clear = picture(1, alpha=0.0)
    found = compose_clear(Frame(Base(clear, clear, wipe(border=40, **ramp), 0.5)))
    assert found.alpha[:, 40:56].min() > 1 - 1e-6


def subject():
    """A disc-like subject with soft sides, premultiplied."""
    y, x = np.mgrid[:ROWS, :COLUMNS]
    matte = np.clip(2 - np.hypot(x - 40, y - 30) / 15, 0, 1).astype(np.float32)
    fill = planes(7, ROWS, COLUMNS)
    premultiply(fill, matte)
    return fill, matte


def test_the_border_of_an_overlay_may_run_from_colour_to_colour():
    """By hand: a bar half way, its border of 28 columns from B on the left to A on the right."""
    edge = {"border": 40, "border_colour": (1.0, 0.0, 0.0), "border_ramp": (0.0, 0.0, 1.0)}
    whole = Laid(RgbPicture(np.zeros((3, ROWS, COLUMNS), np.float32)))
    laid = Laid(whole.picture, reveal=Reveal(wipe(**edge), 0.5))
    found = compose(Frame(Base(picture(1)), (laid,)), np.float32).planes
    columns = np.arange(36, 60)
    of_b = np.clip(0.5 + (47.5 - columns) / 28, 0, 1)
    np.testing.assert_allclose(found[2, 30, 36:60], of_b, atol=3e-3)
    np.testing.assert_allclose(found[0, 30, 36:60], 1 - of_b, atol=3e-3)


def test_the_border_of_an_overlay_may_show_a_third_source():
    third = picture(3)
    effect = wipe(third=third, border=40)
    laid = Laid(picture(5), reveal=Reveal(effect, 0.5))
    found = compose(Frame(Base(picture(1)), (laid,)), np.float32).planes
    np.testing.assert_allclose(found[:, :, 40:56], third.planes[:, :, 40:56], atol=TWIN)


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("at", [0.0, 0.4, 1.0])
@pytest.mark.parametrize("small", [False, True])
def test_an_overlay_slides_in_from_a_side(side, at, small):
    """As the same overlay moved by hand."""
    fill, matte = subject()
    under = picture(1)
    effect = Reveal(Move("slide", side), at)
    layer = Matted(fill, matte, reveal=effect)
    if small:
        part = np.s_[10:50, 20:60]
        fill, matte = planes(8, ROWS, COLUMNS), np.zeros((ROWS, COLUMNS), np.float32)
        matte[part] = 1.0
        cut = RgbPicture(np.ascontiguousarray(fill[:, *part]))
        layer = Laid(cut, reveal=effect, left=20, top=10)
        fill = fill * matte
    nothing = np.zeros((4, ROWS, COLUMNS), np.float32)
    moved = slide(nothing, np.concatenate([fill, matte[None]]), at, side)
    expected = moved[:3] + (1 - moved[3]) * under.planes
    found = compose(Frame(Base(under), (layer,)), np.float32, rows=9).planes
    np.testing.assert_allclose(found, expected, atol=TWIN)


def test_what_slides_lies_between_what_is_under_and_over_it():
    white = from_array(np.full((ROWS, COLUMNS, 3), 255, np.uint8))
    lowest = Laid(white, 0.5)
    moving = Laid(white, 0.5, Reveal(Move("slide", "left"), 0.5))
    top = Laid(white, 0.5)
    black = RgbPicture(np.zeros((3, ROWS, COLUMNS), np.float32))
    found = compose(Frame(Base(black), (lowest, moving, top)), np.float32).planes
    np.testing.assert_allclose(found[:, :, :48], 1 - 0.5**3, atol=TWIN)
    np.testing.assert_allclose(found[:, :, 48:], 1 - 0.5**2, atol=TWIN)
