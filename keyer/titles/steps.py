"""The steps in which a title is built up and goes again, as its design states them."""

from __future__ import annotations

import difflib
import math
from collections.abc import Iterator
from fractions import Fraction
from typing import TYPE_CHECKING, Annotated, Any, Literal

from pydantic import BeforeValidator, Field, model_validator

from keyer.errors import TimeError
from keyer.kinds.settings import Curve
from keyer.kinds.timing import check_time, is_timecode
from keyer.titles.model import Part, Percent

if TYPE_CHECKING:
    from keyer.titles.design import Design

Way = Literal["right", "left", "down", "up", "left and right", "up and down"]
BOTH_WAYS = ("left and right", "up and down")


def _moment(value: Any) -> Any:
    try:
        check_time(value)
    except TimeError as error:
        raise ValueError(error.demand) from None  # the path names the key
    if is_timecode(value):
        msg = f'must be seconds ("0.4s") or frames (10), got {value!r}.'
        raise ValueError(msg)
    return value


Moment = Annotated[int | float | str, BeforeValidator(_moment)]
"""Seconds, which serve every rate, or frames."""


def time_of(moment: float | str, rate: Fraction) -> Fraction:
    """Read a time of a design.

    Parameters
    ----------
    moment : int, float or str
        Frames (`10`, `"10f"`) or seconds (`"0.4s"`).
    rate : Fraction
        Frames a second.

    Returns
    -------
    Fraction
        Frames, exact: seconds may fall between two.
    """
    text = str(moment).strip()
    if text.endswith("s"):
        return Fraction(text[:-1].strip()) * rate
    return Fraction(text.removesuffix("f"))


def _nearest(time: Fraction) -> int:
    """Nearest frame; a design serves every rate, so no time need fall on one."""
    return math.floor(time + Fraction(1, 2))


class Step(Part):
    """One step of a build: the boxes and texts that come, or go, together.

    `parts` names boxes, or texts by their id; a box takes along its texts that
    no other step names. `at` counts from the title's first frame, on the way
    out from where that begins. `towards` is the way in which a wipe's edge or a
    slide runs. A slide is seen within the place where its parts rest, as if from
    behind an edge; with `distance` it comes from that far, in the open.
    """

    parts: Annotated[tuple[str, ...], Field(min_length=1)]
    at: Moment = 0
    length: Moment = "0.4s"
    kind: Literal["cut", "mix", "wipe", "slide"] = "mix"
    towards: Way = "right"
    soft: Percent = 0.0
    distance: Annotated[float, Field(gt=0, le=400)] | None = None
    curve: Curve = "ease"

    @model_validator(mode="after")
    def _fits_its_kind(self) -> Step:
        if self.soft and self.kind != "wipe":
            msg = f"soft is the edge of a wipe, got kind {self.kind!r}. Leave it out."
            raise ValueError(msg)
        if self.distance is not None and self.kind != "slide":
            msg = f"distance is the way of a slide, got kind {self.kind!r}. Leave it out."
            raise ValueError(msg)
        if self.kind == "slide" and self.towards in BOTH_WAYS:
            msg = f"towards must be right, left, down or up for a slide, got {self.towards!r}."
            raise ValueError(msg)
        return self

    def span(self, rate: Fraction) -> tuple[int, int]:
        """First frame on which it is under way, and the first on which it is done."""
        begins, lasts = time_of(self.at, rate), time_of(self.length, rate)
        ends = begins if self.kind == "cut" else begins + lasts
        return _nearest(begins), _nearest(ends)


def longest(steps: tuple[Step, ...], rate: Fraction) -> int:
    """Frames until the last of some steps is done.

    Parameters
    ----------
    steps : tuple of Step
    rate : Fraction
        Frames a second.
    """
    return max((step.span(rate)[1] for step in steps), default=0)


Fault = tuple[tuple[str | int, ...], str]
"""Where (the path of keys and indices), and what is wrong."""


def step_faults(design: Design) -> Iterator[Fault]:
    """Find what the steps of a design name wrongly.

    Parameters
    ----------
    design : Design
        Each of its parts already valid by itself.

    Yields
    ------
    (path, message)
    """
    known: dict[str, bool] = {}
    for i, box in enumerate(design.boxes):
        known.setdefault(box.id, design.moves(box))
        for j, text in enumerate(box.texts):
            if text.id and (text.id in known or any(text.id == b.id for b in design.boxes)):
                said = f"id must be given once among boxes and texts, got {text.id!r} again."
                yield ("boxes", i, "texts", j, "id"), said
            elif text.id:
                known[text.id] = design.moves(box)
    for way in ("build", "leave"):
        named: set[str] = set()
        for i, step in enumerate(getattr(design, way)):
            for j, part in enumerate(step.parts):
                path = (way, i, "parts", j)
                if part not in known:
                    near = difflib.get_close_matches(part, known, 1)
                    hint = f"Is it {near[0]!r}?" if near else f"Known: {', '.join(known)}."
                    yield path, f"part {part!r} is no box or text of this design. {hint}"
                elif part in named:
                    yield path, f"part {part!r} must be named once, got it in two steps of {way}."
                elif known[part]:
                    yield path, f"part {part!r} crawls or rolls, so it cannot come in steps."
                named.add(part)
