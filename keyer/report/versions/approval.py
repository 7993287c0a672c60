"""A version of a spot as it was approved: what it said, its files' prints and small pictures.

One file beside the sheet holds it. It is a note of what was seen, by digest,
so that a later change shows; it is no signature: anybody can write one.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from keyer.errors import InputFileError, KeyerError, SettingError
from keyer.media.bundle import Bundle
from keyer.render.recipe import file_print
from keyer.report.words import SHORT_DIGEST
from keyer.sheet.sheet import Sheet

FORM = 1
"""Version of the file's form."""

LEAST_DIGEST = 6
"""Letters of a digest that tell versions apart."""

FACTS = "approval.json"


@dataclass(frozen=True)
class Approval:
    """An approved version: the sheet's digest, who approved it and when.

    Attributes
    ----------
    digest : str
        Of what the sheet said.
    name : str
        File name of the sheet.
    sheet : str
        The sheet as TOML, includes and variables worked in.
    files : mapping
        Fingerprint of every file, by the name that the sheet gives it.
    on : str
        Date and time, UTC (ISO 8601).
    by, note : str
    stills : list of int
        Frames that are kept at full size.
    shown : list of (int, int)
        From which frame on which small picture is seen.
    made_by : str
    form : int
    path : Path
        Its file.
    seal : str
        SHA-256 of the file.
    """

    digest: str
    name: str
    sheet: str
    files: Mapping[str, str]
    on: str
    by: str = ""
    note: str = ""
    stills: tuple[int, ...] = ()
    shown: tuple[tuple[int, int], ...] = ()
    made_by: str = ""
    form: int = FORM
    path: Path = Path()
    seal: str = ""

    @property
    def words(self) -> str:
        """Say when and by whom: `2026-11-30 16:40 UTC, by Wren Hollowby`."""
        when = f"{self.on[:10]} {self.on[11:16]} UTC"
        return f"{when}, by {self.by}" if self.by else when

    def changed_files(self, folder: Path) -> list[str]:
        """List the files that are not what they were, or not there."""
        return [name for name, was in self.files.items() if _print_of(folder / name) != was]


def _print_of(path: Path) -> str:
    try:
        return file_print(path)
    except (KeyerError, OSError, ValueError):
        return ""


def read_approval(path: Path) -> Approval:
    """Read what was approved.

    Raises
    ------
    InputFileError
        If the file is none, or damaged.
    """
    bundle = Bundle(path)
    try:
        facts = json.loads(bundle.read(FACTS))
        made = Approval(**{**facts, "path": path, "seal": _seal(path)})
        _check(made)
    except (ValueError, TypeError, RecursionError):
        msg = f"{path} is no approved version, or is damaged. Take the original file."
        raise InputFileError(msg) from None
    finally:
        bundle.close()
    if made.form > FORM:
        msg = f"{path} was made by a newer program ({made.made_by}). Install that one."
        raise InputFileError(msg)
    return made


def _seal(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _check(made: Approval) -> None:
    """Refuse an approval file whose entries have the wrong kind."""
    texts = (made.digest, made.name, made.sheet, made.on, made.by, made.note, made.made_by)
    if not all(isinstance(text, str) for text in texts) or not isinstance(made.form, int):
        raise TypeError
    if not isinstance(made.files, dict) or not all(isinstance(one, str) for one in made.files):
        raise TypeError
    datetime.fromisoformat(made.on)
    starts = [int(start) for start, number in made.shown if int(number) >= 0]
    if starts != sorted(set(starts)) or starts[:1] != [0]:
        raise ValueError


def approvals(sheet: Path) -> list[Approval]:
    """Find what was approved of a sheet.

    Returns
    -------
    list of Approval
        Those whose files lie beside it and can be read, the newest first.
    """
    found = []
    with suppress(OSError):
        for path in sorted(sheet.parent.glob(f"{_literal(sheet.stem)}.approved-*.zip")):
            with suppress(InputFileError, OSError):
                found.append(read_approval(path))
    return sorted(found, key=lambda one: (one.on, one.path.name), reverse=True)


def _literal(text: str) -> str:
    return "".join(f"[{char}]" if char in "*?[" else char for char in text)


def find_approval(said: str, sheet: Path) -> Approval:
    """Find an approved version of a sheet by a digest.

    Parameters
    ----------
    said : str
        The first letters of the digest of the sheet, or of the file.
    sheet : Path

    Raises
    ------
    SettingError
        If there is none, or several versions have it.
    """
    known = approvals(sheet)
    fits = [
        one
        for one in known
        if one.digest.startswith(said.lower()) or one.seal.startswith(said.lower())
    ]
    if len({one.digest for one in fits}) == 1 and len(said) >= LEAST_DIGEST:
        return fits[0]
    listed = ", ".join(f"{one.digest[:SHORT_DIGEST]} ({one.words})" for one in known)
    have = f"Approved are {listed}." if known else "'keyer approve' makes one."
    msg = f"OLD must be a sheet, or the digest of an approved version, got {said!r:.80}. {have}"
    raise SettingError(msg)


def approved_words(sheet: Sheet, path: Path) -> str:
    """Say whether a sheet is as it was last approved; empty where it never was.

    Parameters
    ----------
    sheet : Sheet
    path : Path
        Its file.
    """
    known = approvals(path)
    if not known:
        return ""
    newest = known[0]
    held = f"{newest.words} ({newest.path.name}, SHA-256 {newest.seal[:SHORT_DIGEST]})"
    if newest.digest != sheet.digest:
        return f"Changed since it was approved on {held}"
    if changed := newest.changed_files(path.parent):
        return f"{', '.join(changed)} changed since it was approved on {held}"
    return f"As approved on {held}"


def facts_of(approval: Approval) -> dict[str, Any]:
    """Return an approval as plain data for `--json`."""
    return {
        "output": str(approval.path),
        "sheet": approval.digest,
        "seal": approval.seal,
        "on": approval.on,
        "by": approval.by,
        "note": approval.note,
        "pictures": len({number for _, number in approval.shown}),
        "stills": list(approval.stills),
    }
