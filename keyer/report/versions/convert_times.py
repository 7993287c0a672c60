"""The times of a sheet at another rate, by the rules of `keyer.report.versions.convert`."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from keyer.documents.locate import Path, show_path
from keyer.kinds.formats import VideoFormat
from keyer.kinds.timing import SKIPPED, can_drop, count_rate, parse_time, timecode
from keyer.media.sequence import is_pattern
from keyer.sheet.keys import pixel_keys, time_keys
from keyer.sheet.labels import label_of
from keyer.sheet.place_names import places
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import EffectOf, File

_HALF = Fraction(1, 2)

_RULES = {
    ("cues", "at"): "point",
    ("overlays", "in"): "point",
    ("overlays", "out"): "end",
    ("sound", "at"): "point",
    ("sound", "in"): "near",
    ("sound", "out"): "near",
    ("remarks", "at"): "point",
    ("sources", "at"): "point",
    ("sheet", ""): "point",  # the stills
}
"""What is done with the times of a table; others are lengths."""


@dataclass(frozen=True)
class Rounding:
    """A time that had to be rounded to a frame of the new rate.

    Attributes
    ----------
    who : str
        In words: `Shot 2, starts`.
    before, now : str
        As timecode, or a number of frames.
    seconds : Fraction
        How much later or longer it is.
    path : str
    """

    who: str
    before: str
    now: str
    seconds: Fraction
    path: str

    def __str__(self) -> str:
        """Say in a line which time moved, and by how much."""
        off = float(abs(self.seconds) * 1000)
        which = ("later", "earlier") if _is_point(self.path) else ("longer", "shorter")
        said = f"{off:.1f} ms {which[self.seconds < 0]}" if self.seconds else "at the same time"
        return f"{self.who} {self.before} → {self.now}: {said}"


def _is_point(path: str) -> bool:
    return path.rpartition(".")[2] in {"at", "in", "out"} or path.startswith("sheet.stills")


class Conversion:
    """The changes that convert a sheet."""

    def __init__(self, sheet: Sheet, form: VideoFormat, *, keep: bool) -> None:
        self.sheet, self.form, self.keep = sheet, form, keep
        self.changes: dict[str, Any] = {"sheet.format": form.name}
        self.roundings: list[Rounding] = []
        self.notices: list[str] = []
        self.old, self.new = sheet.format.rate, form.rate
        self.ratio = self.new / self.old
        self.whole = self._standard(sheet.length)
        self.ends: dict[Path, tuple[int, int]] = {(): (sheet.length, self.whole)}
        for name, effect in sheet.effects.items():
            own = "length" in sheet.data["effects"][name]
            now = self._standard(effect.length) if own else self.whole
            self.ends["effects", name] = effect.length, now

    def all(self) -> None:
        """Convert every time and every measure in pixels."""
        if self.ratio != 1:
            for path, value in time_keys(self.sheet.data):
                self._convert(path, value)
            self._fit((), self.sheet.data)
            for name, table in self.sheet.data.get("effects", {}).items():
                self._fit(("effects", name), table)
            self._sequences()
        scale = self.form.height / self.sheet.format.height
        for where, size, power in pixel_keys(self.sheet.data):
            now = float(f"{size * scale**power:.4g}")
            if now != size:
                self.changes[show_path(where)] = now
                self.notices.append(f"{show_path(where)}: {size:g} → {now:g} pixels.")

    # --- rules

    def _near(self, frame: int) -> int:
        """Find the nearest frame by time."""
        return math.floor(frame * self.ratio + _HALF)

    def _point(self, frame: int, level: Path, *, end: bool = False) -> int:
        """Convert a point; the end stays the end, and what is on air stays within."""
        before, now = self.ends[level]
        if frame >= before:
            return now
        return min(self._near(frame), now if end else now - 1)

    def _standard(self, length: int) -> int:
        """Convert the length of the whole: whole seconds of timecode stay such."""
        seconds, rest = divmod(length, count_rate(self.old))
        return max(self._near(length), 1) if rest else seconds * count_rate(self.new)

    def _length(self, frames: int) -> int:
        """Convert a length that is used in several places."""
        return frames if self.keep else max(self._near(frames), min(frames, 1))

    def _between(self, first: int, last: int, level: Path) -> int:
        """Convert a length by where it begins and ends."""
        if self.keep:
            return last - first
        now = self._point(last, level, end=True) - self._point(first, level, end=True)
        return max(now, min(last - first, 1))

    # --- times

    def _convert(self, path: Path, value: Any) -> None:
        level, inner = _level(path)
        match inner:
            case ("sheet", "start"):
                self._put(path, value, self._start(), self.sheet.start)
                return
            case ("sheet", "length"):
                frame, now = self.sheet.length, self.whole
            case ("effects", name, "length"):
                frame, now = self.ends["effects", str(name)]
            case ("sources", str(name), "in" | "out"):
                self._trim(path, name, value)
                return
            case _:
                named = self.sheet.named.get(path)
                frame = parse_time(value, self.old) if named is None else named
                now = self._other(inner, frame, level)
        self._put(path, value, now, frame)

    def _other(self, inner: Path, frame: int, level: Path) -> int:
        """Convert a time of a shot, an overlay, a sound, or one that is used in several places."""
        last = inner[-1] if isinstance(inner[-1], str) else ""
        rule = _RULES.get((str(inner[0]), last), "") if len(inner) == 3 else ""
        if inner[:1] == ("sheet",) and last:
            rule = "first" if inner[1] == "fade_in" else "last"
        elif len(inner) > 3 and inner[0] in {"cues", "overlays"}:
            rule = "within"
        match rule:
            case "point" | "end":
                return self._point(frame, level, end=rule == "end")
            case "near":
                return self._near(frame)
            case "first":
                return self._between(0, frame, level)
            case "last":
                return self._between(self.sheet.length - frame, self.sheet.length, level)
            case "within":
                return self._within(inner, frame, level)
        return self._length(frame)

    def _within(self, inner: Path, frame: int, level: Path) -> int:
        """Convert a time that counts from a shot or an overlay."""
        here = self._level_sheet(level)
        path = f"{inner[0]}[{inner[1]}]"
        place = next(place for place in places(here) if place.path == path)
        if inner[-1] == "at" and "keyframes" in inner:
            keep, self.keep = self.keep, False
            now = self._between(place.start, place.start + frame, level)
            self.keep = keep
            return now if frame else 0
        if inner[2:] == ("transition_out", "length"):
            return self._between(place.stop - frame, place.stop, level)
        if inner[2:] in {("transition", "length"), ("transition_in", "length")}:
            return self._between(place.start, place.start + frame, level)
        return self._length(frame)

    def _level_sheet(self, level: Path) -> Sheet:
        return self.sheet.within(str(level[1])) if level else self.sheet

    def _trim(self, path: Path, name: str, value: Any) -> None:
        """Convert the in and out of an effect; a clip counts in frames of its own."""
        content = self.sheet.sources[name].content
        if isinstance(content, EffectOf):
            frame = parse_time(value, self.old)
            self._put(path, value, self._near(frame), frame)
        elif self._is_sequence(content):
            self.changes[show_path(path)] = parse_time(value, self.old)

    @staticmethod
    def _is_sequence(content: Any) -> bool:
        """Whether a source is numbered stills, which run at the sheet's rate."""
        return isinstance(content, File) and (content.path.is_dir() or is_pattern(content.path))

    def _sequences(self) -> None:
        """Let numbered stills run as fast as they did."""
        for name, source in self.sheet.sources.items():
            if self._is_sequence(source.content):
                speed = float(source.speed / self.ratio)
                self.changes[show_path(("sources", name, "speed"))] = speed
                self.notices.append(
                    f"source {name} is numbered stills, which run at the sheet's rate: at speed "
                    f"{speed:.6g} they take as long as they did."
                )

    def _start(self) -> int:
        """Convert the timecode of the first frame: the label stays, its frames to the nearest."""
        label = timecode(self.sheet.start, self.old, drop=self.sheet.drop)
        clock, frames = label[:8], int(label[9:])
        counts = count_rate(self.old), count_rate(self.new)
        near = min(math.floor(Fraction(frames * counts[1], counts[0]) + _HALF), counts[1] - 1)
        if can_drop(self.new) and self._drops():
            leaves_out = clock.endswith(":00") and int(clock[3:5]) % 10 != 0
            near = max(near, SKIPPED[self.new]) if leaves_out else near
            return parse_time(f"{clock};{near:02d}", self.new)
        return parse_time(f"{clock}:{near:02d}", self.new)

    def _drops(self) -> bool:
        """Whether the paper prints drop-frame: where it exists, unless it did not before."""
        return can_drop(self.new) and (self.sheet.drop or not can_drop(self.old))

    # --- writing

    def _put(self, path: Path, value: Any, now: int, before: int) -> None:
        """Write a time as it was written, and note where it is not the same."""
        where = show_path(path)
        exact = None if path in self.sheet.named else _seconds(value)
        if exact is None or exact * self.new != now:
            written = self._as_written(value, now)
            if written != value:
                self.changes[where] = written
        if path == ("sheet", "start"):
            return
        off = now / self.new - before / self.old
        if off:
            self.roundings.append(self._rounding(path, before, now, off))

    def _as_written(self, value: Any, now: int) -> int | str:
        if isinstance(value, int | float):
            return now
        text = value.strip()
        if text.rstrip("f").isdigit():
            return f"{now}f" if text.endswith("f") else str(now)
        return timecode(now, self.new, drop=self._drops())

    def _rounding(self, path: Path, before: int, now: int, off: Fraction) -> Rounding:
        lasting = not _is_point(show_path(path)) and path[-2:] != ("sheet", "length")
        if lasting:
            said = f"{before} frames", f"{now} frames"
        else:
            said = (
                timecode(before, self.old, drop=self.sheet.drop),
                timecode(now, self.new, drop=self._drops()),
            )
        return Rounding(_who(path), *said, off, show_path(path))

    # --- what must fit

    def _fit(self, level: Path, table: Mapping[str, Any]) -> None:
        """Shorten transitions of the house, or kept in frames, that run past the next shot."""
        here = self._level_sheet(level)
        starts = [self._point(cue.at, level) for cue in here.cues] + [self.ends[level][1]]
        for cue, row in zip(here.cues, table["cues"], strict=True):
            room = starts[cue.index + 1] - starts[cue.index]
            path = (*level, "cues", cue.index, "transition", "length")
            if cue.transition.length and self._now(path, row) > room:
                self.changes[show_path(path)] = room
                self.notices.append(f"{_who(path)} is {room} frames, which is all that fits.")

    def _now(self, path: Path, row: Mapping[str, Any]) -> int:
        """Length of a cue's transition once converted."""
        own = row.get("transition", {})
        house = self.sheet.data.get("transitions", {}).get(own.get("use"), {})
        if "length" in own:
            written, where = own["length"], show_path(path)
        elif "length" in house:
            written, where = house["length"], show_path(("transitions", own["use"], "length"))
        else:
            return count_rate(self.new)
        return parse_time(self.changes.get(where, written), self.new)


def _level(path: Path) -> tuple[Path, Path]:
    """Part a path into the effect that it stands in, if any, and the rest."""
    if path[0] == "effects" and path[2] in {"cues", "overlays"}:
        return path[:2], path[2:]
    return (), path


def _seconds(value: Any) -> Fraction | None:
    """Read seconds; None for what is written otherwise."""
    if isinstance(value, str) and value.strip().endswith("s"):
        return Fraction(value.strip().removesuffix("s").strip())
    return None


def _who(path: Path) -> str:
    """Call a key as a person would."""
    level, inner = _level(path)
    kinds = {"cues": "Shot", "overlays": "Overlay", "sound": "Sound", "remarks": "Remark"}
    head = f"Effect {path[1]}, " if level else ""
    if inner[0] in kinds and isinstance(inner[1], int):
        head += f"{kinds[str(inner[0])]} {inner[1] + 1}, "
        inner = inner[2:]
    elif inner[0] == "sheet":
        inner = inner[1:]
    words = [str(step + 1) if isinstance(step, int) else label_of(step).lower() for step in inner]
    said = head + " ".join(words)
    return said[:1].upper() + said[1:]
