"""Stills of a sheet written as files."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from keyer.errors import OutputError, SettingError
from keyer.kinds.picture import RgbPicture
from keyer.kinds.ranges import one_of
from keyer.media.encode_still import check_alpha
from keyer.media.files import Files
from keyer.media.write import together, write_grey, write_still
from keyer.render.inputs import sheet_inputs
from keyer.render.plan import Plan
from keyer.render.recipe import still_notes
from keyer.render.still import SHOWS, ZONES, frame_picture
from keyer.sheet.load import load_sheet
from keyer.sheet.variables import Value


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


KINDS: dict[str, tuple[str, ...]] = {"over": (), "alpha": ("alpha",), "keyfill": ("fill", "key")}
"""What is written of a frame: the picture; it with its opacity; or fill and key."""


def _shown(show: str, kind: str) -> tuple[str, ...]:
    one_of("show", show, (*SHOWS, ZONES))
    one_of("kind", kind, tuple(KINDS))
    if kind == "over":
        return (show,)
    if show != "picture":
        msg = f"show must be picture for kind {kind}, got {show}. Ask for one of them."
        raise SettingError(msg)
    return KINDS[kind]


def render_files(
    path: Path,
    at: Sequence[str],
    output: Path,
    *,
    show: str,
    force: bool,
    kind: str = "over",
    variables: Mapping[str, Value] | None = None,
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
        One of `keyer.render.still.SHOWS`, or `ZONES`.
    force : bool
        Overwrite outputs.
    kind : {"over", "alpha", "keyfill"}
        The picture; it with straight alpha; or `-fill`, premultiplied, and `-key`.
    variables : mapping of str to text, number or switch, optional
        As for `load_sheet`.

    Returns
    -------
    written : list of dict
        Output, frame and timecode of each still.
    notices : list of str

    Raises
    ------
    KeyerError
    """
    shows = _shown(show, kind)
    files = Files((path,), force=force)
    sheet = load_sheet(path, variables=variables)
    files.read(*sheet_inputs(sheet))
    frames = list(dict.fromkeys(sheet.frame(time) for time in at))
    names = [_file_name(path.stem, sheet.label(frame), show) for frame in frames]
    several = len(shows) > 1
    wanted = [
        (
            frame,
            one,
            files.still(
                target.with_name(f"{target.stem}-{one}{target.suffix}") if several else target
            ),
        )
        for frame, target in zip(frames, _targets(output, names, files), strict=True)
        for one in shows
    ]
    for _, one, target in wanted:
        if one == "alpha":
            check_alpha(target)
    with Plan(sheet) as plan, together(files):
        if all(target.parent != output.parent for _, _, target in wanted):
            files.make_folder(output)  # not before the sheet's sources are known to be there
        written = []
        for frame, one, target in wanted:
            result = frame_picture(plan, frame, one)
            notes = still_notes(sheet, frame, one) if target.suffix.lower() == ".png" else None
            if isinstance(result, RgbPicture):
                write_still(target, result, files, text=notes)
            else:
                write_grey(target, result, files, text=notes)
            written.append({"output": str(target), "frame": frame, "timecode": sheet.label(frame)})
        return written, plan.notices
