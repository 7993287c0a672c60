"""From the model of guide track to what the renderer takes."""

from __future__ import annotations

from keyer.documents.locate import Path
from keyer.documents.reach import Reach
from keyer.kinds.timing import timecode
from keyer.sheet.fault_log import FaultLog
from keyer.sheet.models import SoundTable
from keyer.sheet.sound import Sound
from keyer.sheet.source import File


def resolve_sound(
    log: FaultLog, index: int, table: SoundTable, reach: Reach, length: int | None
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
    )
