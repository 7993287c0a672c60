"""What windows say and are told: numbers checked, faults as plain data, no folders."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from keyer.documents.locate import line_map
from keyer.errors import KeyerError, SettingError, SheetError
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import File

MOST_ROWS = 1080
"""No picture under the hand is higher."""


def safe_to_show(findings: list[dict[str, Any]]) -> bool:
    """Whether nothing of a check speaks of flashing or of stripes."""
    looked = [one for one in findings if one["check"].startswith(("flash", "stripes"))]
    return all(one["verdict"] == "holds" for one in looked)


def whole(said: Mapping[str, Any], key: str) -> int:
    """Read a whole number in a message from the browser, or refuse it."""
    value = said.get(key)
    if isinstance(value, bool) or not isinstance(value, int):
        msg = f"{key} must be a whole number."
        raise SettingError(msg)
    return value


def row_count(said: Mapping[str, Any]) -> int:
    """Read the height that a picture is asked for with, within what is drawn."""
    return min(max(whole(said, "rows"), 90), MOST_ROWS)


def frame_list(said: Mapping[str, Any], most: int) -> list[int]:
    """Read a list of frames."""
    frames = said.get("frames")
    if (
        not isinstance(frames, list)
        or len(frames) > most
        or any(isinstance(one, bool) or not isinstance(one, int) for one in frames)
    ):
        msg = f"frames must be a list of at most {most} whole numbers."
        raise SettingError(msg)
    return frames


NEAR = 2
"""Lines that are shown before and after one with a fault."""


def fault_list(error: KeyerError | None, text: str = "") -> list[dict[str, Any]]:
    """Put what is wrong into plain data: path, line, cure, and the lines of the text around it."""
    if error is None:
        return []
    if isinstance(error, SheetError) and error.faults:
        return [
            {
                "path": one.path, "line": one.line, "message": one.message, "file": one.file,
                "near": [] if one.file else _near(text, one.line),
            }
            for one in error.faults[:50]
        ]  # fmt: skip
    return [{"path": "", "line": None, "message": str(error), "file": "", "near": []}]


def _near(text: str, line: int | None) -> list[tuple[int, str]]:
    """Lines around one, each with its number; no longer than can be shown."""
    if line is None:
        return []
    lines = text.splitlines()
    first = max(line - 1 - NEAR, 0)
    return [(n + 1, lines[n][:160]) for n in range(first, min(line + NEAR, len(lines)))]


def with_place(message: str, text: str, sheet: Sheet) -> str:
    """Say where in the sheet the file is named that a message speaks of.

    Parameters
    ----------
    message : str
    text : str
        The sheet's own TOML.
    sheet : Sheet

    Returns
    -------
    str
        The message, after the path and the line where one is found.
    """
    for source in sheet.sources.values():
        if isinstance(source.content, File) and str(source.content.path) in message:
            line = line_map(text).get(("sources", source.name, "file"))
            where = f", line {line}" if line else ""
            return f"sources.{source.name}{where}: {message}"
    return message


def fault_words(error: KeyerError) -> str:
    """Say in one line what is wrong: of a sheet with faults the first, with its place."""
    if isinstance(error, SheetError) and error.faults:
        one = error.faults[0]
        line = f"line {one.line}" if one.line else ""
        return f"{', '.join(filter(None, (one.path, line)))}: {one.message}"
    return str(error).splitlines()[0]


def without_folder(said: Any, folder: str) -> Any:
    """Leave the folders of this machine out of what is said; the sheet's own is everyone's."""
    if isinstance(said, str):
        return said.replace(f"{folder}/", "").replace(folder, Path(folder).name)
    if isinstance(said, dict):
        return {key: without_folder(value, folder) for key, value in said.items()}
    if isinstance(said, list):
        return [without_folder(value, folder) for value in said]
    return said
