"""The cue sheet of a sheet file, written as a page, as CSV or as an edit list."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from keyer.errors import OutputError
from keyer.media.files import Files
from keyer.media.write import write_bytes
from keyer.render.inputs import sheet_inputs
from keyer.render.plan import Plan
from keyer.report.cue_sheets.cue_table import cue_csv
from keyer.report.cue_sheets.cues import CueSheet, cue_sheet
from keyer.report.cue_sheets.edit_list import edit_list
from keyer.report.page.cue_page import cue_page
from keyer.sheet.load import load_sheet
from keyer.sheet.variables import Value


def cue_files(
    path: Path, output: Path, *, force: bool, variables: Mapping[str, Value] | None = None
) -> CueSheet:
    """Write the cue sheet of a sheet file.

    Parameters
    ----------
    path : Path
        The sheet.
    output : Path
        `.html`, `.csv` or `.edl`.
    force : bool
        Overwrite the output.
    variables : mapping of str to text, number or switch, optional
        As for `load_sheet`.

    Raises
    ------
    KeyerError
    """
    suffix = output.suffix.lower()
    if suffix not in {".html", ".csv", ".edl"}:
        msg = f"output must end in .html, .csv or .edl for a cue sheet, got {output}."
        raise OutputError(msg)
    files = Files((path,), force=force)
    files.write(output)
    sheet = load_sheet(path, variables=variables)
    files.read(*sheet_inputs(sheet))
    with Plan(sheet) as plan:
        cues = cue_sheet(sheet, plan)
        if suffix == ".edl":
            text = edit_list(cues, plan)
        else:
            text = cue_csv(cues) if suffix == ".csv" else cue_page(cues)
    write_bytes(output, text.encode(), files)
    return cues
