"""The effect sheet as the renderer takes it: names checked, times in frames, colours as numbers."""

from __future__ import annotations

import json
import os
from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from pathlib import Path
from typing import Any

from keyer.documents.faults import Places, sheet_error
from keyer.documents.locate import Path as KeyPath
from keyer.documents.locate import read_path
from keyer.errors import Fault, SheetError
from keyer.kinds.formats import VideoFormat
from keyer.kinds.settings import BoxLook, Correction, Light, Rgb
from keyer.kinds.timing import eased, timecode
from keyer.measure.title_rules import NO_RULES, TitleRules
from keyer.sheet.dials import NO_DIALS, Dials
from keyer.sheet.effect import Transition, WholeFade
from keyer.sheet.place_names import said_frame
from keyer.sheet.remarks import Remark
from keyer.sheet.sound import Loudness, Sound
from keyer.sheet.source import EffectOf, File, OtherSheet, Source
from keyer.sheet.stack import BaseFrame, Cue, NamedEffect, Overlay
from keyer.sheet.station import Station

__all__ = ["BaseFrame", "Cue", "NamedEffect", "Overlay", "Sheet"]


_PLAIN = {
    "look": BoxLook(),
    "turn": 0.0,
    "standing": None,
    "duck": None,
    "moves": (),
    "rest": None,
    "keep": (50.0, 50.0),
    "correction": Correction(),
    "match": None,
}
"""Parts that are not in the digest where they are these: it is older than they are."""

_LATER = ("effects", "fade_in", "fade_out", "loudness")
"""Fields that are not in the digest of a sheet that has none: it is older than they are."""


