"""A key on paper: its steps as pictures, its edge close up, every number with its verdict."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.kinds.check_names import NAMES
from keyer.kinds.figures import figures
from keyer.kinds.picture import RgbPicture
from keyer.measure.against_plate import CLEAR, SOLID
from keyer.paper.column import Column
from keyer.paper.grid import Area, Heading, draw_heading
from keyer.paper.page import Page, paper_size
from keyer.paper.panels import Panel, brought_down, draw_panel, draw_scale
from keyer.pixel.colour.false_colour import FROM_NOTHING
from keyer.pixel.colour.load import store, to_array
from keyer.render.finishing import opacity
from keyer.render.key_views import (
    MOST_SPILL,
    signal_view,
    spill_picture,
    straight_subject,
    subject_on_grey,
    subject_with_spill,
)
from keyer.render.one_key import OneKey
from keyer.render.recipe import program
from keyer.report.words import key_words

_COLUMNS = 1200
_ACROSS = 3
_TEXT_WIDTH, _BESIDE, _GAP, _BETWEEN = 74.0, 9.0, 6.0, 4.0
_LABEL, _SCALE, _MOST_SPARE = 9.6, 7.0, 7.0
_CLOSER = 8
"""How many times narrower than the picture a close-up is."""

_TICKS = ((0.0, "0"), (2.5, "2.5"), (5.0, "5"), (7.5, "7.5"), (MOST_SPILL, "10 %"))

SPILL_LEFT = "Spill that is left"

Pixels = NDArray[np.uint8]


def key_page(made: OneKey) -> Page:
    """Draw a key on one landscape sheet of A3."""
    page = Page(*paper_size("A3"))
    area = draw_heading(page, _heading(made))
    panels = _panels(made)
    rows = -(-len(panels) // _ACROSS)
    width = (area.width - _TEXT_WIDTH - _BESIDE - (_ACROSS - 1) * _GAP) / _ACROSS
    height = (area.height - rows * _LABEL - _SCALE - (rows - 1) * _BETWEEN) / rows
    spare = rows * max(height - width / made.aspect, 0.0)
    height = min(height, width / made.aspect)
    between = _BETWEEN + min(spare / (rows - 1), _MOST_SPARE)
    y = area.y
    for number, panel in enumerate(panels):
        column = number % _ACROSS
        box = Area(area.x + column * (width + _GAP), y, width, height)
        end = draw_panel(page, panel, box)
        if panel.label == SPILL_LEFT:
            shown = min(width, height * made.aspect)
            draw_scale(page, FROM_NOTHING, (0.0, MOST_SPILL), _TICKS, (box.x, end + 0.6, shown))
        if column == _ACROSS - 1:
            y += height + _LABEL + between + (_SCALE if number // _ACROSS == 1 else 0.0)
    _words(Column(page, area.x + area.width - _TEXT_WIDTH, area.y - 3, _TEXT_WIDTH), made)
    return page


def _heading(made: OneKey) -> Heading:
    facts = (
        f"over {made.background.name}  ·  {made.picture.width} x {made.picture.height}",
        key_words(made.key, made.choice.used),
    )
    foot = (
        "Matte and key signal: white is subject. Spill: the backing's primary beyond both others,"
        " in percent of white; its 95th percentile needs a look above 2.5 and fails above 10 %."
        f"  ·  {program()}"
    )
    return Heading("Key over a new background", made.foreground.name, facts, foot)


def _panels(made: OneKey) -> list[Panel]:
    settings, matrix = made.choice.settings, made.matrix
    matte = opacity(made.layer)
    straight, _ = straight_subject(made.layer)
    before = subject_with_spill(made.recorded, matte, settings, matrix)
    over = to_array(made.picture)
    if over.dtype == np.uint16:
        over = (over >> 8).astype(np.uint8)
    codes = store(matte, np.uint8)
    spill = made.report["spill"]
    box = edge_window(matte)
    where = _place(box, matte.shape)
    return [
        _panel(made, "As recorded", to_array(RgbPicture(store(made.recorded, np.uint8)))),
        _panel(made, "Key signal", store(signal_view(made.recorded, settings, matrix), np.uint8)),
        _panel(made, "Matte", codes),
        _panel(made, "Subject on neutral grey", to_array(subject_on_grey(made.layer))),
        _panel(
            made,
            "Spill as recorded",
            to_array(spill_picture(before, matte, settings.hue_deg, matrix)),
            _spill_words(spill["before"]),
        ),
        _panel(
            made,
            SPILL_LEFT,
            to_array(spill_picture(straight, matte, settings.hue_deg, matrix)),
            _spill_words(spill["after"]),
        ),
        _panel(made, "Over the new background", over, made.background.name),
        _panel(made, "Matte, close up", codes[box], where),
        _panel(made, "Over the new background, close up", over[box], where),
    ]


def _panel(made: OneKey, label: str, pixels: Pixels, note: str = "") -> Panel:
    planes = pixels if pixels.ndim == 2 else pixels.transpose(2, 0, 1)
    if planes.shape[-1] > _COLUMNS:
        small = brought_down(planes.astype(np.float32), _COLUMNS)
        planes = np.clip(small + 0.5, 0, 255).astype(np.uint8)
    shown = planes if planes.ndim == 2 else planes.transpose(1, 2, 0)
    return Panel(label, np.ascontiguousarray(shown), note, made.aspect)


def _spill_words(spill: Mapping[str, float]) -> str:
    return (
        f"Subject: mean {spill['mean_percent']:.1f} %, 95th percentile"
        f" {spill['p95_percent']:.1f} %. Rim: mean {spill['rim_mean_percent']:.1f} %, 95th"
        f" percentile {spill['rim_p95_percent']:.1f} %"
    )


def edge_window(matte: NDArray[np.float32]) -> tuple[slice, slice]:
    """Find the part of a picture with most of the matte's edge in it.

    Parameters
    ----------
    matte : (H, W) float32

    Returns
    -------
    rows, columns : slice
        A `_CLOSER`-th of the height and the width.
    """
    rows, columns = (max(side // _CLOSER, 1) for side in matte.shape)
    edge = ((matte > CLEAR) & (matte < SOLID)).astype(np.float32)
    count = cv2.boxFilter(edge, -1, (columns, rows), anchor=(0, 0), borderType=cv2.BORDER_CONSTANT)
    inside = count[: matte.shape[0] - rows + 1, : matte.shape[1] - columns + 1]
    top, left = np.unravel_index(int(np.argmax(inside)), inside.shape)
    return slice(int(top), int(top) + rows), slice(int(left), int(left) + columns)


def _place(box: tuple[slice, slice], shape: tuple[int, ...]) -> str:
    across = 100 * (box[1].start + box[1].stop) / 2 / shape[1]
    down = 100 * (box[0].start + box[0].stop) / 2 / shape[0]
    return f"Where the edge is finest: about {across:.0f} % across, {down:.0f} % down"


def _words(column: Column, made: OneKey) -> None:
    report = made.report
    verdicts = {one["measure"]: one["verdict"] for one in report["verdicts"]}
    values = {one["measure"]: one["value"] for one in report["verdicts"]}
    coverage, spill = report["coverage"], report["spill"]
    column.heading("Matte")
    column.row("Clear", f"{coverage['clear_percent']:.1f} % of the picture")
    column.row("Edge", f"{coverage['edge_percent']:.1f} % of the picture")
    column.row("Solid", f"{coverage['solid_percent']:.1f} % of the picture")
    for name in ("holes", "openings", "specks"):
        measure = f"coverage.{name}"
        column.row(name.capitalize(), f"{values[measure]:.3f} %", verdicts[measure])
    column.row("Edge width", f"{coverage['edge_width_px']:.1f} px", verdicts["coverage.edge_width"])
    column.y += 3
    column.heading("Spill, % of white")
    before, after = spill["before"], spill["after"]
    for name, key, verdict in (
        ("Subject, mean", "mean", None),
        ("Subject, 95th perc.", "p95", "spill.after_p95"),
        ("Rim, mean", "rim_mean", None),
        ("Rim, 95th perc.", "rim_p95", "spill.rim_p95"),
    ):
        words = f"{before[f'{key}_percent']:.2f} recorded, {after[f'{key}_percent']:.2f} left"
        column.row(name, words, None if verdict is None else verdicts[verdict])
    column.y += 3
    column.heading("Backing")
    backing = report["backing"]
    column.row("Hue", f"{backing['hue_deg']:.1f}°")
    column.row("Chroma", f"{backing['chroma_percent']:.0f} %", verdicts["backing.chroma"])
    column.row("Evenness", f"{backing['evenness_stops']:.2f} stops", verdicts["backing.evenness"])
    column.row("Noise", f"{backing['noise_percent']:.1f} %", verdicts["backing.noise"])
    column.y += 3
    _advice(column, [one for one in report["verdicts"] if one["verdict"] != "holds"])
    column.heading("In words")
    for sentence in report["reasons"]:
        column.text(sentence)


def _advice(column: Column, bad: list[Mapping[str, Any]]) -> None:
    if not bad:
        return
    column.heading("What to do")
    for one in bad:
        name = NAMES.get(one["measure"], one["measure"])
        value = f"{figures(one['measure'], one['value'])} {one['unit']}"
        column.verdict(name, "", one["verdict"], f"{value}. {one['remedy']}")
    column.y += 3
