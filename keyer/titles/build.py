"""A title part by part: how much of each layer is seen while it comes and while it goes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from keyer.kinds.timing import eased
from keyer.titles.ink import Canvas, Mark
from keyer.titles.layers import Layer
from keyer.titles.shifting import inked, moved
from keyer.titles.steps import Step, longest

Extent = tuple[int, int, int, int]
"""Left, top, right, bottom, in pixels."""


@dataclass(frozen=True)
class Stage:
    """Where a title stands in its build: frames since its first, frames before its end."""

    since: int
    before_end: int | None = None


class Steps:
    """The steps of a design at a rate, over the layers that they show.

    Parameters
    ----------
    build, leave : tuple of Step
    layers : sequence of Layer
        All of the title at rest.
    canvas : Canvas
    rate : Fraction
        Frames a second.
    """

    def __init__(
        self,
        build: tuple[Step, ...],
        leave: tuple[Step, ...],
        layers: Sequence[Layer],
        canvas: Canvas,
        rate: Fraction,
    ) -> None:
        self.build_frames, self.leave_frames = longest(build, rate), longest(leave, rate)
        self._canvas, self._rate = canvas, rate
        self._build = {part: step for step in build for part in step.parts}
        self._leave = {part: step for step in leave for part in step.parts}
        self._extents = {
            id(step): _extent(layer for layer in layers if _step(steps, layer) is step)
            for steps in (self._build, self._leave)
            for step in steps.values()
        }

    def stage(self, frame: int, on_air: int | None) -> Stage | None:
        """Where a title stands at a frame of its own; None while all of it is there.

        Parameters
        ----------
        frame : int
            Counted from the title's first.
        on_air : int or None
            Frames that the title is shown; None: without end.
        """
        before_end = None if on_air is None else on_air - frame
        going = before_end is not None and self._leave and before_end <= self.leave_frames
        if frame >= self.build_frames and not going:
            return None
        return Stage(min(frame, self.build_frames), before_end if going else None)

    def spans(self, box: str, text: str = "") -> tuple[int, int]:
        """Return the frames on which a box, or one of its texts, is fully there.

        Parameters
        ----------
        box, text : str
            Their ids.

        Returns
        -------
        first : int
            First frame on which it is.
        before_end : int
            Frames before the title's end at which it begins to go.
        """
        come, go = (self._named(steps, box, text) for steps in (self._build, self._leave))
        first = come.span(self._rate)[1] if come else 0
        return first, self.leave_frames - go.span(self._rate)[0] if go else 0

    @staticmethod
    def _named(steps: dict[str, Step], box: str, text: str) -> Step | None:
        return steps.get(text) if text in steps else steps.get(box)

    def shown(self, layers: Iterable[Layer], stage: Stage) -> list[Layer]:
        """Show layers as they are at a stage; those of which nothing is there are left out."""
        found: list[Layer] = []
        for layer in layers:
            parts = [layer]
            for steps, going in ((self._build, False), (self._leave, True)):
                step = _step(steps, layer)
                if step is None:
                    continue
                share = self._share(step, stage, going=going)
                if share < 1:
                    parts = [
                        seen
                        for part in parts
                        if share > 0 and (seen := self._partly(part, step, share, going=going))
                    ]
            found += parts
        return found

    def _share(self, step: Step, stage: Stage, *, going: bool) -> float:
        """How much of a step's parts is there, 0..1."""
        first, done = step.span(self._rate)
        if not going:
            return eased(step.curve, _passed(stage.since, first, done))
        if stage.before_end is None:
            return 1.0
        gone = self.leave_frames - stage.before_end
        return 1 - eased(step.curve, _passed(gone, first, done))

    def _partly(self, layer: Layer, step: Step, share: float, *, going: bool) -> Layer | None:
        match step.kind:
            case "mix":
                return replace(layer, opacity=layer.opacity * share)
            case "wipe":
                return self._wiped(layer, step, share, going=going)
            case "slide":
                return self._slid(layer, step, share, going=going)
            case _:
                return None

    def _wiped(self, layer: Layer, step: Step, share: float, *, going: bool) -> Layer:
        """Show what an edge has uncovered, or not yet covered."""
        canvas, mark = self._canvas, layer.mark
        left, top, right, bottom = self._extents[id(step)]
        across = step.towards in ("right", "left", "left and right")
        low, high, first, count = (
            (left, right, mark.left, mark.coverage.shape[1])
            if across
            else (top, bottom, mark.top, mark.coverage.shape[0])
        )
        pixel = canvas.pixel_aspect if across else 1.0
        soft = max(step.soft * canvas.unit / pixel, 1.0)
        at = np.arange(first, first + count, dtype=np.float64) + 0.5
        if step.towards in ("left and right", "up and down"):
            passed, way = np.abs(at - (low + high) / 2), (high - low) / 2
        elif step.towards in ("right", "down"):
            passed, way = at - low, float(high - low)
        else:
            passed, way = high - at, float(high - low)
        edge = (1 - share if going else share) * (way + soft) - soft / 2
        seen = np.clip((edge - passed) / soft + 0.5, 0, 1)
        seen = 1 - seen if going else seen
        share_of = seen[np.newaxis, :] if across else seen[:, np.newaxis]
        cover = mark.coverage * share_of.astype(np.float32)
        return replace(layer, mark=Mark(cover, mark.left, mark.top))

    def _slid(self, layer: Layer, step: Step, share: float, *, going: bool) -> Layer | None:
        """Show parts on their way, from behind an edge or in the open."""
        canvas = self._canvas
        left, top, right, bottom = self._extents[id(step)]
        across = step.towards in ("right", "left")
        way = float(right - left if across else bottom - top)
        if step.distance is not None:
            way = step.distance * canvas.unit / (canvas.pixel_aspect if across else 1.0)
        sign = 1 if step.towards in ("right", "down") else -1
        off = sign * (1 - share) * way * (1 if going else -1)
        found = moved(layer, off if across else 0.0, 0.0 if across else off, canvas)
        if found is None or step.distance is not None:
            return found
        return _within(found, (left, top, right, bottom))


