"""Contact sheets: every result small, with its name, to proof-read at a glance."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, as_completed, wait
from pathlib import Path

import cv2
import numpy as np

from keyer.batch.job import Job
from keyer.batch.manifest import Entry
from keyer.batch.preflight import Task
from keyer.batch.small import SmallFiles, SmallPixels, over_check
from keyer.batch.stored import HOLD, MOVING
from keyer.errors import InputFileError, KeyerError, OutputError
from keyer.measure.title_rules import NO_RULES, TitleRules
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
from keyer.render.zones import with_zones

MOST = 24
"""Pictures of one sheet."""

_LARGEST = 1440
"""Columns of a picture that is kept for a sheet, and rows; half of it where there are many."""

_FEW = 6

_AHEAD = 2
"""Sheets that wait to be drawn, for each thread."""

_KEYWORD, _NOTE = "Comment", "Contact sheet of a batch, by keyer"
"""What a sheet that is a PNG says of itself (PNG 3rd edition, 11.3.3.2)."""


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


class ContactSheets:
    """Draws the results of a batch, a sheet as soon as all of its rows are done.

    Rows stand where the table has them: one that could not be rendered after all is left out.

    Parameters
    ----------
    output : Path
        As in `contact_names`; all have been named to `files`.
    tasks : sequence of Task
        All rows that are to be on the sheets, in order.
    folder : Path
        Where the results lie.
    job : Job
    files : Files
        Of the batch.
    threads : int
    zones : TitleRules
        Drawn into every picture.
    """

    def __init__(
        self,
        output: Path,
        tasks: Sequence[Task],
        folder: Path,
        job: Job,
        files: Files,
        threads: int = 1,
        zones: TitleRules = NO_RULES,
    ) -> None:
        self._names = contact_names(output, len(tasks))
        self._where = {task.row.number: n // MOST for n, task in enumerate(tasks)}
        self._left = [len(tasks[n * MOST : (n + 1) * MOST]) for n in range(len(self._names))]
        self._entries: list[list[Entry]] = [[] for _ in self._names]
        self._folder, self._files, self._threads = folder, files, threads
        self._largest = largest_for(len(tasks))
        self._zones = zones
        self._form = job.stored.form
        self._known = SmallFiles(
            job.stored.coding(),
            float(job.pixel_aspect),
            self._largest,
            premultiplied=job.stored.premultiplied,
        )
        self._pool = ThreadPoolExecutor(threads, thread_name_prefix="keyer-contact")
        self._waiting: set[Future[None]] = set()
        self._drawn = 0

    def add(self, row: int, entry: Entry | None) -> None:
        """Take a row that is done.

        Parameters
        ----------
        row : int
            Its number.
        entry : Entry or None
            None: it could not be rendered.

        Raises
        ------
        OutputError, InputFileError
            If a sheet of other rows could not be drawn.
        """
        sheet = self._where[row]
        self._left[sheet] -= 1
        if entry is not None:
            self._entries[sheet].append(entry)
        if not self._left[sheet]:
            entries = sorted(self._entries[sheet], key=lambda one: one.row or 0)
            self._entries[sheet] = []
            while len(self._waiting) > _AHEAD * self._threads and entries[-1].small is not None:
                self._take(FIRST_COMPLETED)  # small pictures take memory
            self._waiting.add(self._pool.submit(self._draw, sheet, entries))

    def _take(self, when: str) -> None:
        done, self._waiting = wait(self._waiting, return_when=when)
        for one in done:
            one.result()
            self._drawn += 1

    def finish(self, told: Callable[[int, int], None] = lambda _done, _all: None) -> list[Path]:
        """Wait for the sheets that are not drawn yet.

        Parameters
        ----------
        told : callable, optional
            Called with sheets done and sheets in all.

        Returns
        -------
        list of Path
            The sheets.

        Raises
        ------
        OutputError, InputFileError
        """
        self._drawn += sum(one.done() for one in self._waiting)
        waiting, self._waiting = {one for one in self._waiting if not one.done()}, set()
        told(self._drawn, len(self._names))
        for one in as_completed(waiting):
            one.result()
            self._drawn += 1
            told(self._drawn, len(self._names))
        return self._names

    def close(self) -> None:
        """Give up what has not begun."""
        self._pool.shutdown(wait=True, cancel_futures=True)

    def _draw(self, sheet: int, entries: Sequence[Entry]) -> None:
        shown = [self._shown(entry) for entry in entries]
        if self._zones is not NO_RULES:
            shown = [with_zones(pixels, self._zones) for pixels in shown]
        page = _page(entries, shown, self._folder.name, (sheet + 1, len(self._names)))
        name = self._names[sheet]
        text = {_KEYWORD: _NOTE} if name.suffix.lower() == ".png" else None
        write_still(name, page_picture(page), self._files, text=text)

    def _shown(self, entry: Entry) -> SmallPixels:
        """Show a row's first file: as it was rendered, or as a former run has written it."""
        if entry.small is not None:
            return entry.small
        name, frame = entry.outputs[0][0], entry.frame
        if self._form == "parts":
            name, frame = next(one for one, _ in entry.outputs if HOLD in one), 0
        file = self._folder / name
        try:
            small = self._known.read(file.read_bytes()) if self._form not in MOVING else None
            return _read(file, frame, self._largest) if small is None else small
        except OSError as error:
            msg = f"{file} cannot be read for the contact sheet. Render it again (--resume)."
            raise InputFileError(msg) from error


