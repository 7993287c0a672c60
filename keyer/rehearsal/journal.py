"""The journal beside a sheet: every revision of a draft that is not saved yet, on disk at once.

One JSON object a line. The first names the saved text that the draft grew
from; each later one is a revision. What a crash cut off at the end is passed
over. When the draft is saved or given up, the journal goes.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from keyer.errors import OutputError

MOST_BYTES = 64 * 2**20
"""A journal larger than that is not taken up: no hand makes so many changes."""


def text_digest(text: str) -> str:
    """SHA-256 of a text."""
    return hashlib.sha256(text.encode()).hexdigest()


@dataclass(frozen=True)
class Revision:
    """A text of the sheet, and in a few words what made it."""

    text: str
    label: str = ""


@dataclass(frozen=True)
class Found:
    """Edits that a journal holds, and the saved text they grew from.

    Attributes
    ----------
    base : str
        Digest of the saved text that it grew from.
    revisions : tuple of Revision
        Oldest first.
    """

    base: str
    revisions: tuple[Revision, ...]


class Journal:
    """Keeps the unsaved edits of one sheet in a file beside it.

    Parameters
    ----------
    sheet : Path
        The sheet's file, which need not be there yet.
    """

    def __init__(self, sheet: Path) -> None:
        self.path = sheet.with_name(f".{sheet.name}.rehearsal")

    def read(self) -> Found | None:
        """Read what an earlier run left; None if there is nothing to take up."""
        try:
            if not self.path.is_file() or self.path.stat().st_size > MOST_BYTES:
                return None
            lines = self.path.read_bytes().splitlines()
        except OSError:
            return None
        said = [one for one in map(_object, lines) if one is not None]
        if not said or not isinstance(said[0].get("base"), str):
            return None
        texts = [one for one in said[1:] if isinstance(one.get("text"), str)]
        revisions = tuple(Revision(one["text"], str(one.get("label", ""))) for one in texts)
        return Found(said[0]["base"], revisions) if revisions else None

    def begin(self, base: str) -> None:
        """Start anew, grown from a saved text.

        Raises
        ------
        OutputError
            Here and in `add`: if it cannot be written.
        """
        with self._changing():
            self.path.unlink(missing_ok=True)
            self._write({"base": text_digest(base)})

    def add(self, revision: Revision) -> None:
        """Keep a revision; it is on the disk when this returns."""
        with self._changing():
            self._write({"text": revision.text, "label": revision.label})

    def end(self) -> None:
        """Take the journal away, if that can be: all is saved, or given up."""
        with suppress(OSError):
            self.path.unlink(missing_ok=True)

    @contextmanager
    def _changing(self) -> Iterator[None]:
        try:
            yield
        except OSError as error:
            msg = (
                f"the journal of changes beside the sheet cannot be kept: {error.strerror}. "
                "Nothing has changed; make room, or work on a copy where you may write."
            )
            raise OutputError(msg) from None

    def _write(self, said: dict[str, str]) -> None:
        """Append a line whole or not at all.

        It begins with a new line, too: what a crash has cut off before does not spoil it.
        """
        line = b"\n" + json.dumps(said).encode() + b"\n"
        handle = os.open(self.path, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        try:
            before = os.fstat(handle).st_size
            try:
                _write_all(handle, line)
                os.fsync(handle)
            except OSError:
                os.ftruncate(handle, before)
                if not before:
                    self.path.unlink()
                raise
        finally:
            os.close(handle)


def _write_all(handle: int, data: bytes) -> None:
    if os.write(handle, data) < len(data):
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def _object(line: bytes) -> dict[str, str] | None:
    try:
        said = json.loads(line)
    except (ValueError, RecursionError):
        return None
    return said if isinstance(said, dict) else None
