"""Titles drawn whole: key and fill, pixel shape, checks, movement, flash."""

from fractions import Fraction

import numpy as np
import pytest
from PIL import Image
from support import reference
from titles.drawing import draw_title

from keyer.errors import SettingError
from keyer.titles.checks import check_title
from keyer.titles.design import Flash
from keyer.titles.flashing import check_flash, flashes_a_second, is_lit
from keyer.titles.ink import Canvas
from keyer.titles.moving import time_title
from keyer.titles.read import parse_design

CANVAS = Canvas(480, 270)
RATE = Fraction(25)
HEAD = """
name = "Trial"
[fields.name]
example = "Hamburg"
[styles.big]
size = 9
weight = "bold"
[styles.big.shadow]
[[boxes]]
id = "words"
place = "bottom left"
padding = [3, 4]
"""
TEXT = '[[boxes.texts]]\ntext = "${name}"\nstyle = "big"\n'
PANEL = '[boxes.panel]\ncolour = "#103040"\nopacity = 0.8\nradius = 1.5\n'
PANELLED = HEAD + PANEL + TEXT


def drawn(text=PANELLED, canvas=CANVAS, **values):
    design = parse_design(text).design
    return draw_title(design, values or design.examples(), canvas)


def noise():
    return np.random.default_rng(4).random((3, 270, 480), dtype=np.float32)


def test_straight_alpha_with_clean_edges():
    """Every pixel's colour lies between the colours of the layers, however thin the pixel."""
    picture = drawn(HEAD + TEXT).picture  # white letters with a black shadow
    assert picture.alpha is not None
    assert picture.planes.min() >= -1e-5
    assert picture.planes.max() <= 1 + 1e-5
    plain = HEAD.replace("[styles.big.shadow]\n", "") + TEXT
    white = drawn(plain).picture
    assert np.allclose(white.planes, 1, atol=1e-5)  # no dark fringe anywhere


def test_key_and_fill_recombine_to_the_picture():
    title, background = drawn().full(), noise()
    over = background * (1 - title.alpha) + title.planes * title.alpha
    fill = np.round(title.planes * title.alpha * 255)
    key = np.round(title.alpha * 255)
    under = np.round(background * 255)
    again = fill + (1 - key / 255) * under
    assert np.abs(again - over * 255).max() <= 1.0 + 0.5  # one code, and the rounding of `over`


def test_alpha_picture_agrees_with_alpha_composite_of_pillow():
    title, background = drawn().full(), np.round(noise() * 255)
    rgba = np.concatenate([title.planes, title.alpha[None]])
    top = Image.fromarray(np.round(rgba * 255).astype(np.uint8).transpose(1, 2, 0), "RGBA")
    bottom = Image.fromarray(background.astype(np.uint8).transpose(1, 2, 0)).convert("RGBA")
    theirs = np.asarray(Image.alpha_composite(bottom, top))[..., :3].transpose(2, 0, 1)
    ours = background * (1 - title.alpha) + 255 * title.planes * title.alpha
    assert np.abs(theirs - ours).max() <= 1.5


def test_texts_that_do_not_fit_are_refused_together():
    two = PANELLED + TEXT
    with pytest.raises(SettingError, match="too wide") as caught:
        drawn(two, name="Hamburg " * 20)
    assert str(caught.value).casefold().count("box 'words'") == 2


def test_same_picture_twice():
    first, second = drawn().picture, drawn().picture
    assert np.array_equal(first.planes, second.planes)
    assert np.array_equal(first.alpha, second.alpha)


