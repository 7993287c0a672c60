import numpy as np
import pytest
from render.frames import (
    Base,
    Fade,
    Frame,
    Keyed,
    Laid,
    Matted,
    Mix,
    Reveal,
    Wipe,
    compose,
    compose_matte,
)
from support import TWIN, planes

from keyer.kinds.picture import RgbPicture
from keyer.kinds.settings import Edge, KeySettings
from keyer.pixel.colour.luma_chroma import hue_of
from keyer.pixel.colour.transfer import decode_signal, encode_light

ROWS, COLUMNS = 90, 128
GREEN = (0.1, 0.7, 0.15)


def _picture(seed, depth=np.float32):
    values = planes(seed, ROWS, COLUMNS)
    if depth is np.float32:
        return RgbPicture(values)
    return RgbPicture((values * np.iinfo(depth).max + 0.5).astype(depth))


def _plate(seed=3):
    values = planes(seed, ROWS, COLUMNS)
    values[:, :, :64] = np.array(GREEN, np.float32)[:, None, None]
    return RgbPicture(values)


def _key(**changes):
    values = {
        "hue_deg": hue_of(GREEN, "bt709"),
        "acceptance_deg": 110.0,
        "clip_percent": 4.0,
        "gain": 1.1,
        "spill_percent": 80.0,
        "backing": GREEN,
    }
    return KeySettings(**(values | changes))


def _wipe(**edge):
    return Wipe("ellipseWipe/circle", Edge(**edge))


def _busy_frame(light="video"):
    return Frame(
        Base(_picture(1), _picture(2), _wipe(soft=4, border=3), 0.4),
        (Keyed(_plate(), _key(), 0.7), Laid(_picture(5), 0.3, Reveal(_wipe(soft=2), 0.5))),
        light,
    )


@pytest.mark.parametrize("light", ["video", "linear"])
def test_threads_and_bands_do_not_matter(light):
    frame = _busy_frame(light)
    whole = compose(frame, np.uint16, threads=1, rows=ROWS).planes
    for threads, rows in ((2, 7), (2, 64), (3, 1), (1, 31)):
        other = compose(frame, np.uint16, threads=threads, rows=rows).planes
        np.testing.assert_array_equal(other, whole)


@pytest.mark.parametrize("effect", [Mix(), Mix("non-additive"), Fade(), _wipe(soft=9, border=5)])
@pytest.mark.parametrize("depth", [np.uint8, np.uint16])
def test_ends_are_the_sources_bit_for_bit(effect, depth):
    a, b = _picture(1, depth), _picture(2, depth)
    start = compose(Frame(Base(a, b, effect, 0.0)), depth).planes
    end = compose(Frame(Base(a, b, effect, 1.0)), depth).planes
    np.testing.assert_array_equal(start, a.planes)
    np.testing.assert_array_equal(end, b.planes)


def test_mix_in_linear_light_mixes_light():
    a, b = _picture(1), _picture(2)
    expected = encode_light(0.7 * decode_signal(a.planes) + 0.3 * decode_signal(b.planes))
    result = compose(Frame(Base(a, b, Mix(), 0.3), light="linear"), np.float32).planes
    np.testing.assert_allclose(result, expected, atol=1e-5)


def test_fade_passes_through_its_colour_at_the_middle():
    colour = (0.2, 0.4, 0.6)
    a, b = _picture(1), _picture(2)
    middle = compose(Frame(Base(a, b, Fade(colour), 0.5)), np.float32).planes
    np.testing.assert_allclose(middle, np.array(colour)[:, None, None] * np.ones_like(a.planes))
    quarter = compose(Frame(Base(a, b, Fade(colour), 0.25)), np.float32).planes
    expected = 0.5 * a.planes + 0.5 * np.array(colour)[:, None, None]
    np.testing.assert_allclose(quarter, expected, atol=TWIN)
    late = compose(Frame(Base(a, b, Fade(colour), 0.75)), np.float32).planes
    expected = 0.5 * b.planes + 0.5 * np.array(colour)[:, None, None]
    np.testing.assert_allclose(late, expected, atol=TWIN)


