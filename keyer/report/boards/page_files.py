"""Boards written as files."""

from __future__ import annotations

from pathlib import Path

from keyer.errors import OutputError
from keyer.media.files import Files
from keyer.media.write import write_bytes, write_still
from keyer.paper.page import Page
from keyer.paper.pdf import pages_pdf
from keyer.paper.raster import page_picture
from keyer.render.recipe import program
from keyer.sheet.sheet import Sheet


def name_page_output(output: Path, files: Files) -> None:
    """Name the output of a board, before anything is measured.

    Raises
    ------
    OutputError
    """
    if output.suffix.lower() not in {".png", ".pdf"}:
        msg = f"output must end in .png or .pdf for a board, got {output}."
        raise OutputError(msg)
    files.write(output)


def write_page(page: Page, output: Path, title: str, files: Files) -> None:
    """Write a board of a single page as a PNG or a PDF.

    Parameters
    ----------
    page : Page
    output : Path
        `.png` or `.pdf`.
    title : str
        For the document's properties.
    files : Files

    Raises
    ------
    OutputError
    """
    if output.suffix.lower() == ".pdf":
        data = pages_pdf([page], title=title, subject="", program=program())
        write_bytes(output, data, files)
    else:
        write_still(output, page_picture(page), files)


def write_pages(pages: list[Page], output: Path, sheet: Sheet, files: Files) -> None:
    """Write the pages of a board as a PDF, or as a PNG each.

    Parameters
    ----------
    pages : list of Page
    output : Path
        `.png` or `.pdf`, named to `files` already.
    sheet : Sheet
        That they show.
    files : Files

    Raises
    ------
    OutputError
    """
    if output.suffix.lower() == ".pdf":
        title = sheet.title or sheet.name
        data = pages_pdf(pages, title=title, subject=f"sheet {sheet.digest}", program=program())
        write_bytes(output, data, files)
        return
    names = page_names(output, len(pages))
    for name in names[1:]:
        files.write(name)
    for name, page in zip(names, pages, strict=True):
        write_still(name, page_picture(page), files)


def page_names(output: Path, count: int) -> list[Path]:
    """Name the files of a board: the first as asked, further ones numbered after it."""
    more = [output.with_name(f"{output.stem}-{n}{output.suffix}") for n in range(2, count + 1)]
    return [output, *more]