@dataclass(frozen=True)
class Sheet:
    """An effect sheet with all times as frames and all names looked up.

    Two sheets are equal when they say the same, however they are written.

    Attributes
    ----------
    title, note : str
    format : VideoFormat
    length : int
        Frames.
    light : {"video", "linear"}
    start : int
        Frame number of the timecode on the first frame.
    drop : bool
        Whether timecode is printed as drop-frame.
    sources : mapping of str to Source
    cues : tuple of Cue
        At least one; the first at 0.
    overlays : tuple of Overlay
        Lowest first.
    sounds : tuple of Sound
        In the order of the sheet.
    loudness : Loudness or None
        What the sheet asks of their mix.
    patterns : tuple of File
        Folders of the user's own patterns and backgrounds.
    effects : mapping of str to NamedEffect
        For sources to show.
    fade_in, fade_out : WholeFade or None
        Of all of it, at its start and at its end.
    remarks : tuple of Remark
        In order of time; they change no picture, and no digest.
    stills : tuple of int
        Frames chosen to be shown to a client.
    named : mapping
        Frames of the times that it gives by name, by path.
    station : Station or None
        The rules that it is held against; they change no picture, and no digest.
    documents : tuple of Path
        The files that it was read from: its own, if it has one, its includes and its rules.
    name : str
        File name, for messages.
    folder : Path
        From which files are found.
    confined : Path or None
        The folder that they must lie in; None: they may lie anywhere.
    prefix : str
        Path of an effect whose cues and overlays these are; empty for a whole sheet.
    text : str
        The TOML it was read from.
    data : mapping
        What is written as plain data, included settings and variables worked in.
    unfilled : mapping
        The same with the variables where they stand, and their table.
    places : Places
    """

    title: str
    note: str
    format: VideoFormat
    length: int
    light: Light
    start: int
    drop: bool
    sources: Mapping[str, Source]
    cues: tuple[Cue, ...]
    overlays: tuple[Overlay, ...]
    sounds: tuple[Sound, ...] = ()
    loudness: Loudness | None = None
    patterns: tuple[File, ...] = ()
    effects: Mapping[str, NamedEffect] = field(default_factory=dict)
    fade_in: WholeFade | None = None
    fade_out: WholeFade | None = None
    remarks: tuple[Remark, ...] = field(default=(), compare=False)
    stills: tuple[int, ...] = field(default=(), compare=False)
    named: Mapping[KeyPath, int] = field(default_factory=dict, compare=False, repr=False)
    station: Station | None = field(default=None, compare=False)
    documents: tuple[Path, ...] = field(default=(), compare=False)
    name: str = field(default="sheet", compare=False)
    folder: Path = field(default=Path(), compare=False)
    confined: Path | None = field(default=None, compare=False)
    prefix: str = field(default="", compare=False)
    text: str = field(default="", compare=False, repr=False)
    data: Mapping[str, Any] = field(default_factory=dict, compare=False, repr=False)
    unfilled: Mapping[str, Any] = field(default_factory=dict, compare=False, repr=False)
    places: Places = field(default_factory=lambda: Places("sheet", {}), compare=False, repr=False)

    def within(self, name: str) -> Sheet:
        """Take one of its effects as a sheet of its own: all else, sound left out, is shared."""
        effect = self.effects[name]
        return replace(
            self,
            title=name,
            note=effect.note,
            length=effect.length,
            start=0,
            cues=effect.cues,
            overlays=effect.overlays,
            sounds=(),
            fade_in=None,
            fade_out=None,
            prefix=f"effects.{name}.",
        )

    def levels(self) -> Iterator[Sheet]:
        """Yield the sheet, and each of its effects that is shown somewhere in it as a sheet."""
        todo, known = [self], {self.prefix}
        while todo:
            sheet = todo.pop(0)
            yield sheet
            for name in sorted(sheet.shown_here()):
                content = self.sources[name].content if name in self.sources else None
                if isinstance(content, EffectOf) and f"effects.{content.effect}." not in known:
                    known.add(f"effects.{content.effect}.")
                    todo.append(self.within(content.effect))

    @property
    def dials(self) -> Dials:
        """How the station's desk marks its settings; empty where no rules say it."""
        return self.station.dials if self.station else NO_DIALS

    @property
    def title_rules(self) -> TitleRules:
        """What the station asks of titles; nothing where no rules are named."""
        return self.station.titles if self.station else NO_RULES

    @property
    def keyed_by_chroma(self) -> bool:
        """Whether one of its overlays has a chroma key, whose settings a picture may decide."""
        return any(one.key is not None and one.key.kind == "chroma" for one in self.overlays)

    def shown(self) -> set[str]:
        """Names of the sources that it shows, itself or within its effects."""
        return {name for level in self.levels() for name in level.shown_here()}

    def shown_here(self) -> set[str]:
        """Names of the sources that its own cues, overlays, keys and borders show."""
        names = {cue.source for cue in self.cues}
        names |= {overlay.source for overlay in self.overlays}
        for overlay in self.overlays:
            names |= set(overlay.key.sources if overlay.key else ())
        names |= {move.border_source for _, move in self.transitions()}
        found = {name for name in names if name is not None}
        matched = {self.sources[name].match for name in found if name in self.sources}
        return found | {name for name in matched if name is not None}

    def transitions(self) -> list[tuple[str, Transition]]:
        """List every transition with its path."""
        found = [(f"cues[{cue.index}].transition", cue.transition) for cue in self.cues]
        for overlay in self.overlays:
            path = f"overlays[{overlay.index}]"
            found.append((f"{path}.transition_in", overlay.enter))
            found.append((f"{path}.transition_out", overlay.leave))
        return found

    def base_at(self, frame: int) -> BaseFrame:
        """Say what the base shows at a frame.

        Parameters
        ----------
        frame : int
            0 .. length - 1.

        Raises
        ------
        TimeError
            If the frame lies outside the sheet.
        """
        self.frame(frame)
        cue = self.cues[bisect_right(self.cues, frame, key=lambda cue: cue.at) - 1]
        index = frame - cue.at
        if index >= cue.transition.length:
            return BaseFrame(cue)
        before = self.cues[cue.index - 1] if cue.index else None
        return BaseFrame(cue, before, cue.transition.progress(index))

    def until(self, cue: Cue) -> int:
        """Frame at which the next cue begins, or the sheet ends."""
        after = cue.index + 1
        return self.cues[after].at if after < len(self.cues) else self.length

    def gone(self, frame: int) -> tuple[Rgb, float]:
        """Say how much of a frame a colour has taken, overlays and all.

        Returns
        -------
        colour : tuple of three floats
        share : float
            0 nothing, 1 all of it.
        """
        coming, going = self.fade_in, self.fade_out
        if coming is not None and frame < coming.length:
            return coming.colour, 1.0 - eased(coming.curve, max(frame, 0) / coming.length)
        if going is not None and frame >= self.length - going.length:
            passed = min(frame - self.length + going.length + 1, going.length)
            return going.colour, eased(going.curve, passed / going.length)
        return (0.0, 0.0, 0.0), 0.0

    def frame(self, value: str | float, name: str = "at", *, end: bool = False) -> int:
        """Read a time as people say it, and see that it lies within the sheet.

        Parameters
        ----------
        value : str, int or float
            Frames, seconds, timecode, or a place: `keyer.sheet.place_names`.
        name : str
            How the user calls the parameter.
        end : bool
            Whether the end of the sheet, after its last frame, is one too.

        Raises
        ------
        TimeError
        """
        return said_frame(self, value, name, self.length if end else self.length - 1)

    def label(self, frame: int) -> str:
        """Timecode printed for a frame, counted from the sheet's `start`."""
        return timecode(frame + self.start, self.format.rate, drop=self.drop)

    def locate(self, path: str) -> int | None:
        """Line of a key, e.g. `cues[1].transition.pattern`, or of the table around it."""
        place = self.places.find(read_path(path))
        return place.line if place else None

    def fault(self, path: str, message: str) -> Fault:
        """Make a fault at a path, for what only a later stage can see."""
        own = self.prefix if path.startswith(("cues", "overlays")) else ""
        return self.places.fault(read_path(own + path), message)

    def error(self, faults: Iterable[Fault]) -> SheetError:
        """Make the error that lists faults of this sheet, in the order of the file."""
        return sheet_error(self.name, faults)

    @property
    def digest(self) -> str:
        """SHA-256 of what the sheet says, the same however and wherever it is written."""
        import hashlib  # with all of OpenSSL, which most commands have no use for

        said = {part.name: getattr(self, part.name) for part in fields(self) if part.compare}
        said = {name: value for name, value in said.items() if value or name not in _LATER}
        plain = json.dumps(said, default=self._plain, sort_keys=True, separators=(",", ":"))
        return hashlib.sha256(plain.encode()).hexdigest()

    def _plain(self, value: Any) -> Any:
        """Write dataclasses, files and fractions as plain data, with the names of classes."""
        if isinstance(value, File):
            return {"is": "File", "path": value.written or value.path.name}
        if isinstance(value, OtherSheet):
            return {"is": "OtherSheet", "file": value.file, "digest": value.digest}
        if isinstance(value, Path):
            return Path(os.path.relpath(value, self.folder)).as_posix()
        if is_dataclass(value):
            compared = {
                part.name: getattr(value, part.name) for part in fields(value) if part.compare
            }
            said = {
                name: part
                for name, part in compared.items()
                if name not in _PLAIN or part != _PLAIN[name]
            }
            return {"is": type(value).__name__, **said}
        return str(value)
