"""A picture made again from what it says about itself, and held against what it was."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyer.documents.reach import Reach
from keyer.errors import InputFileError, KeyerError, SettingError
from keyer.kinds.picture import RgbPicture
from keyer.kinds.plain_file import real_path
from keyer.kinds.ranges import one_of
from keyer.media.decode_still import decode_still
from keyer.media.files import Files
from keyer.media.sequence import is_pattern
from keyer.media.write import write_grey, write_still
from keyer.paper.raster import page_picture
from keyer.pixel.colour.load import plane_at_depth, to_array
from keyer.render.inputs import sheet_inputs
from keyer.render.plan import Plan
from keyer.render.recipe import (
    Recipe,
    file_print,
    read_recipe,
    source_files,
    still_notes,
)
from keyer.render.still import CUT_OUTS, SHOWS, ZONES, frame_picture
from keyer.report.boards.board import Board
from keyer.report.boards.board_files import make_board, page_notes
from keyer.report.boards.choices import Choice
from keyer.report.boards.variations import flat_sheet, varied
from keyer.report.versions.approval import approvals
from keyer.sheet.load import load_sheet, parse_sheet
from keyer.sheet.sheet import Sheet

_UPWARDS = 4
_DEPTH, _MOST = 3, 200
"""Levels of folders, and folders of a level, in which the sheet's own is looked for."""


@dataclass(frozen=True)
class Remade:
    """Result of making a picture again: whether it is the same, and if not, why.

    Attributes
    ----------
    output : Path
    what : str
        Which frame, in words.
    changed : tuple of str
        Files of the sheet that are not what they were.
    differing_percent : float or None
        Of the picture's pixels; 0: it is the same to the last bit. None for
        one picture of a board, which has nothing to be held against.
    largest_difference : int or None
        Codes, of the picture's own depth.
    notices : tuple of str
    """

    output: Path
    what: str
    changed: tuple[str, ...]
    differing_percent: float | None
    largest_difference: int | None
    notices: tuple[str, ...]

    @property
    def same(self) -> bool:
        """Whether nothing is known to differ."""
        return not self.changed and not self.differing_percent


@dataclass(frozen=True, eq=False)
class _Result:
    picture: RgbPicture | NDArray[np.float32]
    notes: dict[str, str]
    what: str
    notices: tuple[str, ...]
    inputs: tuple[Path, ...]


def remake_file(
    picture: Path,
    output: Path,
    *,
    cell: int | None = None,
    folder: Path | None = None,
    force: bool = False,
) -> Remade:
    """Make a picture again from its recipe.

    Parameters
    ----------
    picture : Path
        A PNG that `keyer still` or `keyer board` has written.
    output : Path
    cell : int, optional
        Number of a picture on a board, to be made in full size.
    folder : Path, optional
        In which the sheet's files are, at whatever depth; default: the
        picture's own. Nothing outside is read, whatever the picture says.
    force : bool
        Overwrite the output.

    Raises
    ------
    InputFileError
        If the picture carries no recipe, or files of its sheet are missing.
    SettingError
        If the board has no such picture.
    KeyerError
    """
    files = Files((picture,), force=force)
    files.still(output)
    recipe = read_recipe(picture)
    reach = _find_home(recipe, picture, folder)
    sheet = parse_sheet(recipe.sheet, recipe.name, folder=reach.folder, within=reach.within)
    lying = reach.folder / Path(recipe.name).name
    now = _read_now(lying)
    files.read(lying, *sheet_inputs(sheet), *(sheet_inputs(now) if now else ()))
    result = _render(recipe, sheet, cell)
    files.read(*result.inputs)
    made = result.picture
    differing, largest = (None, None) if cell is not None else _compare(made, picture)
    notices = (
        *_sheet_notices(recipe, sheet, lying, now),
        *result.notices,
        *_approved(recipe, lying),
    )
    changed = tuple(_changed_files(recipe, sheet))
    if isinstance(made, RgbPicture):  # last: whatever is refused leaves nothing behind
        write_still(output, made, files, text=result.notes)
    else:
        write_grey(output, made, files, text=result.notes)
    return Remade(output, result.what, changed, differing, largest, notices)


def _find_home(recipe: Recipe, picture: Path, named: Path | None) -> Reach:
    """Find the folder of the sheet, in the folder that was named or the picture's own.

    What the picture says comes from who knows where: it names no file outside.
    """
    root = picture.parent if named is None else named
    if not root.is_dir():
        msg = f"folder must be the one that holds the sheet's files, found none at {root}."
        raise InputFileError(msg)
    found = next((home for home in _folders(root) if not _missing(recipe, home, root)), None)
    if found is not None:
        return Reach(found, root)
    missing = ", ".join(_missing(recipe, root, root))
    msg = (
        f"{missing} is needed to make the picture again, but is not in {root}. "
        f"Name the folder with all files of its sheet (--folder){_hint(recipe, picture)}."
    )
    raise InputFileError(msg)


