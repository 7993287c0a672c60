"""Masks and picked areas of a key from their models."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from keyer.documents.locate import Path
from keyer.sheet.effect_models import MaskTable
from keyer.sheet.masks import SHAPES, Mask
from keyer.sheet.notes import Notes

MASKS = ("garbage", "hold")


def read_masks(notes: Notes, path: Path, tables: Sequence[MaskTable]) -> tuple[Mask, ...]:
    """Make masks, their names not yet looked up.

    Parameters
    ----------
    notes : Notes
    path : Path
        Of the list.
    tables : sequence of MaskTable

    Returns
    -------
    tuple of Mask
        Those that hold.
    """
    found = (_mask(notes, (*path, index), table) for index, table in enumerate(tables))
    return tuple(mask for mask in found if mask is not None)


def _mask(notes: Notes, path: Path, table: MaskTable) -> Mask | None:
    notes.spans(path, table)
    kinds = (*SHAPES, "source")
    given = [kind for kind in kinds if getattr(table, kind) is not None]
    if len(given) != 1:
        if not notes.touched(path):
            notes.fault(path, f"must be one of {', '.join(kinds)}, got {len(given)} of them.")
        return None
    if table.source is not None:
        if "soft" in table.model_fields_set:
            notes.fault((*path, "soft"), "belongs to a shape; a picture is as soft as it is drawn.")
        return Mask(source=table.source)
    value = getattr(table, given[0])
    numbers = [part for corner in value for part in corner] if given[0] == "polygon" else value
    soft = table.soft if 0 <= table.soft <= 100 else 0.0  # its range has been noted
    return notes.tried((*path, given[0]), None, Mask, given[0], tuple(numbers), soft)


def named_masks(
    notes: Notes, path: Path, tables: Sequence[MaskTable], sources: Iterable[str]
) -> tuple[Mask, ...]:
    """Make masks and look their sources up; faults but for names have been noted before.

    Parameters
    ----------
    notes : Notes
    path : Path
        Of the list, here or in the house settings.
    tables : sequence of MaskTable
    sources : iterable of str

    Returns
    -------
    tuple of Mask
    """
    known = list(sources)
    for index, table in enumerate(tables):
        if table.source is not None:
            notes.name((*path, index, "source"), table.source, known, "source")
    quiet = Notes(notes.places, notes.bad, complete=notes.complete)
    return read_masks(quiet, path, tables)


def check_sample(notes: Notes, path: Path, sample: tuple[float, float, float, float]) -> None:
    """Note an area that is none, or that leaves the picture."""
    left, top, width, height = sample
    if min(width, height) <= 0 <= min(left, top):
        notes.fault(path, "must have a width and a height.")
    elif left + width > 100 or top + height > 100:
        notes.fault(path, "must lie inside the picture: left + width and top + height up to 100.")