def _passed(frame: int, first: int, done: int) -> float:
    """Share of a step's time that has passed, counted as `keyer.sheet.effect` counts it."""
    if frame < first:
        return 0.0
    return 1.0 if frame >= done else (frame - first + 1) / (done - first + 1)


def _step(steps: dict[str, Step], layer: Layer) -> Step | None:
    """Find the step that shows a layer: its text's own, or its box's."""
    return steps.get(layer.text) if layer.text in steps else steps.get(layer.box)


def _extent(layers: Iterable[Layer]) -> Extent:
    boxes = [box for layer in layers if (box := inked(layer.mark))]
    if not boxes:
        return 0, 0, 0, 0
    left, top, right, bottom = zip(*boxes, strict=True)
    return min(left), min(top), max(right), max(bottom)


def _within(layer: Layer, extent: Extent) -> Layer | None:
    """Return the part of a layer inside a rectangle; None if nothing of it lies there."""
    mark, (left, top, right, bottom) = layer.mark, extent
    rows, columns = mark.coverage.shape
    x0, x1 = max(left - mark.left, 0), min(right - mark.left, columns)
    y0, y1 = max(top - mark.top, 0), min(bottom - mark.top, rows)
    if x0 >= x1 or y0 >= y1:
        return None
    part = np.s_[y0:y1, x0:x1]
    return replace(
        layer,
        mark=Mark(mark.coverage[part], mark.left + x0, mark.top + y0),
        along=None if layer.along is None else layer.along[part],
        planes=None if layer.planes is None else layer.planes[:, y0:y1, x0:x1],
    )


def readings(
    texts: Iterable[tuple[str, str, str]], steps: Steps, on_air: int
) -> Iterator[tuple[str, int, int]]:
    """Tell what there is to read from the moment at which each text is fully there.

    Nobody can read a line before it has come, so each line begins a task of
    its own: it and all that come after it, until the first of them goes.

    Parameters
    ----------
    texts : iterable of (box, text id, words)
    steps : Steps
    on_air : int
        Frames that the title is shown.

    Yields
    ------
    words : str
    first, last : int
        Frames of the title between which they can be read, both included; last
        lies before first where there is no time at all.
    """
    known = [(words, *steps.spans(box, text)) for box, text, words in texts if words.strip()]
    for start in sorted({first for _, first, _ in known}):
        rest = [(words, end) for words, first, end in known if first >= start]
        yield " ".join(w for w, _ in rest), start, on_air - max(end for _, end in rest) - 1
