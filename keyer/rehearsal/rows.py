"""The rows of the page: the cue sheet's events in words, with what each of them is set to."""

from __future__ import annotations

import contextlib
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

from keyer.documents.locate import read_path
from keyer.kinds.timing import SKIPPED, count_rate, timecode
from keyer.library.looks import load_looks
from keyer.measure.safe_areas import SAFE_AREAS
from keyer.render.lettering import settled
from keyer.render.patterns import sheet_folders, sheet_patterns
from keyer.report.words import (
    colour_words,
    cue_name,
    faded_colour,
    found_pattern,
    key_words,
    overlay_name,
    placement_words,
    transition_words,
    wipe_settings,
)
from keyer.sheet.effect import Keyframe, Transition
from keyer.sheet.sheet import Overlay, Sheet
from keyer.sheet.sound import Sound
from keyer.sheet.source import File, Title

MOST_FILES = 200

BLOCKS = {
    "cues": ("transition", "placement"),
    "overlays": ("key", "transition_in", "transition_out", "placement"),
    "sound": (),
}
"""Tables inside the rows' own."""

INNER = (
    "title", "background", "gradient", "checkerboard", "correct", "modulate", "hold", "fade_in",
    "fade_out", "loudness", "duck",
)  # fmt: skip
"""Tables inside those of sources, of effects and of the whole spot."""


def sheet_facts(sheet: Sheet) -> dict[str, Any]:
    """Say what the page must know of the whole spot.

    Returns
    -------
    dict
        Title, size, rate, length, and how timecode counts.
    """
    video = sheet.format
    return {
        "title": sheet.title or sheet.name,
        "note": sheet.note,
        "format": video.name,
        "width": video.width,
        "height": video.height,
        "shape": float(video.width * video.pixel_aspect / video.height),
        "rate": [video.rate.numerator, video.rate.denominator],
        "count": count_rate(video.rate),
        "skipped": SKIPPED.get(video.rate, 0) if sheet.drop else 0,
        "length": sheet.length,
        "start": sheet.start,
        "stills": list(sheet.stills),
        "safe": _insets(sheet),
        "zones": _zones(sheet),
        "end": timecode(sheet.length + sheet.start, video.rate, drop=sheet.drop),
    }


def _insets(sheet: Sheet) -> list[list[Any]]:
    """How far the safe areas keep from the edges, in percent: the station's, or ST 2046-1's."""
    safe = sheet.title_rules.safe or SAFE_AREAS["st2046-1"]
    areas = (("action", safe.action), ("title", safe.title))
    return [[round(50 * (1 - share), 3), name] for name, share in areas]


def _zones(sheet: Sheet) -> list[dict[str, Any]]:
    """Parts of the picture that the station keeps free, in percent."""
    return [{"name": zone.name, **asdict(zone.place)} for zone in sheet.title_rules.zones]


def sheet_rows(sheet: Sheet) -> list[dict[str, Any]]:
    """Put every cue, overlay and sound into a row, in order of time."""
    found = [*_cues(sheet), *(_overlay(sheet, one) for one in sheet.overlays)]
    found.sort(key=lambda row: (row["start"], row["kind"]))
    for number, row in enumerate(found, 1):
        row["number"] = number
    return [*found, *(_sound(sheet, sound) for sound in sheet.sounds)]


def _cues(sheet: Sheet) -> Iterator[dict[str, Any]]:
    before = ""
    for cue in sheet.cues:
        after = sheet.cues[cue.index + 1] if cue.index + 1 < len(sheet.cues) else None
        stop = sheet.length if after is None else after.at + after.transition.length
        shows = cue.source or colour_words(cue.transition.colour)
        span = cue.at, min(stop, sheet.length)
        row = _row(sheet, "cue", f"cues[{cue.index}]", cue_name(cue), span)
        row |= {
            "index": cue.index,
            "source": cue.source,
            "shows": f"{before} → {shows}" if before else shows,
            "note": cue.note,
            "enter": _transition(sheet, cue.transition, cue.at),
            "leave": None,
            "settles": min(cue.at + cue.transition.length, sheet.length - 1),
            "more": _title_words(sheet, cue.source),
            "moves": _moves(cue.at, cue.standing.keyframes if cue.standing else ()),
        }
        before = shows
        yield row


