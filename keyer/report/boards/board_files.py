"""Boards made as they are asked for, and written as a PDF or as PNGs that can be made again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from keyer.errors import SettingError
from keyer.media.files import Files
from keyer.media.write import together, write_bytes, write_still
from keyer.paper.pdf import pages_pdf
from keyer.paper.raster import page_picture
from keyer.render.inputs import sheet_inputs
from keyer.render.recipe import Recipe, as_notes, program, recipe_of
from keyer.report.boards.board import Board, storyboard
from keyer.report.boards.choices import Choice, read_choices
from keyer.report.boards.page_files import name_page_output, page_names
from keyer.report.boards.variations import variation_board
from keyer.report.words import SHORT_DIGEST
from keyer.sheet.load import load_sheet
from keyer.sheet.sheet import Sheet
from keyer.sheet.variables import Value


def make_board(
    sheet: Sheet,
    choices: Sequence[Choice] = (),
    *,
    at: int | None = None,
    paper: str = "A3",
    zones: bool = False,
) -> Board:
    """Make a storyboard, or with choices a board of variations.

    Parameters
    ----------
    sheet : Sheet
    choices : sequence of Choice
    at : int, optional
        Frame of the variations.
    paper : {"A3", "A4"}
    zones : bool
        Draw what the station's rules keep free into every picture.

    Raises
    ------
    KeyerError
    """
    if choices:
        return variation_board(sheet, choices, at=at, paper=paper, zones=zones)
    return storyboard(sheet, paper, zones=zones)


def board_recipe(board: Board, page: int) -> Recipe:
    """Write down how one page of a board is made.

    Parameters
    ----------
    board : Board
    page : int
        From 1.
    """
    facts = {**board.recipe, "page": page, "cells": board.cells}
    return recipe_of(board.sheet, board=facts)


def page_notes(board: Board, page: int) -> dict[str, str]:
    """Make the notes of one page as a PNG."""
    what = "variations" if "vary" in board.recipe else "storyboard"
    said = f"{what}, page {page}; sheet {board.sheet.digest[:SHORT_DIGEST]}"
    return as_notes(board_recipe(board, page), board.title, said)


def write_board(board: Board, output: Path, files: Files) -> list[Path]:
    """Write a board as a PDF, or as a PNG for each page.

    Parameters
    ----------
    board : Board
    output : Path
        `.pdf` or `.png`, named to `files` already.
    files : Files

    Raises
    ------
    OutputError
    """
    if output.suffix.lower() == ".pdf":
        subject = f"sheet {board.sheet.digest}"
        data = pages_pdf(board.pages, title=board.title, subject=subject, program=program())
        write_bytes(output, data, files)
        return [output]
    names = page_names(output, len(board.pages))
    for name in names[1:]:
        files.write(name)
    with together(files):
        for number, (name, page) in enumerate(zip(names, board.pages, strict=True), 1):
            notes = page_notes(board, number)
            write_still(name, page_picture(page), files, text=notes)
    return names


def board_files(
    path: Path,
    output: Path,
    vary: Sequence[str],
    *,
    at: str | None,
    paper: str,
    force: bool,
    zones: bool = False,
    variables: Mapping[str, Value] | None = None,
) -> tuple[list[Path], Board]:
    """Make a board of a sheet file and write it.

    Parameters
    ----------
    path : Path
        The sheet.
    output : Path
        `.pdf` or `.png`.
    vary : sequence of str
        Each `KEY=V1,V2`, KEY as the sheet or as people call it; none: a storyboard.
    at : str, optional
        Time of the variations.
    paper : {"A3", "A4"}
    force : bool
        Overwrite outputs.
    zones : bool
        As for `make_board`.
    variables : mapping of str to text, number or switch, optional
        As for `load_sheet`.

    Raises
    ------
    KeyerError
    """
    files = Files((path,), force=force)
    name_page_output(output, files)
    if at is not None and not vary:
        msg = f"at is the time of variations, got {at!r} without --vary. Leave it out."
        raise SettingError(msg)
    sheet = load_sheet(path, variables=variables)
    choices = read_choices(vary, sheet)
    files.read(*sheet_inputs(sheet))
    frame = None if at is None else sheet.frame(at)
    board = make_board(sheet, choices, at=frame, paper=paper, zones=zones)
    files.read(*board.inputs)
    return write_board(board, output, files), board
