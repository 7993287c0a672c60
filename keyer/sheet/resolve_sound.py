"""From the model of guide track to what the renderer takes."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from keyer.documents.faults import nearest
from keyer.documents.locate import Path
from keyer.documents.reach import Reach
from keyer.kinds.timing import timecode
from keyer.sheet.fault_log import FaultLog
from keyer.sheet.models import DuckTable, LoudnessTable, SoundTable
from keyer.sheet.sound import Duck, Loudness, Sound
from keyer.sheet.source import EffectOf, File, OtherSheet, Source


def resolve_sound(
    log: FaultLog,
    index: int,
    table: SoundTable,
    reach: Reach,
    length: int | None,
    names: Collection[str],
    sources: Mapping[str, Source | None],
) -> Sound:
    """Resolve one sound, noting every fault.

    Parameters
    ----------
    log : FaultLog
    index : int
    table : SoundTable
    reach : Reach
        Where files are found.
    length : int or None
        Of the sheet, in frames.
    names : collection of str
        Of all its sounds.
    sources : mapping of str to Source or None
        Of the sheet; None: it cannot be one.

    Returns
    -------
    Sound
        Of no use if a fault was noted.
    """
    path: Path = ("sound", index)
    log.spans(path, table)
    heard = _heard(log, path, table, reach, sources)
    at, first, fade_in, fade_out = (
        log.time((*path, key), value) or 0
        for key, value in (
            ("at", table.at),
            ("in", table.in_),
            ("fade_in", table.fade_in),
            ("fade_out", table.fade_out),
        )
    )
    end = None if table.out is None else log.time((*path, "out"), table.out)
    if length is not None and at >= length and log.format is not None:
        last = timecode(length - 1, log.format.rate)
        log.fault((*path, "at"), f"must lie within the sheet, frames 0 to {length - 1} ({last}).")
    if end is not None and end <= first:
        log.fault((*path, "out"), f"must come after its in, got frames {first} and {end}.")
    elif end is not None and fade_in + fade_out > end - first:
        log.fault(
            path, f"fades of {fade_in} and {fade_out} frames do not fit into {end - first} frames."
        )
    return Sound(
        index=index,
        file=heard,
        at=at,
        first=first,
        end=end,
        level_db=table.level,
        fade_in=fade_in,
        fade_out=fade_out,
        name=table.name,
        note=table.note,
        duck=None if table.duck is None else _duck(log, path, table, table.duck, names),
    )


def _heard(
    log: FaultLog,
    path: Path,
    table: SoundTable,
    reach: Reach,
    sources: Mapping[str, Source | None],
) -> File | Source:
    """Find what is heard: a file, or the mix of the sheet that a source shows."""
    if table.source is None:
        written = table.file or ""
        if table.file is None and not log.suspect((*path, "file")):
            log.fault(path, "needs a file, or a source that shows another sheet.")
        elif not written.strip():
            log.fault((*path, "file"), "must name a file.")
        return File(log.file((*path, "file"), reach, written), written)
    nothing = File(reach.folder)
    here = (*path, "source")
    if table.file is not None:
        log.fault(here, "one sound is one thing; file is given as well.")
    log.name(here, table.source, sources, "source")
    source = sources.get(table.source)
    if source is None:
        return nothing
    match source.content:
        case OtherSheet(sheet=other, file=file):
            if not other.sounds:
                log.fault(here, f"{file.written} has no sound: leave this one out.")
            if source.speed != 1:
                speed = float(source.speed)
                log.fault(here, f"{table.source!r} runs at speed {speed:g}; sound runs at 1.")
            return source
        case File():
            cure = f"name the clip of {table.source!r} by file."
        case EffectOf():
            cure = f"{table.source!r} is an effect, which has no sound of its own."
        case _:
            cure = f"{table.source!r} is a picture."
    log.fault(here, f"must show another sheet; {cure}")
    return nothing


def _duck(
    log: FaultLog, path: Path, table: SoundTable, duck: DuckTable, names: Collection[str]
) -> Duck | None:
    """Resolve how a sound gives way to another."""
    path = (*path, "duck")
    log.spans(path, duck)
    if duck.under == table.name:
        log.fault((*path, "under"), f"must name another sound than its own, got {duck.under!r}.")
    elif duck.under not in names:
        known = sorted(name for name in names if name and name != table.name)
        hint = nearest(duck.under, known) if known else " No other sound has a name: give it one."
        log.fault((*path, "under"), f"no sound is called {duck.under!r}.{hint}")
    down, up, pause = (
        None if value is None else log.time((*path, key), value)
        for key, value in (("down", duck.down), ("up", duck.up), ("pause", duck.pause))
    )
    if log.format is None:
        return None
    quarter = round(log.format.rate / 4)
    return Duck(
        duck.under,
        duck.level,
        quarter if down is None else down,
        3 * quarter if up is None else up,
        4 * quarter if pause is None else pause,
    )


def resolve_loudness(log: FaultLog, table: LoudnessTable | None) -> Loudness | None:
    """Resolve what is asked of the mix, noting every fault."""
    if table is None:
        return None
    log.spans(("sheet", "loudness"), table)
    return Loudness(table.target, table.tolerance, table.true_peak)
