"""What a batch has made, a line of JSON for each row: to resume from, and to hand over.

While a batch runs, a row's line is added before its files are written: what a stop leaves
behind under a name can so be told from what somebody else has put there. When the batch is
through, the manifest is written anew in the order of the rows. It holds nothing that differs
from run to run. Batches of other tables may share a folder, and keep their lines.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from keyer.errors import InputFileError, OutputError
from keyer.media.files import Files, unwritable
from keyer.media.write import write_bytes

NAME = "manifest.jsonl"
_BEGINNING = '{"batch": '
"""Of every line; one that a stop has cut off is known by it."""


@dataclass(frozen=True)
class Entry:
    """A finished row as the manifest records it: its file, and digests of what it was made from.

    Attributes
    ----------
    row : int or None
        Its number in the table; None if the table has it no longer.
    name : str
        What its files are called, without suffix.
    outputs : tuple of (file name, SHA-256)
    key : str
        Digest of all that its pictures rest on.
    batch : str
        Which sheet, table and kind of output made them.
    settings : mapping
        What the row set.
    stored : mapping
        Bits of the samples where they were asked for; whether alpha is straight or
        premultiplied; the frames of in, hold and out.
    pictures : mapping
        Title source and field, with a point between, to the SHA-256 of the row's picture in it.
    verdicts : tuple of mapping
    notes : tuple of str
    frame : int
        Of the sheet: the one that a still shows, and that the checks looked at.
    small : (h, w, 3) uint8 or None
        The picture for a contact sheet, from its rendering until it is drawn; it stands in
        no manifest.
    """

    row: int | None
    name: str
    outputs: tuple[tuple[str, str], ...]
    key: str
    batch: str = ""
    settings: Mapping[str, Any] = field(default_factory=dict)
    verdicts: tuple[Mapping[str, Any], ...] = ()
    notes: tuple[str, ...] = ()
    frame: int = 0
    stored: Mapping[str, Any] = field(default_factory=dict)
    pictures: Mapping[str, str] = field(default_factory=dict)
    small: NDArray[np.uint8] | None = field(default=None, compare=False, repr=False)

    def line(self) -> str:
        """Write the entry as a line of the manifest: one JSON object."""
        return json.dumps(
            {
                "batch": self.batch,
                "row": self.row,
                "name": self.name,
                "outputs": [{"file": f, "sha256": digest} for f, digest in self.outputs],
                "key": self.key,
                **({"stored": dict(self.stored)} if self.stored else {}),
                "settings": self.settings,
                **({"pictures": dict(self.pictures)} if self.pictures else {}),
                "verdicts": list(self.verdicts),
                "notes": list(self.notes),
                "frame": self.frame,
            },
            ensure_ascii=False,
        )


@dataclass(frozen=True)
class Manifest:
    """Record of the files that batches have made in a folder.

    Attributes
    ----------
    entries : mapping
        First output of a row to its entry; the last one written counts.
    made : mapping
        Output to the digests of all that was ever written under its name.
    """

    entries: Mapping[str, Entry] = field(default_factory=dict)
    made: Mapping[str, frozenset[str]] = field(default_factory=dict)


def _entry(line: str) -> Entry | None:
    """Read a line; None for one that was cut off or is none of ours."""
    try:
        data = json.loads(line)
        outputs = tuple((str(part["file"]), str(part["sha256"])) for part in data["outputs"])
        return Entry(
            None if data["row"] is None else int(data["row"]),
            str(data["name"]),
            outputs,
            str(data["key"]),
            str(data["batch"]),
            dict(data["settings"]),
            tuple(data["verdicts"]),
            tuple(map(str, data["notes"])),
            int(data["frame"]),
            dict(data.get("stored", {})),
            dict(data.get("pictures", {})),
        )
    except (ValueError, KeyError, TypeError, OverflowError, RecursionError):
        return None


def read_manifest(folder: Path) -> Manifest:
    """Read the manifest of a folder.

    Returns
    -------
    Manifest
        Without lines that a stop cut off; empty if there is none.

    Raises
    ------
    OutputError
        If the file of that name is not a batch's.
    InputFileError
        If it cannot be read.
    """
    file = folder / NAME
    if not file.is_file():
        return Manifest()
    try:
        text = file.read_bytes().decode("utf-8", "replace")
    except OSError as error:
        msg = f"{file} cannot be read: {(error.strerror or str(error)).lower()}."
        raise InputFileError(msg) from error
    entries: dict[str, Entry] = {}
    made: dict[str, set[str]] = {}
    for line in text.split("\n"):  # a cell may hold what else parts lines (U+2028)
        entry = _entry(line)
        if entry is None or not entry.outputs:
            if line and not (line.startswith(_BEGINNING) or _BEGINNING.startswith(line)):
                msg = f"{file} is not the manifest of a batch. Move it, or name another folder."
                raise OutputError(msg)
            continue
        entries[entry.outputs[0][0]] = entry
        for name, digest in entry.outputs:
            made.setdefault(name, set()).add(digest)
    return Manifest(entries, {name: frozenset(digests) for name, digests in made.items()})


def write_manifest(folder: Path, entries: Iterable[Entry]) -> None:
    """Write the manifest anew: batch by batch, each in the order of its rows.

    Raises
    ------
    OutputError
    """
    lines = [entry.line() for entry in sorted(entries, key=_order)]
    data = "".join(f"{line}\n" for line in lines).encode("utf-8", "surrogatepass")
    file = folder / NAME
    if not (file.is_file() and file.read_bytes() == data):
        write_bytes(file, data, Files(force=True))


def _order(entry: Entry) -> tuple[str, bool, int, str]:
    return entry.batch, entry.row is None, entry.row or 0, entry.name


def add_line(folder: Path, entry: Entry) -> None:
    """Add a row that is about to be written; a line that a stop cuts off does no harm.

    Raises
    ------
    StorageError
        If the disk does not take it.
    """
    file = folder / NAME
    data = f"{entry.line()}\n".encode("utf-8", "surrogatepass")
    try:
        with file.open("ab") as stream, _alone(stream.fileno()):
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
    except OSError as error:
        with suppress(OSError):
            if not file.stat().st_size:
                file.unlink()
        raise unwritable(file, error) from error


@contextmanager
def _alone(handle: int) -> Iterator[None]:
    """Keep other processes of a batch from adding a line at the same time."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    fcntl.flock(handle, fcntl.LOCK_EX)
    try:
        yield
    finally:
        fcntl.flock(handle, fcntl.LOCK_UN)


def end_torn_line(folder: Path) -> None:
    """Begin a new line where a stop has cut one off.

    Raises
    ------
    StorageError
        If the disk does not take it.
    """
    file = folder / NAME
    if not file.is_file():
        return
    try:
        with file.open("a+b") as stream:
            if stream.tell():
                stream.seek(-1, os.SEEK_END)
                if stream.read(1) != b"\n":
                    stream.write(b"\n")
    except OSError as error:
        raise unwritable(file, error) from error


def digest_of(path: Path) -> str:
    """SHA-256 of a file, hexadecimal."""
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
