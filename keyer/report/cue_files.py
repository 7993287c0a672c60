"""The crew sheet of a sheet file, written as a page or as CSV."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from keyer.errors import OutputError
from keyer.media.files import Files
from keyer.media.write import write_bytes
from keyer.render.inputs import sheet_inputs
from keyer.render.plan import Plan
from keyer.report.cues import CrewSheet, crew_csv, crew_sheet
from keyer.report.page.crew import crew_page
from keyer.sheet.load import load_sheet
from keyer.sheet.variables import Value


def cue_files(
    path: Path, output: Path, *, force: bool, variables: Mapping[str, Value] | None = None
) -> CrewSheet:
    """Write the crew sheet of a sheet file.

    Parameters
    ----------
    path : Path
        The sheet.
    output : Path
        `.html` or `.csv`.
    force : bool
        Overwrite the output.
    variables : mapping of str to text, number or switch, optional
        As for `load_sheet`.

    Returns
    -------
    CrewSheet

    Raises
    ------
    KeyerError
    """
    suffix = output.suffix.lower()
    if suffix not in {".html", ".csv"}:
        msg = f"output must end in .html or .csv for a crew sheet, got {output}."
        raise OutputError(msg)
    files = Files((path,), force=force)
    files.write(output)
    sheet = load_sheet(path, variables=variables)
    files.read(*sheet_inputs(sheet))
    with Plan(sheet) as plan:
        crew = crew_sheet(sheet, plan)
    text = crew_csv(crew) if suffix == ".csv" else crew_page(crew)
    write_bytes(output, text.encode(), files)
    return crew
