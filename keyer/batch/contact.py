"""Contact sheets: every result small, with its name, to proof-read at a glance."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from concurrent.futures import as_completed
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.batch.manifest import Entry
from keyer.errors import InputFileError, KeyerError, OutputError
from keyer.kinds.picture import RgbPicture
from keyer.kinds.processes import deaf_children, process_pool
from keyer.media.files import Files
from keyer.media.notes import read_notes
from keyer.media.source import open_source
from keyer.media.write import write_still
from keyer.paper.cells import Caption, Cell
from keyer.paper.grid import Heading, draw_heading, lay_board
from keyer.paper.page import Page, paper_size
from keyer.paper.raster import page_picture
from keyer.pixel.colour.load import load, load_alpha
from keyer.render.recipe import program

MOST = 24
"""Pictures of one sheet."""

_LARGEST = 1440
"""Columns of a picture that is kept for a sheet, and rows; half of it where there are many."""

_FEW = 6

_BEHIND, _CHECK = (0.42, 0.52), 24
"""Greys of the checkerboard behind what is see-through, and the side of its squares."""

_KEYWORD, _NOTE = "Comment", "Contact sheet of a batch, by keyer"
"""What a sheet that is a PNG says of itself (PNG 3rd edition, 11.3.3.2)."""

Pixels = NDArray[np.uint8]


def contact_names(output: Path, entries: int) -> list[Path]:
    """Name the sheets for so many results: the first as asked, further ones numbered after it."""
    count = max(1, math.ceil(entries / MOST))
    more = [output.with_name(f"{output.stem}-{n}{output.suffix}") for n in range(2, count + 1)]
    return [output, *more]


def refuse_other_pictures(output: Path) -> None:
    """Refuse to replace what is no contact sheet, where a batch is gone on with.

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
        msg = (
            f"{output} is not a contact sheet of a batch. Name another output, or replace it "
            "(--force)."
        )
        raise OutputError(msg)


def contact_sheets(
    entries: Sequence[Entry],
    folder: Path,
    output: Path,
    files: Files,
    *,
    jobs: int = 1,
    told: Callable[[int, int], None] = lambda _done, _all: None,
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
    jobs : int
        Processes.
    told : callable, optional
        Called with sheets done and sheets in all.

    Returns
    -------
    list of Path
        The sheets written.

    Raises
    ------
    OutputError, InputFileError
    """
    names = contact_names(output, len(entries))
    orders = [
        (name, entries[n * MOST : (n + 1) * MOST], folder, (n + 1, len(names)))
        for n, name in enumerate(names)
    ]
    told(0, len(names))
    if jobs == 1 or len(names) == 1:
        for done, order in enumerate(orders, 1):
            _write(*order, files)
            told(done, len(names))
        return names
    pool = process_pool(min(jobs, len(names)), _begin)
    try:
        with deaf_children():
            waiting = [pool.submit(_write, *order, Files(force=True)) for order in orders]
        for done, one in enumerate(as_completed(waiting), 1):
            one.result()
            told(done, len(names))
    except BrokenProcessPool:
        msg = "a process that drew contact sheets ended by itself. Run the command with --resume."
        raise OutputError(msg) from None
    finally:
        pool.shutdown(wait=True, cancel_futures=True)
    return names


def _begin() -> None:
    """Set up a process: the processes share the cores already."""
    cv2.setNumThreads(1)


def _write(
    name: Path, entries: Sequence[Entry], folder: Path, number: tuple[int, int], files: Files
) -> None:
    text = {_KEYWORD: _NOTE} if name.suffix.lower() == ".png" else None
    write_still(name, page_picture(_page(entries, folder, number)), files, text=text)


def _page(entries: Sequence[Entry], folder: Path, number: tuple[int, int]) -> Page:
    """Lay results out on one landscape sheet of A3."""
    largest = _LARGEST if len(entries) <= _FEW else _LARGEST // 2
    shown = [_shown(folder / entry.outputs[0][0], entry.frame, largest) for entry in entries]
    aspect = shown[0][1] if shown else 1.0
    cells = [
        Cell(entry.row or 0, _padded(pixels, own, aspect), (Caption(entry.name, strong=True),))
        for entry, (pixels, own) in zip(entries, shown, strict=True)
    ]
    where = "Contact sheet {} of {}".format(*number) if number[1] > 1 else "Contact sheet"
    foot = f"Numbers are rows of the table.  ·  {program()}"
    heading = Heading(where, folder.name, (), foot)
    size = paper_size("A3")
    if not cells:
        page = Page(*size)
        draw_heading(page, heading)
        return page
    (page,) = lay_board(cells, heading, size, aspect, smallest=0.0)
    return page


def _shown(file: Path, frame: int, largest: int) -> tuple[Pixels, float]:
    """Read a result with its width over its height; a see-through one over a checkerboard.

    A still shows the same picture at every frame; of a clip the frame is taken that the
    checks looked at.
    """
    try:
        source = open_source(file)
        try:
            picture, pixel_aspect = source.read(frame), float(source.props.pixel_aspect)
        finally:
            source.close()
    except InputFileError as error:
        msg = f"{file} cannot be read for the contact sheet. Render it again (--resume)."
        raise InputFileError(msg) from error
    clear = picture.alpha is not None
    width, height = picture.width * pixel_aspect, picture.height
    scale = min(largest / max(width, height), 1.0)
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    if isinstance(picture, RgbPicture) and picture.planes.dtype == np.uint8 and not clear:
        parts = [cv2.resize(one, size, interpolation=cv2.INTER_AREA) for one in picture.planes]
        return np.stack(parts, axis=-1).astype(np.uint8, copy=False), width / height
    planes = load(picture)
    if clear:
        alpha = load_alpha(picture)
        planes = np.concatenate([planes * alpha, alpha[np.newaxis]])
    whole = np.ascontiguousarray(planes.transpose(1, 2, 0))
    small = np.asarray(cv2.resize(whole, size, interpolation=cv2.INTER_AREA))
    rgb = small[..., :3]
    if clear:
        rows, columns = np.indices(small.shape[:2]) // _CHECK
        check = np.where((rows + columns) % 2, *_BEHIND)[..., np.newaxis]
        rgb = rgb + (1 - small[..., 3:]) * check
    return np.clip(rgb * 255 + 0.5, 0, 255).astype(np.uint8), width / height


def _padded(pixels: Pixels, own: float, aspect: float) -> Pixels:
    """Set a picture of another shape in the middle of a white one of the sheet's shape."""
    if math.isclose(own, aspect, rel_tol=0.01):
        return pixels
    height, width = pixels.shape[:2]
    down = round(max(own / aspect - 1, 0) * height / 2)
    across = round(max(aspect / own - 1, 0) * width / 2)
    return np.pad(pixels, ((down, down), (across, across), (0, 0)), constant_values=255)
