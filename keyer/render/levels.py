"""Effects and other sheets while they are on air: which of their frames is due when, and where.

A level is a sheet, or what a cue or overlay of another level shows of an effect
or of another sheet. An effect that two rows show is two levels.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from keyer.render.clock import Clock
from keyer.render.effect import Effect
from keyer.render.graph import Layer, Node
from keyer.sheet.sheet import Cue, Overlay, Sheet
from keyer.sheet.source import EffectOf, OtherSheet, Source
from keyer.sheet.stack import Standing

if TYPE_CHECKING:
    from keyer.render.plan import Plan

MOST_LEVELS = 100
"""How many are looked at; effects that show effects several times over soon are thousands."""

_OFF = -1


@dataclass(frozen=True, eq=False)
class Level:
    """A sheet, or an effect or other sheet while a row shows it.

    Attributes
    ----------
    sheet : Sheet
        Its own; an effect's as `Sheet.within` gives it.
    outer : Level or None
        The one whose row shows it; None: it is the spot itself.
    row : Cue or Overlay or None
    home : tuple of str
        Names of the sources that show other sheets, from the spot down to the one it stands in.
    """

    sheet: Sheet
    outer: Level | None = None
    row: Cue | Overlay | None = None
    home: tuple[str, ...] = ()

    @property
    def spot(self) -> Sheet:
        """The sheet that is on air."""
        return self.sheet if self.outer is None else self.outer.spot

    @property
    def path(self) -> str:
        """How paths of its rows begin: `effects.two-up.`, `opener: ` of another sheet."""
        return "".join(f"{name}: " for name in self.home) + self.sheet.prefix

    def named(self, row: Cue | Overlay) -> str:
        """Path and name of one of its rows, as findings call it."""
        kind = "cues" if isinstance(row, Cue) else "overlays"
        return f"{self.path}{kind}[{row.index}] {row.name or row.source}"

    @cached_property
    def due(self) -> NDArray[np.int32]:
        """Its frame that is due on each frame of the spot; -1 where it is off air."""
        if self.outer is None or self.row is None:
            return np.arange(self.sheet.length, dtype=np.int32)
        start, stop = _span(self.outer.sheet, self.row)
        clock = self._clock()
        own = [clock.index(frame, start) for frame in range(start, stop)]
        outside = self.outer.due
        found = np.full(outside.size, _OFF, np.int32)
        on_air = (outside >= start) & (outside < stop)
        found[on_air] = np.array(own, np.int32)[outside[on_air] - start]
        return found

    @cached_property
    def whole(self) -> NDArray[np.bool_]:
        """Whether it is fully there on each frame of the spot, past every row's transition."""
        if self.outer is None or self.row is None:
            return np.ones(self.sheet.length, np.bool_)
        first, stop = _full_span(self.outer.sheet, self.row)
        outside = self.outer.due
        return np.asarray(self.outer.whole & (outside >= first) & (outside < stop))

    def frames(self, first: int, last: int, *, whole: bool = False) -> list[int]:
        """Frames of the spot on which some of its own are due, both ends included.

        `whole`: on which it is fully there as well.
        """
        there = (self.due >= first) & (self.due <= last)
        return np.flatnonzero(there & self.whole if whole else there).tolist()

    def own(self, frame: int) -> int:
        """Its frame that is due on a frame of the spot on which it is on air."""
        return int(self.due[frame])

    def standing(self, frame: int) -> tuple[Standing, int]:
        """Where the row that shows it stands, and the row's local frame, on a frame of the spot."""
        if self.outer is None or self.row is None:
            return Standing(), 0
        start, _ = _span(self.outer.sheet, self.row)
        standing = self.row.standing or Standing()
        return standing, self.outer.own(frame) - start

    def _source(self) -> Source:
        if self.outer is None or self.row is None or self.row.source is None:
            msg = "only what a row shows has a source"
            raise TypeError(msg)
        return self.outer.sheet.sources[self.row.source]

    def _clock(self) -> Clock:
        source, rate = self._source(), self.sheet.format.rate
        window = source.window(rate, self.sheet.length)
        return Clock(source, self.outer.sheet.format.rate if self.outer else rate, *window, rate)

    @property
    def source(self) -> Source | None:
        """What shows it; None: it is the spot itself."""
        return None if self.outer is None else self._source()

    def plan(self, spot: Plan) -> Plan:
        """Find its plan within that of the spot."""
        if self.outer is None:
            return spot
        return self.outer.plan(spot).within(self._source().name)

    def behind(self, spot: Plan, frame: int, path: str | None) -> Node | None:
        """Describe what lies behind one of its overlays in the picture on air.

        Parameters
        ----------
        spot : Plan
        frame : int
            Of the spot.
        path : str or None
            Of the overlay in its sheet; None: behind its base.

        Returns
        -------
        Node or None
            None if it is not to be found in the picture.
        """
        shown = self.plan(spot).frame(self.own(frame))
        below = Effect(_clear(shown)) if path is None else shown.below(path)
        return self._outward(spot, frame, shown, below)

    def _outward(self, spot: Plan, frame: int, shown: Effect, below: Node) -> Node | None:
        """Put what lies below in the place of what is shown, in all levels up to the spot."""
        if self.outer is None:
            return below
        around = self.outer.plan(spot).frame(self.outer.own(frame))
        layers: tuple[Layer, ...] = ()
        base = around.base
        if isinstance(self.row, Overlay):
            paths = [layer.path for layer in around.layers]
            place = paths.index(f"{self.outer.sheet.prefix}overlays[{self.row.index}]")
            layers = around.layers[: place + 1]
            changed = swapped(layers[-1].node, shown.signature, below)
            found = changed is not layers[-1].node
            layers = (*layers[:-1], Layer(changed, layers[-1].path))
        else:
            base = swapped(base, shown.signature, below)
            found = base is not around.base
        if not found:
            return None
        now = replace(around, base=base, layers=layers, fade=None)
        return self.outer._outward(spot, frame, around, now)