def test_a_keyed_plate_shows_the_background_where_its_backing_was():
    result = compose(Frame(Base(_picture(1)), (Keyed(_plate(), _key()),)), np.float32).planes
    np.testing.assert_array_equal(result[:, :, :64], _picture(1).planes[:, :, :64])


def test_matted_overlay_is_the_keyed_one():
    keyed = Keyed(_plate(), _key())
    fill, matte = compose_matte(keyed)
    base = Base(_picture(1))
    direct = compose(Frame(base, (keyed,)), np.float32).planes
    by_hand = compose(Frame(base, (Matted(fill, matte),)), np.float32).planes
    np.testing.assert_array_equal(direct, by_hand)
    np.testing.assert_allclose(direct, fill + (1 - matte) * base.first.planes, atol=TWIN)


def test_opacity_is_a_share_of_the_overlay():
    base = Base(_picture(1))
    whole = compose(Frame(base, (Keyed(_plate(), _key()),)), np.float32).planes
    half = compose(Frame(base, (Keyed(_plate(), _key(), 0.5),)), np.float32).planes
    np.testing.assert_allclose(half, 0.5 * whole + 0.5 * base.first.planes, atol=TWIN)


@pytest.mark.parametrize("light", ["video", "linear"])
def test_laid_picture_covers_by_its_alpha(light):
    alpha = np.random.default_rng(6).random((ROWS, COLUMNS), dtype=np.float32)
    over, under = RgbPicture(planes(5, ROWS, COLUMNS), alpha), _picture(1)
    result = compose(Frame(Base(under), (Laid(over),), light), np.float32).planes
    if light == "video":
        expected = alpha * over.planes + (1 - alpha) * under.planes
    else:
        there, here = decode_signal(over.planes), decode_signal(under.planes)
        expected = encode_light(alpha * there + (1 - alpha) * here)
    np.testing.assert_allclose(result, expected, atol=1e-4)


@pytest.mark.parametrize("top", [0, 13, ROWS - 40])
def test_a_picture_as_wide_as_the_frame_lies_where_it_belongs_in_bands_of_any_height(top):
    alpha = np.random.default_rng(6).random((40, COLUMNS), dtype=np.float32)
    over, under = RgbPicture(planes(5, 40, COLUMNS), alpha), _picture(1)
    expected, here = under.planes.copy(), slice(top, top + 40)
    expected[:, here] = alpha * over.planes + (1 - alpha) * under.planes[:, here]
    frame = Frame(Base(under), (Laid(over, top=top),))
    for rows in (1, 7, 16, ROWS):
        result = compose(frame, np.float32, rows=rows).planes
        np.testing.assert_allclose(result, expected, atol=TWIN)


def test_a_reveal_begins_with_nothing_and_ends_with_all():
    base, wipe = Base(_picture(1)), _wipe(soft=6, border=3)
    keyed = Keyed(_plate(), _key())
    begun = compose(Frame(base, (Keyed(_plate(), _key(), 1.0, Reveal(wipe, 0.0)),))).planes
    done = compose(Frame(base, (Keyed(_plate(), _key(), 1.0, Reveal(wipe, 1.0)),))).planes
    np.testing.assert_array_equal(begun, compose(Frame(base)).planes)
    np.testing.assert_array_equal(done, compose(Frame(base, (keyed,))).planes)


def test_two_overlays_lie_in_order():
    red, blue = (RgbPicture(np.zeros((3, 8, 8), np.float32)) for _ in range(2))
    red.planes[0], blue.planes[2] = 1.0, 1.0
    result = compose(Frame(Base(_black()), (Laid(red), Laid(blue, 0.25))), np.float32).planes
    np.testing.assert_allclose(result[:, 0, 0], [0.75, 0.0, 0.25], atol=TWIN)


def _black():
    return RgbPicture(np.zeros((3, 8, 8), np.float32))