def _overlay(sheet: Sheet, overlay: Overlay) -> dict[str, Any]:
    name, stop = overlay_name(overlay), min(overlay.stop, sheet.length)
    row = _row(sheet, "overlay", f"overlays[{overlay.index}]", name, (overlay.start, stop))
    key = key_words(overlay.key, dials=sheet.dials) if overlay.key else ""
    more = [key, *_title_words(sheet, overlay.source), placement_words(overlay, sheet.dials)]
    leave = overlay.leave
    settles = sum(settled(sheet, overlay)) // 2
    return row | {
        "index": overlay.index,
        "source": overlay.source,
        "shows": overlay.source,
        "note": overlay.note,
        "enter": _transition(sheet, overlay.enter, overlay.start),
        "leave": _transition(sheet, leave, overlay.stop - leave.length),
        "settles": min(max(settles, overlay.start), sheet.length - 1),
        "keyed": overlay.key.kind if overlay.key else None,
        "more": [words for words in more if words],
        "moves": _moves(overlay.start, overlay.keyframes),
        "masks": _masks(overlay),
    }


def _masks(overlay: Overlay) -> list[dict[str, Any]]:
    """Say where the shapes of garbage and hold-in mattes stand, by frames of the sheet."""
    lists = {"garbage": overlay.key.garbage, "hold": overlay.key.hold} if overlay.key else {}
    return [
        {
            "list": name,
            "index": index,
            "shape": mask.shape,
            "numbers": mask.numbers,
            "soft": mask.soft,
            "source": mask.source,
            "moves": [
                {"at": overlay.start + one.at, "numbers": one.numbers, "curve": one.curve}
                for one in mask.moves
            ],
        }
        for name, masks in lists.items()
        for index, mask in enumerate(masks)
    ]


def _moves(start: int, keyframes: Sequence[Keyframe]) -> list[dict[str, Any]]:
    """Say where a picture stands at each keyframe, by frames of the sheet."""
    return [
        {
            "at": start + one.at,
            "position": [one.pose.x, one.pose.y],
            "scale": one.pose.scale,
            "opacity": one.pose.opacity,
            "turn": one.pose.turn,
            "curve": one.curve,
        }
        for one in keyframes
    ]


def _sound(sheet: Sheet, sound: Sound) -> dict[str, Any]:
    stop = sheet.length if sound.end is None else sound.at + sound.end - sound.first
    name, duck = sound.name or Path(sound.written).stem, sound.duck
    span = sound.at, min(stop, sheet.length)
    row = _row(sheet, "sound", f"sound[{sound.index}]", name, span)
    return row | {
        "index": sound.index,
        "first": sound.first,
        "number": None,
        "source": None,
        "shows": sound.told,
        "note": sound.note,
        "enter": {"start": sound.at, "length": sound.fade_in, "words": "", "kind": "fade"},
        "leave": {
            "start": stop - sound.fade_out, "length": sound.fade_out, "words": "", "kind": "fade",
        },
        "settles": sound.at,
        "more": [
            *([f"{sound.level_db:+g} dB"] if sound.level_db else []),
            *([f"{-duck.level_db:g} dB lower under {duck.under}"] if duck else []),
        ],
    }  # fmt: skip


def _row(sheet: Sheet, kind: str, path: str, name: str, span: tuple[int, int]) -> dict[str, Any]:
    start, stop = span
    return {
        "id": path,
        "kind": kind,
        "name": name,
        "start": start,
        "stop": stop,
        "in": sheet.label(start),
        "out": sheet.label(stop),
    }


def _transition(sheet: Sheet, transition: Transition, start: int) -> dict[str, Any]:
    patterns = sheet_patterns(sheet)
    pattern = found_pattern(transition, patterns)
    said = wipe_settings(transition, patterns, sheet.dials)
    return {
        "start": start,
        "length": transition.length,
        "kind": transition.kind,
        "curve": transition.curve,
        "words": transition_words(transition, patterns),
        "code": pattern.code if pattern else None,
        "pattern": pattern.name if pattern else "",
        "boundary": pattern is not None and pattern.effect == "wipe",
        "colour": faded_colour(transition, patterns),
        "edge": [{"text": one.text, "colour": one.colour} for one in said],
    }


def _title_words(sheet: Sheet, name: str | None) -> list[str]:
    content = sheet.sources[name].content if name else None
    if not isinstance(content, Title):
        return []
    page = [f"Page {content.page}"] if content.page is not None else []
    said = " / ".join(text for _, text in content.fields)
    return [*page, *([f"“{said}”"] if said else [])]


