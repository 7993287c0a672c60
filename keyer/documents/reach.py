"""How far the files may lie that a document names: anywhere, or in one folder alone.

A document of one's own names files wherever they are. One that came inside a picture from
somebody else is confined to the folder that its reader has named.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from keyer.errors import SettingError


@dataclass(frozen=True)
class Reach:
    """The folder from which a document's file names are read, and the one they must not leave.

    Attributes
    ----------
    folder : Path
        From which names are read.
    within : Path or None
        The folder that no file may lie outside of; None: any may.
    """

    folder: Path
    within: Path | None = None

    def find(self, name: str) -> Path:
        """Find a file by its name, whether it is there or not.

        Raises
        ------
        SettingError
            If it lies outside, or no file can be called so.
        """
        if "\0" in name:
            msg = f"must be a name that a file can have, got {name!r:.80}."
            raise SettingError(msg)
        path = self.folder / name
        if not self.holds(path):
            msg = (
                f"must lie in {self.within}, got {name!r:.80}. Name the folder that holds all "
                "files of the sheet."
            )
            raise SettingError(msg)
        return path

    def holds(self, path: Path) -> bool:
        """Whether a file may be read; links count for what they lead to."""
        if self.within is None:
            return True
        try:
            return path.resolve().is_relative_to(self.within.resolve())
        except (OSError, ValueError, RuntimeError):  # a circle of links, a NUL
            return False
