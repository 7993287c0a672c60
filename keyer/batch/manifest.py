"""What a batch has made, a line of JSON for each row: to resume from, and to hand over.

While a batch runs, lines are added as rows are done; when it is through, the
manifest is written anew in the order of the rows. It holds nothing that
differs from run to run.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from keyer.media.files import Files
from keyer.media.write import write_bytes

NAME = "manifest.jsonl"


@dataclass(frozen=True)
class Entry:
    """A row that is done.

    Attributes
    ----------
    row : int
        Its number in the table.
    name : str
        What its files are called, without suffix.
    outputs : tuple of (file name, SHA-256)
    key : str
        Digest of all that its pictures rest on.
    settings : mapping
        What the row set.
    verdicts : tuple of mapping
    notes : tuple of str
    """

    row: int
    name: str
    outputs: tuple[tuple[str, str], ...]
    key: str
    settings: Mapping[str, Any] = field(default_factory=dict)
    verdicts: tuple[Mapping[str, Any], ...] = ()
    notes: tuple[str, ...] = ()

    def line(self) -> str:
        """As a line of the manifest."""
        return json.dumps(
            {
                "row": self.row,
                "name": self.name,
                "outputs": [{"file": f, "sha256": digest} for f, digest in self.outputs],
                "key": self.key,
                "settings": self.settings,
                "verdicts": list(self.verdicts),
                "notes": list(self.notes),
            },
            ensure_ascii=False,
            sort_keys=True,
        )


def _entry(line: str) -> Entry | None:
    """Read a line; None for one that was cut off or is none of ours."""
    try:
        data = json.loads(line)
        outputs = tuple((part["file"], part["sha256"]) for part in data["outputs"])
        return Entry(
            int(data["row"]),
            str(data["name"]),
            outputs,
            str(data["key"]),
            data["settings"],
            tuple(data["verdicts"]),
            tuple(data["notes"]),
        )
    except (ValueError, KeyError, TypeError):
        return None


def read_manifest(folder: Path) -> dict[str, Entry]:
    """Read the manifest of a folder.

    Parameters
    ----------
    folder : Path

    Returns
    -------
    dict
        Name to entry; the last line of a name counts. Lines that a stop cut
        off are passed over.
    """
    file = folder / NAME
    if not file.is_file():
        return {}
    text = file.read_text(encoding="utf-8", errors="replace")
    # lines end with a line feed alone: a cell may hold what else parts lines (U+2028)
    entries = (_entry(line) for line in text.split("\n") if line.strip())
    return {entry.name: entry for entry in entries if entry}


def write_manifest(folder: Path, entries: Iterable[Entry]) -> None:
    """Write the manifest anew, in the order of the rows.

    Parameters
    ----------
    folder : Path
    entries : iterable of Entry

    Raises
    ------
    OutputError
    """
    lines = [entry.line() for entry in sorted(entries, key=lambda entry: entry.row)]
    data = "".join(f"{line}\n" for line in lines).encode()
    file = folder / NAME
    if not (file.is_file() and file.read_bytes() == data):
        write_bytes(file, data, Files(force=True))


def add_line(folder: Path, entry: Entry) -> None:
    """Add a row that is done; a line that a stop cuts off does no harm."""
    with (folder / NAME).open("ab") as stream:
        stream.write(f"{entry.line()}\n".encode())


def still_holds(folder: Path, entry: Entry, key: str) -> bool:
    """Whether a row need not be rendered again.

    Parameters
    ----------
    folder : Path
    entry : Entry
        From the manifest.
    key : str
        What the row rests on now.

    Returns
    -------
    bool
        Its key is the same and every file is there, whole.
    """
    return entry.key == key and all(
        (folder / name).is_file() and _digest(folder / name) == digest
        for name, digest in entry.outputs
    )


def _digest(path: Path) -> str:
    with path.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()
