"""Guide track as the renderer takes it: which part of a file, when, how loud; and the whole mix."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from keyer.sheet.source import File, OtherSheet, Source


@dataclass(frozen=True)
class Duck:
    """A sound held down while another is heard.

    Attributes
    ----------
    under : str
        Name of the other; several may have it.
    level_db : float
        By how much it is lower then, at most 0.
    down, up : int
        Over how many frames it goes down, and comes up again.
    pause : int
        Frames; in shorter pauses it stays down.
    """

    under: str
    level_db: float
    down: int
    up: int
    pause: int


@dataclass(frozen=True)
class Loudness:
    """Loudness and true peak that the mix must have.

    Attributes
    ----------
    target : float
        LUFS.
    tolerance : float
        LU to either side.
    true_peak : float
        Highest, dBTP.
    """

    target: float
    tolerance: float
    true_peak: float


@dataclass(frozen=True)
class Sound:
    """A sound file, another sheet's mix, or a part of one, under the pictures.

    Attributes
    ----------
    index : int
        Its place in the sheet.
    file : File or Source
        A source shows another sheet, whose mix is heard from the source's in to its out.
    at : int
        Frame of the sheet on which it begins.
    first : int
        What of it is passed over, in frames of the sheet.
    end : int or None
        Where in it the sound ends, in frames of the sheet; None: at its end.
    level_db : float
    fade_in, fade_out : int
        In frames.
    name, note : str
    duck : Duck or None
    """

    index: int
    file: File | Source
    at: int = 0
    first: int = 0
    end: int | None = None
    level_db: float = 0.0
    fade_in: int = 0
    fade_out: int = 0
    name: str = ""
    note: str = ""
    duck: Duck | None = None

    @property
    def called(self) -> str:
        """What people call it: its name, or that of its file or source."""
        return self.name or Path(self.written).name

    @property
    def written(self) -> str:
        """Its file, or the source that is heard, as the sheet writes it."""
        if isinstance(self.file, Source):
            return self.file.name
        return self.file.written or self.file.path.name

    @property
    def told(self) -> str:
        """The same, with the sheet that a source shows."""
        if isinstance(self.file, Source) and isinstance(self.file.content, OtherSheet):
            return f"{self.written} ({self.file.content.file.written})"
        return self.written