def largest_for(rows: int) -> int:
    """Columns and rows at most of the small pictures that contact sheets of so many rows need."""
    return _LARGEST if rows <= _FEW else _LARGEST // 2


def _page(
    entries: Sequence[Entry], shown: Sequence[SmallPixels], folder: str, number: tuple[int, int]
) -> Page:
    """Lay results out on one landscape sheet of A3."""
    aspect = shown[0].shape[1] / shown[0].shape[0] if shown else 1.0
    cells = [
        Cell(entry.row or 0, _padded(pixels, aspect), (Caption(entry.name, strong=True),))
        for entry, pixels in zip(entries, shown, strict=True)
    ]
    where = "Contact sheet {} of {}".format(*number) if number[1] > 1 else "Contact sheet"
    foot = f"Numbers are rows of the table.  ·  {program()}"
    heading = Heading(where, folder, (), foot)
    size = paper_size("A3")
    if not cells:
        page = Page(*size)
        draw_heading(page, heading)
        return page
    (page,) = lay_board(cells, heading, size, aspect, smallest=0.0)
    return page


def _read(file: Path, frame: int, largest: int) -> SmallPixels:
    """Read a result small; a see-through one over a checkerboard.

    A still shows the same picture at every frame; of a clip the frame is taken that the
    checks looked at.
    """
    source = open_source(file)
    try:
        picture, pixel_aspect = source.read(frame), float(source.props.pixel_aspect)
    finally:
        source.close()
    width, height = picture.width * pixel_aspect, picture.height
    scale = min(largest / max(width, height), 1.0)
    size = (max(1, round(width * scale)), max(1, round(height * scale)))
    planes = load(picture)
    clear = picture.alpha is not None
    if clear:
        alpha = load_alpha(picture)
        planes = np.concatenate([planes * alpha, alpha[np.newaxis]])
    whole = np.ascontiguousarray(planes.transpose(1, 2, 0))
    small = np.asarray(cv2.resize(whole, size, interpolation=cv2.INTER_AREA), np.float32)
    if clear:
        return over_check(small)
    return (small.clip(0, 1) * 255 + 0.5).astype(np.uint8)


def _padded(pixels: SmallPixels, aspect: float) -> SmallPixels:
    """Set a picture of another shape in the middle of a white one of the sheet's shape."""
    own = pixels.shape[1] / pixels.shape[0]
    if math.isclose(own, aspect, rel_tol=0.01):
        return pixels
    height, width = pixels.shape[:2]
    down = round(max(own / aspect - 1, 0) * height / 2)
    across = round(max(aspect / own - 1, 0) * width / 2)
    return np.pad(pixels, ((down, down), (across, across), (0, 0)), constant_values=255)
