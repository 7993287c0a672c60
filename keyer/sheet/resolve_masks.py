"""Masks and picked areas of a key from their models."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from keyer.documents.locate import Path
from keyer.sheet.effect_models import MaskKeyframeTable, MaskTable
from keyer.sheet.fault_log import FaultLog
from keyer.sheet.masks import SHAPES, Mask, MaskKeyframe

MASKS = ("garbage", "hold")


def read_masks(log: FaultLog, path: Path, tables: Sequence[MaskTable]) -> tuple[Mask, ...]:
    """Make masks, their names not yet looked up.

    Parameters
    ----------
    log : FaultLog
    path : Path
        Of the list.
    tables : sequence of MaskTable

    Returns
    -------
    tuple of Mask
        Those that hold.
    """
    found = (_mask(log, (*path, index), table) for index, table in enumerate(tables))
    return tuple(mask for mask in found if mask is not None)


def _mask(log: FaultLog, path: Path, table: MaskTable) -> Mask | None:
    log.spans(path, table)
    kinds = (*SHAPES, "source")
    given = [kind for kind in kinds if getattr(table, kind) is not None]
    if len(given) != 1:
        if not log.suspect(path):
            log.fault(path, f"must be one of {', '.join(kinds)}, got {len(given)} of them.")
        return None
    if table.source is not None:
        if "soft" in table.model_fields_set:
            log.fault((*path, "soft"), "belongs to a shape; a picture is as soft as it is drawn.")
        if table.keyframes:
            log.fault((*path, "keyframes"), "belong to a shape; a picture moves by itself.")
        return Mask(source=table.source)
    soft = table.soft if 0 <= table.soft <= 100 else 0.0  # its range has been noted
    shape, numbers = given[0], _numbers(table, given[0])
    mask = log.tried((*path, shape), None, Mask, shape, numbers, soft)
    moves = _moves(log, (*path, "keyframes"), table, shape)
    return mask and replace(mask, moves=moves)


def _numbers(table: MaskTable | MaskKeyframeTable, shape: str) -> tuple[float, ...]:
    value = getattr(table, shape)
    return tuple(part for corner in value for part in corner) if shape == "polygon" else value


def _moves(log: FaultLog, path: Path, table: MaskTable, shape: str) -> tuple[MaskKeyframe, ...]:
    """Make the keyframes of a shape, each of its kind and with as many corners."""
    found: list[MaskKeyframe] = []
    count = len(_numbers(table, shape))
    for index, frame in enumerate(table.keyframes):
        here = (*path, index)
        others = [kind for kind in SHAPES if kind != shape and getattr(frame, kind) is not None]
        if others or getattr(frame, shape) is None:
            if not log.suspect(here):
                log.fault(here, f"must have the mask's own shape, {shape}.")
            continue
        numbers = _numbers(frame, shape)
        if len(numbers) != count:
            message = f"must have {count // 2} corners as the mask has, got {len(numbers) // 2}."
            log.fault((*here, shape), message)
            continue
        log.tried((*here, shape), None, Mask, shape, numbers)
        at = log.time((*here, "at"), frame.at)
        if at is None:
            continue
        if found and at <= found[-1].at:
            log.fault((*here, "at"), "keyframes must be in order of time, each later.")
            continue
        found.append(MaskKeyframe(at, numbers, frame.curve))
    return tuple(found)


def named_masks(
    log: FaultLog, path: Path, tables: Sequence[MaskTable], sources: Iterable[str]
) -> tuple[Mask, ...]:
    """Make masks and look their sources up; faults but for names have been noted before.

    Parameters
    ----------
    log : FaultLog
    path : Path
        Of the list, here or in the house settings.
    tables : sequence of MaskTable
    sources : iterable of str
    """
    known = list(sources)
    for index, table in enumerate(tables):
        if table.source is not None:
            log.name((*path, index, "source"), table.source, known, "source")
    quiet = FaultLog(log.places, log.bad, complete=log.complete)
    quiet.format = log.format
    return read_masks(quiet, path, tables)


def check_sample(log: FaultLog, path: Path, sample: tuple[float, float, float, float]) -> None:
    """Note an area that is none, or that leaves the picture."""
    left, top, width, height = sample
    if min(width, height) <= 0 <= min(left, top):
        log.fault(path, "must have a width and a height.")
    elif left + width > 100 or top + height > 100:
        log.fault(path, "must lie inside the picture: left + width and top + height up to 100.")
