"""Stills of a sheet written as files."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from keyer.errors import OutputError
from keyer.kinds.picture import RgbPicture
from keyer.kinds.settings import one_of
from keyer.media.files import Files
from keyer.media.write import write_grey, write_still
from keyer.render.inputs import sheet_inputs
from keyer.render.plan import Plan
from keyer.render.recipe import still_notes
from keyer.render.still import SHOWS, frame_picture
from keyer.sheet.load import load_sheet


def _file_name(stem: str, label: str, show: str) -> str:
    """Name of a still in a folder: colons of a timecode are not for file names."""
    time = label.replace(":", "").replace(";", "")
    return f"{stem}-{time}.png" if show == "picture" else f"{stem}-{time}-{show}.png"


def _targets(output: Path, names: Sequence[str], files: Files) -> list[Path]:
    """Output files: one where a file is named, else one a time in the folder."""
    if output.suffix and not output.is_dir():
        if len(names) > 1:
            msg = f"output must be a folder for {len(names)} stills, got {output}. Drop the suffix."
            raise OutputError(msg)
        return [output]
    folder = files.folder(output)
    return [folder / name for name in names]


def render_files(
    path: Path, at: Sequence[str], output: Path, *, show: str, force: bool
) -> tuple[list[dict[str, Any]], list[str]]:
    """Render stills of a sheet.

    Parameters
    ----------
    path : Path
        The sheet.
    at : sequence of str
        Times as typed.
    output : Path
        A file, or a folder (made if its parent exists).
    show : str
        One of `keyer.render.still.SHOWS`.
    force : bool
        Overwrite outputs.

    Returns
    -------
    written : list of dict
        Output, frame and timecode of each still.
    notices : list of str

    Raises
    ------
    KeyerError
    """
    one_of("show", show, SHOWS)
    files = Files((path,), force=force)
    sheet = load_sheet(path)
    files.read(*sheet_inputs(sheet))
    frames = list(dict.fromkeys(sheet.frame(time) for time in at))
    names = [_file_name(path.stem, sheet.label(frame), show) for frame in frames]
    targets = [files.still(target) for target in _targets(output, names, files)]
    with Plan(sheet) as plan:
        if targets != [output]:  # not before the sheet's sources are known to be there
            files.make_folder(output)
        written = []
        for frame, target in zip(frames, targets, strict=True):
            result = frame_picture(plan, frame, show)
            notes = still_notes(sheet, frame, show) if target.suffix.lower() == ".png" else None
            if isinstance(result, RgbPicture):
                write_still(target, result, files, text=notes)
            else:
                write_grey(target, result, files, text=notes)
            written.append({"output": str(target), "frame": frame, "timecode": sheet.label(frame)})
        return written, plan.notices
