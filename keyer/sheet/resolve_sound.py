"""From the model of guide track to what the renderer takes."""

from __future__ import annotations

from collections.abc import Collection

from keyer.documents.faults import nearest
from keyer.documents.locate import Path
from keyer.documents.reach import Reach
from keyer.kinds.timing import timecode
from keyer.sheet.fault_log import FaultLog
from keyer.sheet.models import DuckTable, LoudnessTable, SoundTable
from keyer.sheet.sound import Duck, Loudness, Sound
from keyer.sheet.source import File


def resolve_sound(
    log: FaultLog,
    index: int,
    table: SoundTable,
    reach: Reach,
    length: int | None,
    names: Collection[str],
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

    Returns
    -------
    Sound
        Of no use if a fault was noted.
    """
    path: Path = ("sound", index)
    log.spans(path, table)
    if not table.file.strip():
        log.fault((*path, "file"), "must name a file.")
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
        file=File(log.file((*path, "file"), reach, table.file), table.file),
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
