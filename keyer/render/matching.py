"""Sources matched to others: their correction chosen by the pictures, beside planning."""

from __future__ import annotations

import copy
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from keyer.errors import NoBackingError
from keyer.kinds.settings import Correction
from keyer.measure.tone import Tone, correction_to, measure_tone
from keyer.render.correcting import UNCORRECTED, correction_words
from keyer.render.evaluate import Evaluator
from keyer.render.fine import colour_of
from keyer.render.graph import Node
from keyer.render.keyed import KeyPlan
from keyer.render.keying import Key as FastKey
from keyer.render.session import Session
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import Source

if TYPE_CHECKING:
    from keyer.render.nested import Nested
    from keyer.render.sources import OpenSource

_SURE = 0.98
"""Alpha from which a pixel is of the subject alone."""


def match_sources(
    sheet: Sheet,
    sources: dict[str, OpenSource | Nested],
    session: Session,
    larger: Mapping[str, OpenSource | Nested],
) -> Iterator[str]:
    """Choose the correction of each source that is matched to another, and put it in its place.

    Parameters
    ----------
    sheet : Sheet
    sources : dict of str to OpenSource or Nested
        Open, and as yet without that correction.
    session : Session
    larger : mapping of str to OpenSource or Nested
        The same at full size, with what was chosen there; may be empty.

    Yields
    ------
    str
        What was set.

    Raises
    ------
    InputFileError
        If a file cannot be decoded.
    """
    for name, opened in list(sources.items()):
        source = opened.source
        if source.match is None or source.match not in sources:
            continue
        if name in larger:
            chosen = larger[name].source.correction
        else:
            other = sources[source.match]
            own, wanted = _first(opened), _first(other)
            subject = _keyed(sheet, name, sources, session)
            found = session.kept(
                (own.signature, wanted.signature, subject and subject.signature),
                lambda: _chosen(session.evaluator, own, wanted, subject, opened, other),  # noqa: B023
            )
            hand = source.correction
            chosen = replace(found, gamma=hand.gamma, hue_deg=hand.hue_deg)
        sources[name] = _with(opened, replace(source, correction=chosen))
        set_to = ", ".join(correction_words(chosen)) or "nothing has to be set"
        yield f"{name}: matched to {source.match}: {set_to}."


def _first(opened: OpenSource | Nested) -> Node:
    """Describe the first picture of a source."""
    start = opened.source.at or 0
    return opened.node(start, start)


def _with(opened: OpenSource | Nested, source: Source) -> OpenSource | Nested:
    """Take an open source with another correction; its file stays the same one."""
    other = copy.copy(opened)
    other.source = source
    return other


def _keyed(
    sheet: Sheet, name: str, sources: Mapping[str, OpenSource | Nested], session: Session
) -> Node | None:
    """Describe the subject of a source that is keyed by its chroma; None where there is none."""
    for overlay in sheet.overlays:
        if overlay.source == name and overlay.key is not None and overlay.key.kind == "chroma":
            with suppress(NoBackingError):  # the key itself will say so
                choice = KeyPlan(overlay, sources, session, sheet.light).choice()
                opened = sources[name]
                return FastKey(_first(opened), choice.settings, opened.matrix)
    return None


def _chosen(
    evaluator: Evaluator,
    own: Node,
    wanted: Node,
    subject: Node | None,
    opened: OpenSource | Nested,
    other: OpenSource | Nested,
) -> Correction:
    mine = _tone(evaluator, own, own if subject is None else subject, opened)
    theirs = _tone(evaluator, wanted, wanted, other)
    if mine is None or theirs is None:
        return UNCORRECTED
    return correction_to(theirs, mine, opened.matrix)


def _tone(
    evaluator: Evaluator, picture: Node, subject: Node, opened: OpenSource | Nested
) -> Tone | None:
    """Measure a picture where its subject is."""
    ready = evaluator.prepare(picture, subject)
    alpha = ready.whole(subject).alpha
    where: NDArray[np.bool_] | None = None if alpha is None else alpha >= _SURE
    return measure_tone(colour_of(picture, ready), opened.matrix, where)
