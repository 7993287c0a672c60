"""From the models of sources to those that the renderer takes."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from fractions import Fraction
from pathlib import Path as FilePath
from typing import Any

from keyer.documents.locate import Path
from keyer.documents.reach import Reach
from keyer.errors import KeyerError
from keyer.kinds.look import MOST_COLOURS
from keyer.kinds.settings import Correction
from keyer.sheet.fault_log import FaultLog
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import (
    Background,
    Bars,
    Checkerboard,
    Clear,
    Content,
    EffectOf,
    File,
    Gradient,
    OtherSheet,
    PlainColour,
    Ramp,
    Source,
    Title,
)
from keyer.sheet.source_models import BackgroundTable, CorrectTable, SourceTable, TitleTable

CONTENTS = (
    "file", "colour", "gradient", "bars", "ramp", "checkerboard", "title", "background", "clear",
    "effect", "sheet",
)  # fmt: skip
"""Keys of a source that say what it is."""

_OF_CLIPS = ("in_", "out", "at", "speed", "loop", "freeze")


Loader = Callable[[FilePath, dict[str, Any]], Sheet]
"""Loads another sheet, with values for its variables."""


def resolve_source(
    log: FaultLog, name: str, table: SourceTable, reach: Reach, load: Loader
) -> Source | None:
    """Resolve a source, noting every fault.

    Parameters
    ----------
    log : FaultLog
    name : str
    table : SourceTable
    reach : Reach
        Where files are found.
    load : callable
        Loads another sheet.

    Returns
    -------
    Source or None
        None if what is written cannot be one.
    """
    path = ("sources", name)
    given = [key for key in CONTENTS if getattr(table, key) is not None]
    _check_kind(log, path, table, given)
    log.spans(path, table)
    if "keep" in table.model_fields_set and table.fit not in {"cover", "none"}:
        log.fault((*path, "keep"), f"has nothing to keep: fit {table.fit!r} crops nothing.")
    for key, value in (("in", table.in_), ("out", table.out)):
        if value is not None:  # at the clip's own rate later; here for the way it is written
            log.written_time((*path, key), value)
    at = None if table.at is None else log.time((*path, "at"), table.at)
    if table.loop and table.freeze:
        log.fault((*path, "freeze"), "a clip either loops or freezes when it ends.")
    if len(given) != 1 or log.suspect(path):
        return None
    content = _content(log, path, table, reach, load)
    if content is None:
        return None
    return Source(
        name=name,
        content=content,
        fit=table.fit,
        trim=(table.in_, table.out),
        at=at,
        speed=Fraction(repr(table.speed)) if math.isfinite(table.speed) else Fraction(1),
        loop=table.loop or (isinstance(content, Background) and content.loop > 0),
        freeze=table.freeze,
        keep=table.keep,
        correction=_correction(log, (*path, "correct"), table.correct),
        match=None if table.correct is None else table.correct.match,
    )


CORRECT = {
    "black": "black_percent",
    "gain": "gain_percent",
    "gamma": "gamma",
    "saturation": "saturation_percent",
    "hue": "hue_deg",
    "balance": "balance",
}
"""Keys of a correction and what `Correction` calls them."""

_MATCHED = {"black", "gain", "saturation", "balance"}


def _correction(log: FaultLog, path: Path, table: CorrectTable | None) -> Correction:
    """Read a correction; what does not hold stays at its default."""
    made = Correction()
    for key, setting in CORRECT.items() if table is not None else ():
        changed = {setting: getattr(table, key)}
        made = log.tried((*path, key), made, replace, made, **changed)
    if table is not None and table.match is not None:
        for key in sorted(table.model_fields_set & _MATCHED):
            log.fault((*path, key), "is what match sets: leave one of them out.")
    return made


def check_matches(log: FaultLog, sources: Mapping[str, Source | None]) -> None:
    """Note what a source cannot be matched to.

    Parameters
    ----------
    log : FaultLog
    sources : mapping of str to Source or None
        None: it cannot be one.
    """
    for name, source in sources.items():
        if source is None or source.match is None:
            continue
        path = ("sources", name, "correct", "match")
        log.name(path, source.match, sources, "source")
        other = sources.get(source.match)
        if other is source:
            log.fault(path, "must name another source.")
        elif other is not None and other.match is not None:
            log.fault(path, f"must name a source that is not matched itself; {other.name!r} is.")
        elif other is not None and isinstance(other.content, EffectOf | OtherSheet):
            log.fault(path, f"must name a picture or a clip; {other.name!r} is an effect.")


def _check_kind(log: FaultLog, path: Path, table: SourceTable, given: Sequence[str]) -> None:
    """Note what is not one thing, and keys that its kind does not take."""
    if len(given) > 1:
        log.fault((*path, given[1]), f"one source is one thing; {given[0]} is given as well.")
    if not given and not log.suspect(path):
        log.fault(path, f"needs one of {', '.join(CONTENTS)}.")
    if table.variables and "sheet" not in given:
        log.fault((*path, "variables"), "belongs to another sheet, which `sheet` names.")
    if given and given[0] not in {"file", "effect", "sheet"}:
        for key in table.model_fields_set & set(_OF_CLIPS):
            if not (key == "at" and table.background and table.background.loop is not None):
                message = "belongs to clips, which have a file, to effects and to other sheets."
                log.fault((*path, key.rstrip("_")), message)


def _content(
    log: FaultLog, path: Path, table: SourceTable, reach: Reach, load: Loader
) -> Content | None:
    if table.title is not None:
        return _title(log, (*path, "title"), table.title, reach)
    if table.background is not None:
        return _background(log, (*path, "background"), table.background)
    if table.sheet is not None:
        return _other_sheet(log, path, table, reach, load)
    if table.effect is not None:
        return EffectOf(table.effect)
    if table.file is not None:
        if not table.file.strip():
            log.fault((*path, "file"), "must name a file.")
        return File(log.file((*path, "file"), reach, table.file), table.file)
    return _drawn(log, path, table)


def _drawn(log: FaultLog, path: Path, table: SourceTable) -> Content:
    """Resolve what needs no file."""
    if table.colour is not None:
        return PlainColour(log.colour((*path, "colour"), table.colour))
    if table.bars is not None:
        return Bars(table.bars)
    for kind, part in (("gradient", table.gradient), ("checkerboard", table.checkerboard)):
        if part is not None:
            first, second = (
                log.colour((*path, kind, end), getattr(part, end)) for end in ("first", "second")
            )
            if table.gradient is not None:
                return Gradient(first, second, table.gradient.angle)
            if table.checkerboard is not None:
                return Checkerboard(first, second, table.checkerboard.squares)
    kind = "clear" if table.clear is not None else "ramp"
    if not getattr(table, kind):
        log.fault((*path, kind), "must be true; leave the key out for another source.")
    return Ramp() if kind == "ramp" else Clear()


def _other_sheet(
    log: FaultLog, path: Path, table: SourceTable, reach: Reach, load: Loader
) -> OtherSheet | None:
    written = table.sheet or ""
    if not written.strip():
        log.fault((*path, "sheet"), "must name a file.")
        return None
    try:
        file = reach.find(written)
        sheet = load(file, dict(table.variables))
    except KeyerError as error:
        log.fault((*path, "sheet"), "; ".join(str(error).splitlines()))
        return None
    return OtherSheet(File(file, written), sheet.digest, sheet)


def _title(log: FaultLog, here: Path, part: TitleTable, reach: Reach) -> Title:
    if (part.design is None) == (part.page is None):
        log.fault(here, "needs a design or a page, one of them.")
    if part.page is None and "pages" in part.model_fields_set:
        log.fault((*here, "pages"), "belongs to a page, which has a number.")
    design = None
    if part.design is not None:
        design = log.file((*here, "design"), reach, part.design)
    store = log.file((*here, "pages"), reach, part.pages)
    fields = tuple(part.fields.items())
    return Title(design, store, part.page, fields, part.allow_flash, reach.within, reach.folder)


def _background(log: FaultLog, here: Path, part: BackgroundTable) -> Background:
    colours = None
    if part.colours is not None:
        colours = tuple(log.colour((*here, "colours"), text) for text in part.colours)
        if not 2 <= len(colours) <= MOST_COLOURS:
            message = f"must be 2 to {MOST_COLOURS} colours, got {len(colours)}."
            log.fault((*here, "colours"), message)
    loop: int | None = 0
    if part.loop is not None:
        loop = log.time((*here, "loop"), part.loop)
        if loop is not None and loop < 2:
            log.fault((*here, "loop"), "must be at least two frames. For a still, leave it out.")
    return Background(part.look, colours, part.soft, part.drift, part.seed, loop or 0)
