"""From plain data to the models, with every refusal in the words of the trade."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from keyer.documents.faults import Places
from keyer.documents.locate import Path
from keyer.documents.refusals import model_at, refusal
from keyer.errors import Fault
from keyer.sheet.models import Document

_STAND_IN: dict[str, Any] = {
    "version": 1,
    "sheet": {},
    "format": "1080p25",
    "length": 0,
    "cues": [],
    "source": "",
    "file": "",
    "at": 0,
    "first": "#000000",
    "second": "#000000",
}
"""Harmless values for keys that must be there, so that the rest can be checked without them."""

_ROUNDS = 8


def check_document(
    data: dict[str, Any], places: Places
) -> tuple[Document | None, list[Fault], set[Path]]:
    """Check plain data against the models.

    Parameters
    ----------
    data : dict
        As TOML gives it.
    places : Places

    Returns
    -------
    document : Document or None
        What can be understood, harmless values in place of what cannot; None
        if nothing can.
    faults : list of Fault
    bad : set of paths
        Keys whose values in `document` are not the sheet's own.
    """
    data = copy.deepcopy(data)
    faults: list[Fault] = []
    bad: set[Path] = set()
    for turn in range(_ROUNDS):
        try:
            return Document.model_validate(data), faults, bad
        except ValidationError as error:
            for where, detail in _located(error, data):
                path = where
                missing = detail["type"] == "missing"
                if isinstance(path[-1], int) and missing:  # a pair of numbers that lacks one
                    path, missing = path[:-1], False
                bad.add(path)
                if turn == 0:
                    fault = places.fault(path, refusal(detail, path, Document))
                    faults.append(replace(fault, missing=missing))
                _mend(data, path, missing=missing)
    return None, faults, bad


def _located(error: ValidationError, data: Any) -> list[tuple[Path, ErrorDetails]]:
    """Find where each refusal stands; of a value that may be of several kinds only the nearest."""
    found: dict[Path, ErrorDetails] = {}
    several: set[Path] = set()
    for detail in error.errors(include_url=False):
        where = tuple(detail["loc"])
        path = _without_kinds(where, data, missing=detail["type"] == "missing")
        if path != where:
            several.add(path)
        found.setdefault(path, detail)
    return [
        (path, detail)
        for path, detail in found.items()
        if not (path in several and any(path == other[: len(path)] != other for other in several))
    ]


def _without_kinds(path: Path, data: Any, *, missing: bool) -> Path:
    """Leave out steps that stand for a kind of value rather than for a key."""
    steps: list[str | int] = []
    for number, step in enumerate(path):
        there = step in data if isinstance(data, Mapping) else isinstance(step, int)
        if not there and isinstance(step, str) and not (missing and number + 1 == len(path)):
            continue
        steps.append(step)
        try:
            data = data[step]
        except (KeyError, IndexError, TypeError):
            data = None
    return tuple(steps)


def _mend(data: dict[str, Any], path: Path, *, missing: bool) -> None:
    """Take a faulty value out, or put a harmless one in."""
    holder: Any = data
    target = path
    if not missing and model_at(path, Document) is None:
        while target and isinstance(target[-1], int):  # a list of numbers goes as a whole
            target = target[:-1]
    for step in target[:-1]:
        try:
            holder = holder[step]
        except (KeyError, IndexError, TypeError):
            return
    last = target[-1]
    if missing:
        holder[last] = copy.deepcopy(_STAND_IN.get(str(last), ""))
    elif isinstance(last, int):
        holder[last] = {}  # keeps the others in their places
    elif len(target) == 2 and target[0] in {"sources", "transitions", "keys", "effects"}:
        holder[last] = {}  # keeps the name known
    elif isinstance(holder, dict) and last in holder:
        del holder[last]
