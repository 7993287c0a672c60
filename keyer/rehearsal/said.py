"""What windows say and are told: numbers checked, faults as plain data, no folders."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from keyer.errors import KeyerError, SettingError, SheetError

MOST_ROWS = 1080
"""No picture under the hand is higher."""


def safe_to_show(findings: list[dict[str, Any]]) -> bool:
    """Whether nothing of a check speaks of flashing or of stripes."""
    looked = [one for one in findings if one["check"].startswith(("flash", "stripes"))]
    return all(one["verdict"] == "holds" for one in looked)


def whole(said: Mapping[str, Any], key: str) -> int:
    """Read a whole number of a message."""
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


def fault_list(error: KeyerError | None) -> list[dict[str, Any]]:
    """Put what is wrong into plain data, path, line and cure."""
    if error is None:
        return []
    if isinstance(error, SheetError) and error.faults:
        return [
            {"path": one.path, "line": one.line, "message": one.message, "file": one.file}
            for one in error.faults[:50]
        ]
    return [{"path": "", "line": None, "message": str(error), "file": ""}]


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
