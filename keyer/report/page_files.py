"""Boards of a single page written as files."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from keyer.errors import OutputError
from keyer.media.write import check_output, write_bytes, write_still
from keyer.render.recipe import program
from keyer.report.paper.page import Page
from keyer.report.paper.pdf import pages_pdf
from keyer.report.paper.raster import page_picture


def check_page_output(output: Path, inputs: Sequence[Path], *, force: bool) -> None:
    """Refuse an output that no board can be written to, before anything is measured.

    Raises
    ------
    OutputError
    """
    if output.suffix.lower() not in {".png", ".pdf"}:
        msg = f"output must end in .png or .pdf for a board, got {output}."
        raise OutputError(msg)
    check_output(output, force=force, inputs=inputs)


def write_page(
    page: Page, output: Path, title: str, *, force: bool, inputs: Sequence[Path]
) -> None:
    """Write a board of a single page as a PNG or a PDF.

    Parameters
    ----------
    page : Page
    output : Path
        `.png` or `.pdf`.
    title : str
        For the document's properties.
    force : bool
        Overwrite the output.
    inputs : sequence of Path
        Files that must never be replaced.

    Raises
    ------
    OutputError
    """
    if output.suffix.lower() == ".pdf":
        data = pages_pdf([page], title=title, subject="", program=program())
        write_bytes(output, data, force=force, inputs=inputs)
    else:
        write_still(output, page_picture(page), force=force, inputs=inputs)