def _folders(root: Path) -> Iterator[Path]:
    """Yield a folder and those in it, the nearest first; no links, and not without end."""
    level = [root]
    for _ in range(_DEPTH):
        yield from level
        with suppress(OSError):
            inner = [path for folder in level for path in sorted(folder.iterdir())]
            level = [path for path in inner if path.is_dir() and not path.is_symlink()]
            level = [path for path in level if not path.name.startswith(".")][:_MOST]


def _missing(recipe: Recipe, home: Path, root: Path) -> list[str]:
    """List the files that are not there, or not within reach."""
    reach = Reach(home, root)
    return [
        name for name in recipe.files if not (reach.holds(home / name) and _is_there(home / name))
    ]


def _is_there(path: Path) -> bool:
    with suppress(OSError, ValueError):
        return path.exists() or (is_pattern(path) and path.parent.is_dir())
    return False


def _hint(recipe: Recipe, picture: Path) -> str:
    """Name a folder about the picture, or about the current folder, that has all the files."""
    for start in (real_path(picture).parent, Path.cwd()):
        for place in itertools.islice((start, *start.parents), _UPWARDS + 1):
            if not _missing(recipe, place, place):
                return f"; {place} has them"
    return ""


def _changed_files(recipe: Recipe, sheet: Sheet) -> Iterator[str]:
    for name, path in source_files(sheet).items():
        if recipe.files.get(name) != file_print(path):
            yield name


def _read_now(file: Path) -> Sheet | None:
    """Read the sheet as it lies in its folder by now, if it holds."""
    try:
        return load_sheet(file)
    except KeyerError:
        return None


def _sheet_notices(recipe: Recipe, sheet: Sheet, lying: Path, now: Sheet | None) -> Iterator[str]:
    if sheet.digest != recipe.digest:
        yield f"this program reads the sheet differently from {recipe.made_by}."
    if lying.is_file() and (now is None or now.digest != recipe.digest):
        yield f"{lying} has changed since; the picture is made from the sheet that it keeps itself."


def _approved(recipe: Recipe, lying: Path) -> Iterator[str]:
    for one in approvals(lying):
        if one.digest == recipe.digest:
            yield f"its version was approved on {one.words} ({one.path.name})."


def _render(recipe: Recipe, sheet: Sheet, cell: int | None) -> _Result:
    if not recipe.board:
        if cell is not None:
            msg = f"cell is the number of a picture on a board, got {cell} for a single picture."
            raise SettingError(msg)
        return _still(sheet, recipe.frame, recipe.show)
    try:
        if cell is not None:
            frame, changes = _cell(recipe.board, cell)
            return _still(varied(flat_sheet(sheet), changes), frame, "picture")
        return _page(recipe.board, sheet)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        if isinstance(error, KeyerError):
            raise
        msg = "the board's note of how it was made is damaged. Take the original file."
        raise InputFileError(msg) from None


def _still(sheet: Sheet, frame: int, show: str) -> _Result:
    one_of("show", show, (*SHOWS, *CUT_OUTS, ZONES))
    frame = sheet.frame(frame, "frame")
    with Plan(sheet) as plan:
        picture = frame_picture(plan, frame, show)
        notices = tuple(plan.notices)
    what = f"frame {frame}, {sheet.label(frame)}"
    return _Result(
        picture, still_notes(sheet, frame, show), what, notices, tuple(sheet_inputs(sheet))
    )


def _cell(board: Mapping[str, Any], number: int) -> tuple[int, Mapping[str, Any]]:
    cells = {cell["number"]: cell for cell in board["cells"]}
    if number not in cells:
        msg = f"cell must be a number on the board, {min(cells)} to {max(cells)}, got {number}."
        raise SettingError(msg)
    return cells[number]["frame"], dict(cells[number]["changes"])


def _page(facts: Mapping[str, Any], sheet: Sheet) -> _Result:
    choices = [Choice(str(key), tuple(values)) for key, values in facts.get("vary", ())]
    board: Board = make_board(
        sheet,
        choices,
        at=facts.get("at"),
        paper=facts["paper"],
        zones=facts.get("zones") is True,
    )
    number = facts["page"]
    if not isinstance(number, int) or not 1 <= number <= len(board.pages):
        raise ValueError
    what = f"board, page {number} of {len(board.pages)}"
    page = page_picture(board.pages[number - 1])
    return _Result(page, page_notes(board, number), what, board.notices, board.inputs)


def _compare(made: RgbPicture | NDArray[np.float32], picture: Path) -> tuple[float, int]:
    """Hold a picture against the one in a file: share of pixels that differ, largest difference."""
    before = decode_still(picture)
    if isinstance(made, RgbPicture):
        now: NDArray[Any] = to_array(made)
    else:
        now = plane_at_depth(made, before.dtype)
    if before.shape != now.shape or before.dtype != now.dtype:
        return 100.0, int(np.iinfo(before.dtype).max)
    apart = np.abs(before.astype(np.int32) - now)
    differing = apart.max(axis=2) if apart.ndim == 3 else apart
    return 100 * float(np.count_nonzero(differing)) / differing.size, int(apart.max())