def test_colour_from_a_row():
    text = PANELLED.replace('"#103040"', '"${tint}"').replace(
        "[styles.big]", '[fields.tint]\nkind = "colour"\n[styles.big]'
    )
    picture = drawn(text, name="x", tint="#FF0000").picture
    middle = picture.planes[:, picture.height // 2, 4]
    assert middle == pytest.approx([1, 0, 0], abs=0.01)
    with pytest.raises(SettingError, match="tint must be written as"):
        drawn(text, name="x", tint="red")


def test_checks_of_a_title():
    title = drawn()
    black, white = np.zeros((3, 270, 480), np.float32), np.ones((3, 270, 480), np.float32)

    def judged(background, **more):
        found = check_title(title, background, safe="st2046-1", text="Hamburg", **more)
        return {verdict.measure: verdict for verdict in found}

    over_black = judged(black, on_screen=Fraction(4))
    assert {v.verdict for v in over_black.values()} == {"holds"}
    assert list(over_black) == [
        "title.contrast", "title.letter_height", "title.safe_area", "title.reading_time",
    ]  # fmt: skip
    assert judged(white)["title.contrast"].value < over_black["title.contrast"].value
    assert judged(black, on_screen=1)["title.reading_time"].verdict == "fails"
    bare = drawn(HEAD.replace("[styles.big.shadow]\n", "") + TEXT)
    found = check_title(bare, white, safe="st2046-1")
    assert found[0].value == pytest.approx(1.0)
    assert found[0].verdict == "fails"
    assert check_title(title, None, safe="legacy")[1].verdict != "holds"


CRAWL = PANELLED + '[move]\nkind = "crawl"\npixels = 4\n'
ROLL = PANELLED + '[move]\nkind = "roll"\npixels = 3\n'


def timed(text, **more):
    file = parse_design(text)
    return time_title(file, file.design.examples(), CANVAS, RATE, **more)


@pytest.mark.parametrize(("text", "side", "speed"), [(CRAWL, 1, 4), (ROLL, 0, 3)])
def test_everything_passes_in_the_time_computed(text, side, speed):
    title = timed(text)
    inked = np.flatnonzero(title.whole.full().alpha.any(axis=1 - side))
    way = (270, 480)[side] + inked[-1] + 1 - inked[0]
    assert title.frames_needed == -(-way // speed)
    for frame in (0, title.frames_needed, title.frames_needed + 50):
        assert not title.at(frame).picture.alpha.any()
    assert title.at(1).picture.alpha.any()
    assert title.at(title.frames_needed - 1).picture.alpha.any()


@pytest.mark.parametrize(("text", "axis", "speed"), [(CRAWL, 2, 4), (ROLL, 1, 3)])
def test_whole_pixels_a_frame_and_no_shimmer(text, axis, speed):
    title = timed(text)
    first, second = title.at(40).full(), title.at(41).full()
    moved = np.roll(first.planes * first.alpha, -speed, axis=axis)
    inner = [slice(None)] * 3
    inner[axis] = slice(speed, -speed)
    assert np.array_equal(moved[tuple(inner)], (second.planes * second.alpha)[tuple(inner)])


def test_parts_of_a_pixel_move_by_parts():
    title = timed(CRAWL.replace("pixels = 4", "pixels = 2.5\nwhole = false"))

    def centre(frame):
        full = title.at(frame).full()
        return (full.alpha * np.arange(480)).sum() / full.alpha.sum()

    assert centre(101) - centre(100) == pytest.approx(-2.5, abs=0.02)


def test_boxes_that_do_not_move_stay():
    band = '[[boxes]]\nid = "band"\nplace = "bottom"\nwidth = 300\nheight = 12\n'
    band += '[boxes.panel]\ncolour = "#FFFFFF"\n[[boxes]]'
    title = timed(CRAWL.replace("[[boxes]]", band, 1))
    assert title.at(0).picture.alpha.all()  # the band alone
    assert np.array_equal(title.at(0).picture.alpha, title.at(9999).picture.alpha)


FLASH = PANELLED + "[flash]\non = 5\noff = 4\n"


def test_flash_goes_on_and_off():
    title = timed(FLASH)
    lit = [bool(title.at(frame).picture.alpha.any()) for frame in range(18)]
    assert lit == ([True] * 5 + [False] * 4) * 2


def test_flash_of_a_part():
    title = timed(FLASH.replace("off = 4", 'off = 4\nboxes = ["words"]'))
    assert not title.at(6).picture.alpha.any()
    assert is_lit(title.design.flash, 0)


@pytest.mark.parametrize("rate", [Fraction(24), RATE, Fraction(30000, 1001), Fraction(50)])
def test_flash_limit_of_wcag(rate):
    """flash.toml wcag.rate (WCAG 2.3.1); counted over every second of a minute."""
    limit = reference("flash")["wcag"]["rate"]["max_general_flashes_per_second"]
    for period in range(2, 60):
        flash = Flash(on=1, off=period - 1)
        starts = np.arange(0, 60 * float(rate), period)
        second = float(rate) - 1e-9
        counted = max(int(((starts >= t) & (starts < t + second)).sum()) for t in starts[:99])
        assert flashes_a_second(flash, rate) == counted
        if counted > limit:
            with pytest.raises(SettingError, match="--allow-flash"):
                check_flash(flash, rate)
            check_flash(flash, rate, allowed=True)
        else:
            check_flash(flash, rate)


def test_no_rim_of_a_panel_shows_beyond_its_border():
    """A dark circle with a bright border: every pixel of its edge has the border's colour."""
    design = (
        'name = "Ring"\n[styles.s]\n[[boxes]]\nid = "ring"\nplace = "centre"\nwidth = 40\n'
        'height = 40\n[boxes.panel]\nshape = "circle"\ncolour = "#000000"\n'
        'border = { width = 2, colour = "#FFFFFF" }\n'
    )
    picture = draw_title(parse_design(design).design, {}, CANVAS).picture
    edge = (picture.alpha > 0.02) & (picture.alpha < 0.98)
    assert edge.sum() > 100
    assert picture.planes[:, edge].min() > 0.999
    middle = picture.planes[:, picture.height // 2, picture.width // 2]
    assert middle == pytest.approx([0, 0, 0])


@pytest.mark.parametrize("width", [0.2, 0.4, 0.6, 0.8, 1.5])
def test_no_gap_is_left_between_a_panel_and_a_thin_border(width):
    design = (
        'name = "Ring"\n[styles.s]\n[[boxes]]\nid = "ring"\nplace = "centre"\nwidth = 40\n'
        'height = 40\n[boxes.panel]\nshape = "circle"\ncolour = "#000000"\n'
        f'border = {{ width = {width}, colour = "#FFFFFF" }}\n'
    )
    picture = draw_title(parse_design(design).design, {}, CANVAS).picture
    rows, columns = np.indices(picture.alpha.shape)
    away = np.hypot(rows - (picture.height - 1) / 2, columns - (picture.width - 1) / 2)
    assert picture.alpha[away < picture.height / 2 - 1.5].min() > 0.995