def _clear(shown: Effect) -> Node:
    from keyer.render.leaves import Clear

    return Clear(shown.width, shown.height)


def swapped(node: Node, signature: bytes, instead: Node) -> Node:
    """Put a node in the place of one with a signature, wherever a picture is made of that.

    Returns
    -------
    Node
        The very same, where nothing of it is.
    """
    if node.signature == signature:
        return instead
    changed: dict[str, object] = {}
    for part in fields(node):  # type: ignore[arg-type]  # all nodes are dataclasses
        value = getattr(node, part.name)
        if isinstance(value, Node):
            new: object = swapped(value, signature, instead)
        elif isinstance(value, tuple) and value and isinstance(value[0], Layer):
            new = tuple(_swapped_layer(layer, signature, instead) for layer in value)
            new = value if all(a is b for a, b in zip(new, value, strict=True)) else new
        else:
            continue
        if new is not value:
            changed[part.name] = new
    return replace(node, **changed) if changed else node  # type: ignore[type-var]


def _swapped_layer(layer: Layer, signature: bytes, instead: Node) -> Layer:
    node = swapped(layer.node, signature, instead)
    return layer if node is layer.node else Layer(node, layer.path)


def _span(sheet: Sheet, row: Cue | Overlay) -> tuple[int, int]:
    """Frames of a sheet on which something of a row is seen."""
    if isinstance(row, Overlay):
        return row.start, min(row.stop, sheet.length)
    after = row.index + 1
    gone = sheet.length
    if after < len(sheet.cues):
        gone = sheet.cues[after].at + sheet.cues[after].transition.length
    return row.at, min(gone, sheet.length)


def _full_span(sheet: Sheet, row: Cue | Overlay) -> tuple[int, int]:
    """Frames of a sheet on which a row is fully there."""
    if isinstance(row, Overlay):
        return row.start + row.enter.length, row.stop - row.leave.length
    return row.at + row.transition.length, sheet.until(row)


def levels(sheet: Sheet) -> list[Level]:
    """List a sheet and everything that it shows of effects and other sheets, a row at a time.

    Returns
    -------
    list of Level
        The sheet itself first; what is never on air is left out. At most `MOST_LEVELS`.
    """
    found = [Level(sheet)]
    for level in found:
        for inner in _within(level):
            if len(found) == MOST_LEVELS:
                return found
            if (inner.due >= 0).any():
                found.append(inner)
    return found


def _within(level: Level) -> Iterator[Level]:
    sheet = level.sheet
    rows: tuple[Cue | Overlay, ...] = (*sheet.cues, *sheet.overlays)
    for row in rows:
        content = sheet.sources[row.source].content if row.source else None
        if isinstance(content, EffectOf):
            yield Level(sheet.within(content.effect), level, row, level.home)
        elif isinstance(content, OtherSheet):
            yield Level(content.sheet, level, row, (*level.home, row.source or ""))
