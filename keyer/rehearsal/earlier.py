"""What the sheet can be compared with: saved, approved, or another beside it."""

from __future__ import annotations

import contextlib
from pathlib import Path

from keyer.errors import KeyerError, SettingError
from keyer.rehearsal.draft import Draft
from keyer.report.versions.approval import approvals, find_approval
from keyer.sheet.load import load_sheet, parse_sheet
from keyer.sheet.sheet import Sheet

MOST_SHEETS = 50


def others(draft: Draft) -> list[dict[str, str]]:
    """List what there is to compare with.

    Returns
    -------
    list of dict
        `name`, to ask for it by, and `label`, for people.
    """
    found = [{"name": "saved", "label": "as it is saved"}] if draft.saved else []
    found += [
        {"name": one.digest, "label": f"as approved on {one.words}"}
        for one in approvals(draft.path)
    ]
    return [*found, *({"name": name, "label": name} for name in _sheets(draft.path))]


def _sheets(path: Path) -> list[str]:
    """Names of the other sheets in the folder."""
    found = []
    for file in sorted(path.parent.glob("*.toml"))[:MOST_SHEETS]:
        with contextlib.suppress(OSError, UnicodeDecodeError):
            small = file.is_file() and file.stat().st_size < 2**20
            if file.name != path.name and small and "[[cues]]" in file.read_text("utf-8"):
                found.append(file.name)
    return found


def earlier_sheet(draft: Draft, name: str) -> Sheet:
    """Read what the sheet is compared with.

    Parameters
    ----------
    draft : Draft
    name : str
        From `others`.

    Raises
    ------
    KeyerError
        If there is none of that name, or it does not hold.
    """
    folder = draft.path.parent
    if name == "saved":
        return parse_sheet(draft.saved, draft.path.name, folder=folder)
    if name in _sheets(draft.path):
        return load_sheet(folder / name)
    try:
        approved = find_approval(name, draft.path)
    except KeyerError:
        msg = f"there is nothing called {name!r:.40} to compare with. Choose from the list."
        raise SettingError(msg) from None
    return parse_sheet(approved.sheet, approved.name, folder=folder)
