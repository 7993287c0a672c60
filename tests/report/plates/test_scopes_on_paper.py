"""Waveform, vectorscope and hues on paper, against published places of the bars."""

import math

import numpy as np
import pytest
from support import reference, solid

from keyer.paper.grid import Area
from keyer.paper.page import DOTS_PER_MM, Block, Page, Photo, Stroke, Words
from keyer.paper.raster import page_picture
from keyer.pixel.colour.load import load, to_array
from keyer.pixel.compose.generate import bars
from keyer.report.plates.scopes import Wedge, draw_hues, draw_vectorscope, draw_waveform

SQUARE = Area(10, 10, 120, 120)
GREEN = Wedge(230.0, 120.0, 0.03)


def drawn(page):
    return to_array(page_picture(page)).astype(int)


def place(cb, cr):
    """Place on `SQUARE`: Cb and Cr run to 0.6 at its sides."""
    return 10 + 60 * (1 + cb / 0.6), 10 + 60 * (1 - cr / 0.6)


def published(matrix):
    """Cb and Cr of the 75 percent bars: 0.75 of the vectors' amplitudes, at their angles."""
    found = {}
    for vector in reference("video_levels")["vector"]:
        angle = math.radians(vector[f"cbcr_{matrix}_deg"])
        reach = 0.75 * vector[f"cbcr_{matrix}_amplitude_100"]
        found[vector["colour"]] = (reach * math.cos(angle), reach * math.sin(angle))
    return found


def strokes(page):
    return [item for item in page.items if isinstance(item, Stroke)]


@pytest.mark.parametrize("matrix", ["bt601", "bt709"])
def test_targets_stand_where_the_bars_are_published(matrix):
    page = Page(160, 140)
    draw_vectorscope(page, load(bars(160, 90, 75)), matrix, SQUARE)
    middles = [np.mean(one.points[:4], axis=0) for one in strokes(page) if len(one.points) == 5]
    known = published(matrix)
    assert len(known) == len(middles) == 6
    for name, (cb, cr) in known.items():
        assert min(math.dist(place(cb, cr), middle) for middle in middles) < 0.05, name


def test_the_trace_of_bars_lies_in_the_targets():
    page = Page(160, 140)
    draw_vectorscope(page, load(bars(160, 90, 75)), "bt709", SQUARE)
    page.items[:] = [item for item in page.items if isinstance(item, Photo)]
    pixels = drawn(page)
    cb, cr = published("bt709")["green"]
    x, y = (round(side * DOTS_PER_MM) for side in place(cb, cr))
    assert pixels[y - 3 : y + 4, x - 3 : x + 4].sum(2).min() < 600  # ink
    x, y = (round(side * DOTS_PER_MM) for side in place(-cb, cr))
    assert pixels[y - 3 : y + 4, x - 3 : x + 4].min() == 255  # paper


def test_the_wedge_is_where_the_key_takes():
    page = Page(160, 140)
    draw_vectorscope(page, solid((0.5, 0.5, 0.5)), "bt709", SQUARE, [GREEN])
    photo = next(item for item in page.items if isinstance(item, Photo))
    size = photo.pixels.shape[0]

    def tinted(chroma, hue):
        cb, cr = chroma * math.cos(math.radians(hue)), chroma * math.sin(math.radians(hue))
        row, column = (1 - cr / 0.6) / 2 * size, (1 + cb / 0.6) / 2 * size
        return photo.pixels[int(row), int(column)].min() < 250

    # inside: X - |Z| / tan 60 above 0.03, so 59 degrees away only far out
    assert tinted(0.3, 230)
    assert tinted(0.05, 230)
    assert not tinted(0.02, 230)
    assert tinted(0.45, 230 + 50)
    assert not tinted(0.1, 230 + 50)  # 0.1 (cos 50 - sin 50 / tan 60) = 0.020
    assert not tinted(0.45, 230 + 62)
    edges = [one for one in strokes(page) if len(one.points) == 2][:-2]  # the axes lie over them
    assert len(edges) == 3
    tip = place(0.03 * math.cos(math.radians(230)), 0.03 * math.sin(math.radians(230)))
    assert all(math.dist(one.points[0], tip) < 1e-6 for one in edges)


def test_a_waveform_has_its_level_at_its_height():
    page = Page(160, 140)
    area = Area(10, 10, 130, 60)
    draw_waveform(page, solid((0.5, 0.5, 0.5), 20, 40), "bt709", area)
    photo = next(item for item in page.items if isinstance(item, Photo))
    dark = photo.pixels.min(axis=(1, 2)).argmin() / photo.pixels.shape[0]
    assert 110 - 120 * dark == pytest.approx(50, abs=1)  # percent: 110 at the top, -10 at the foot
    rules = [item for item in page.items if isinstance(item, Block)]
    half = 10 + 60 * 60 / 120
    assert any(abs(rule.y + rule.height / 2 - half) < 0.01 for rule in rules)


def test_bars_of_hues_have_their_heights_and_a_wedge_goes_round():
    page = Page(160, 140)
    shares = [0.0] * 36
    shares[10], shares[20] = 40.0, 10.0
    wedge = Wedge(350.0, 60.0, 0.03)
    draw_hues(page, shares, "bt709", Area(10, 10, 129, 65), [wedge])
    columns = [item for item in page.items if isinstance(item, Block) and 2.9 < item.width < 3.1]
    heights = [round(item.height, 3) for item in columns]
    assert heights[10] == 4 * heights[20] == 60.0  # 40 of 40 percent fill 60 mm
    spans = [(b.x, b.width) for b in page.items if isinstance(b, Block) and b.height == 60]
    covered = sum(width for _, width in spans if width > 5)
    assert covered == pytest.approx(122 * 60 / 360)
    words = {item.line.text for item in page.items if isinstance(item, Words)}
    assert {"green 230°", "40", "20", "0"} <= words
