"""The spot drawn to scale on a board."""

import pytest

from keyer.paper.page import Block, Page
from keyer.report.boards.strip import draw_strip
from keyer.sheet.load import parse_sheet


def test_overlays_share_a_lane_of_the_strip_unless_they_meet():
    text = (
        'version = 1\n[sheet]\nformat = "64x36@25"\nlength = 1000\n[sources.a]\nramp = true\n'
        '[[cues]]\nsource = "a"\n'
    )
    for start, stop in ((0, 100), (300, 400), (350, 500), (900, 1000)):
        text += f'[[overlays]]\nsource = "a"\nin = {start}\nout = {stop}\n'
    page = Page(420, 297)
    draw_strip(page, parse_sheet(text), {1: 0}, (10, 20, 400))
    bars = [item for item in page.items if isinstance(item, Block) and item.height == 0.9]
    assert [round(bar.x) for bar in bars] == [10, 130, 150, 370]
    assert bars[0].y == bars[1].y == bars[3].y != bars[2].y


def test_the_wave_of_the_mix_lies_under_the_strip():
    """By hand: 400 mm of four points; silence is a line, full scale 5 mm, -24 of -48 dB half."""
    text = 'version = 1\n[sheet]\nformat = "64x36@25"\nlength = 100\n[sources.a]\nramp = true\n'
    sheet, page, bare = (
        parse_sheet(f'{text}[[cues]]\nsource = "a"\n'),
        Page(420, 297),
        Page(420, 297),
    )
    tall = draw_strip(page, sheet, {1: 0}, (10, 20, 400), (0.0, 1.0, 0.0631, 0.0))
    assert tall > draw_strip(bare, sheet, {1: 0}, (10, 20, 400)) + 5
    drawn = [item for item in page.items if isinstance(item, Block)]
    wave = [one for one in drawn if one.width == pytest.approx(100) and one.height > 1]
    assert [round(one.x) for one in wave if one.height < 5.2] == [110, 210]
    assert [round(one.height, 1) for one in wave if one.height < 5.2] == [5.0, 2.5]
