"""What is said about single frames: a client's remarks, and the frames chosen to be shown."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from keyer.documents.locate import Path
from keyer.kinds.timing import timecode
from keyer.sheet.fault_log import FaultLog
from keyer.sheet.models import RemarkTable


@dataclass(frozen=True)
class Remark:
    """A remark pinned to a frame.

    Attributes
    ----------
    at : int
        Frame of the sheet.
    text : str
    by : str
        Who said it; empty if that is not known.
    """

    at: int
    text: str
    by: str = ""


def resolve_remarks(
    log: FaultLog, tables: Sequence[RemarkTable], length: int | None
) -> tuple[Remark, ...]:
    """Resolve remarks, noting every fault.

    Parameters
    ----------
    log : FaultLog
    tables : sequence of RemarkTable
    length : int or None
        Of the sheet, in frames.

    Returns
    -------
    tuple of Remark
        In order of time.
    """
    found = []
    for index, table in enumerate(tables):
        path = ("remarks", index)
        at = _within(log, (*path, "at"), table.at, length)
        if not table.text.strip():
            log.fault((*path, "text"), "must say something.")
        found.append(Remark(at, table.text, table.by))
    return tuple(sorted(found, key=lambda remark: remark.at))


def resolve_stills(
    log: FaultLog, times: Sequence[str | float], length: int | None
) -> tuple[int, ...]:
    """Resolve the frames chosen to be shown, noting every fault.

    Parameters
    ----------
    log : FaultLog
    times : sequence of str, int or float
    length : int or None
        Of the sheet, in frames.

    Returns
    -------
    tuple of int
        In order of time, each once.
    """
    path = ("sheet", "stills")
    frames = {_within(log, (*path, index), time, length) for index, time in enumerate(times)}
    return tuple(sorted(frames))


def _within(log: FaultLog, path: Path, time: str | float, length: int | None) -> int:
    frame = log.time(path, time) or 0
    if length is not None and frame >= length and log.format is not None:
        last = timecode(length - 1, log.format.rate)
        log.fault(path, f"must lie within the sheet, frames 0 to {length - 1} ({last}).")
    return frame