def design_list(folder: Path) -> list[str]:
    """List the title designs that lie beside the sheet, or one folder down."""
    found = []
    for file in sorted([*folder.glob("*.toml"), *folder.glob("*/*.toml")])[:MOST_FILES]:
        with contextlib.suppress(OSError, UnicodeDecodeError):
            if file.is_file() and file.stat().st_size < 2**16:
                text = file.read_text(encoding="utf-8")
                if "[styles." in text and "[[boxes]]" in text:
                    found.append(file.relative_to(folder).as_posix())
    return found


def look_list(sheet: Sheet) -> list[str]:
    """List the moving backgrounds of the library, and the sheet's own."""
    return sorted(load_looks(sheet_folders(sheet)))


def source_list(sheet: Sheet) -> list[dict[str, Any]]:
    """List the sources by name, with what each of them is."""
    return [
        {
            "name": source.name,
            "is": type(source.content).__name__.lower(),
            "file": source.content.written if isinstance(source.content, File) else "",
        }
        for source in sheet.sources.values()
    ]


def remark_list(text: str, sheet: Sheet) -> list[dict[str, Any]]:
    """List the remarks in order of time, each with its number in the text."""
    written = [str(one.get("text")) for one in tomllib.loads(text).get("remarks", [])]
    found = []
    for remark in sheet.remarks:
        index = written.index(remark.text)
        written[index] = "\0"  # each is found once
        found.append({"at": remark.at, "text": remark.text, "by": remark.by, "index": index})
    return found


def settings_of(text: str, sheet: Sheet) -> dict[str, dict[str, Any]]:
    """Say what every row is set to, and where each value comes from.

    Parameters
    ----------
    text : str
        The sheet's own TOML.
    sheet : Sheet
        What it says, with includes and variables worked in.

    Returns
    -------
    dict
        By the path of a table: by key, `value`; `origin`, one of `own`,
        `house`, `variable` and `include`; and `where`, the path at which it
        is changed everywhere, or the sheets that are included.
    """
    origins = _Origins(tomllib.loads(text), sheet.data)
    found = origins.with_inner("sheet", sheet.data["sheet"])
    for name, source in sheet.data.get("sources", {}).items():
        found |= origins.with_inner(f"sources.{name}", source)
        for path in (f"sources.{name}.title.fields", f"sources.{name}.variables"):
            if table := origins.table(path):
                found[path] = table
    for kind, blocks in BLOCKS.items():
        for index, row in enumerate(sheet.data.get(kind, ())):
            path = f"{kind}[{index}]"
            found |= origins.with_inner(path, row)
            for block in (name for name in blocks if name in row):
                homes = "keys" if block == "key" else "transitions"
                home = f"{homes}.{row[block].get('use')}"
                found |= origins.with_inner(f"{path}.{block}", row[block], home)
    return found


@dataclass(frozen=True)
class _Origins:
    """A sheet as it is written, and as it is once all is worked in."""

    raw: Mapping[str, Any]
    worked: Mapping[str, Any]

    @property
    def included(self) -> str:
        """The sheets whose settings apply where this one has none."""
        named = self.raw.get("include", ())
        return named if isinstance(named, str) else ", ".join(named)

    def with_inner(
        self, path: str, table: Mapping[str, Any], home: str = ""
    ) -> dict[str, dict[str, Any]]:
        """Tell of a table and of those inside it, by their paths."""
        inner = [name for name in INNER if isinstance(table.get(name), Mapping)]
        told = {f"{path}.{name}": self.table(f"{path}.{name}") for name in inner}
        return {path: self.table(path, home), **told}

    def table(self, path: str, home: str = "") -> dict[str, Any]:
        """Give each key of a table its value and its origin; `home` is of house settings."""
        own, holds = _at(self.raw, path) or {}, _at(self.worked, path) or {}
        house = _at(self.worked, home) or {} if home else {}
        said: dict[str, Any] = {}
        for key, value in {**house, **holds}.items():
            written = own.get(key) if isinstance(own, Mapping) else None
            origin, where = "own", f"{path}.{key}"
            if key not in holds:
                origin, where = "house", f"{home}.{key}"
            elif written is None:
                origin, where = "include", self.included
            elif isinstance(written, str) and written.startswith("${") and written.endswith("}"):
                origin, where = "variable", f"variables.{written[2:-1]}"
            meant = "mix" if (key, value) == ("kind", "dissolve") else value
            said[key] = {"value": meant, "origin": origin, "where": where}
        return said


def _at(data: Any, path: str) -> Any:
    for step in read_path(path):
        try:
            data = data[step]
        except (KeyError, IndexError, TypeError):
            return None
    return data
