"""Contact sheets: every result small, with its name, to proof-read at a glance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.batch.manifest import Entry
from keyer.errors import InputFileError, KeyerError, OutputError
from keyer.kinds.picture import RgbPicture
from keyer.media.files import Files
from keyer.media.notes import read_notes
from keyer.media.source import open_source
from keyer.media.write import write_still
from keyer.pixel.colour.load import load, load_alpha
from keyer.titles.ink import Canvas, Placed, draw_ink
from keyer.titles.lines import lay_line
from keyer.titles.model import TextStyle

COLUMNS, ROWS = 4, 6
_CELL = (600, 338)
_MARGIN, _GAP, _LABEL = 60, 24, 44
_PAPER, _INK, _BEHIND = 0.96, 0.12, (0.42, 0.52)
_CHECK = 24
_KEYWORD, _NOTE = "Comment", "Contact sheet of a batch, by keyer"
"""What a sheet that is a PNG says of itself (PNG 3rd edition, 11.3.3.2)."""
_STYLE = TextStyle(size=1.0)
_PAGE_WIDTH = 2 * _MARGIN + COLUMNS * _CELL[0] + (COLUMNS - 1) * _GAP
_PAGE_HEIGHT = 2 * _MARGIN + ROWS * (_CELL[1] + _LABEL) + (ROWS - 1) * _GAP

Page = NDArray[np.float32]


def contact_names(output: Path, entries: int) -> list[Path]:
    """Name the sheets for so many results: the first as asked, further ones numbered after it."""
    count = max(1, math.ceil(entries / (COLUMNS * ROWS)))
    more = [output.with_name(f"{output.stem}-{n}{output.suffix}") for n in range(2, count + 1)]
    return [output, *more]


def refuse_other_pictures(output: Path) -> None:
    """Refuse to replace what is no contact sheet, where a batch is gone on with.

    Parameters
    ----------
    output : Path

    Raises
    ------
    OutputError
    """
    if not output.is_file():
        return
    try:
        ours = read_notes(output).get(_KEYWORD) == _NOTE
    except KeyerError:
        ours = False
    if not ours:
        msg = f"{output} is no contact sheet of a batch. Name another, or replace it (--force)."
        raise OutputError(msg)


def contact_sheets(
    entries: Sequence[Entry], folder: Path, output: Path, files: Files
) -> list[Path]:
    """Draw all results of a batch.

    Parameters
    ----------
    entries : sequence of Entry
    folder : Path
        Where the results lie.
    output : Path
        As in `contact_names`; all have been named to `files`.
    files : Files
        Of the batch.

    Returns
    -------
    list of Path
        The sheets written.

    Raises
    ------
    OutputError, InputFileError
    """
    each = COLUMNS * ROWS
    names = contact_names(output, len(entries))
    for n, name in enumerate(names):
        page = _page(entries[n * each : (n + 1) * each], folder)
        codes = np.clip(page * 255 + 0.5, 0, 255).astype(np.uint8)
        picture = RgbPicture(np.ascontiguousarray(codes))
        text = {_KEYWORD: _NOTE} if name.suffix.lower() == ".png" else None
        write_still(name, picture, files, text=text)
    return names


def _page(entries: Sequence[Entry], folder: Path) -> Page:
    rows = math.ceil(len(entries) / COLUMNS) or 1
    height = _PAGE_HEIGHT - (ROWS - rows) * (_CELL[1] + _LABEL + _GAP)
    page = np.full((3, height, _PAGE_WIDTH), _PAPER, np.float32)
    for i, entry in enumerate(entries):
        row, column = divmod(i, COLUMNS)
        x = _MARGIN + column * (_CELL[0] + _GAP)
        y = _MARGIN + row * (_CELL[1] + _LABEL + _GAP)
        _put(page, _small(folder / entry.outputs[0][0], entry.frame), x, y)
        _write(page, f"{entry.row}  {entry.name}", x, y + _CELL[1] + 30)
    return page


def _small(file: Path, frame: int) -> Page:
    """Read a result at the size of a cell; a see-through one over a checkerboard.

    A still shows the same picture at every frame; of a clip the frame is taken that the
    checks looked at.
    """
    try:
        source = open_source(file)
        try:
            picture, aspect = source.read(frame), float(source.props.pixel_aspect)
        finally:
            source.close()
    except InputFileError as error:
        msg = f"{file} cannot be read for the contact sheet. Render it again (--resume)."
        raise InputFileError(msg) from error
    planes = load(picture)
    clear = picture.alpha is not None
    if clear:
        alpha = load_alpha(picture)
        planes = np.concatenate([planes * alpha, alpha[np.newaxis]])
    shown = planes.shape[2] * aspect
    scale = min(_CELL[0] / shown, _CELL[1] / planes.shape[1])
    size = (max(1, round(shown * scale)), max(1, round(planes.shape[1] * scale)))
    whole = np.ascontiguousarray(planes.transpose(1, 2, 0))
    small = np.asarray(cv2.resize(whole, size, interpolation=cv2.INTER_AREA))
    rgb = small[..., :3]
    if clear:
        rows, columns = np.indices(small.shape[:2]) // _CHECK
        check = np.where((rows + columns) % 2, *_BEHIND)[..., np.newaxis]
        rgb = rgb + (1 - small[..., 3:]) * check
    return np.ascontiguousarray(rgb.transpose(2, 0, 1), dtype=np.float32)


def _put(page: Page, picture: Page, x: int, y: int) -> None:
    """Set a picture in the middle of its cell."""
    _, height, width = picture.shape
    left, top = x + (_CELL[0] - width) // 2, y + (_CELL[1] - height) // 2
    page[:, top : top + height, left : left + width] = picture


def _write(page: Page, text: str, x: int, baseline: int) -> None:
    """Write a label, cut to the cell's width."""
    canvas = Canvas(page.shape[2], 2400)
    shown = text
    line = lay_line([(shown, _STYLE)], canvas.unit, base=0)
    while line.width > _CELL[0] and len(shown) > 4:
        shown = f"{shown[: min(len(shown) - 2, int(len(shown) * _CELL[0] / line.width))]}…"
        line = lay_line([(shown, _STYLE)], canvas.unit, base=0)
    for ink in draw_ink([Placed(line, float(x), float(baseline))], canvas):
        mark = ink.letters
        rows = slice(mark.top, mark.top + mark.coverage.shape[0])
        columns = slice(mark.left, mark.left + mark.coverage.shape[1])
        under = page[:, rows, columns]
        under += mark.coverage[: under.shape[1], : under.shape[2]] * (_INK - under)
