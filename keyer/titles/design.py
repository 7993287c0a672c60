"""A title design: fields, styles and boxes, and whether they hold together."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from keyer.errors import SettingError
from keyer.kinds.settings import Rgb, parse_colour
from keyer.measure.safe_areas import SAFE_AREAS
from keyer.titles.model import (
    FIELD,
    Anchor,
    BoxPicture,
    Colour,
    Offset,
    Panel,
    Part,
    Percent,
    Rule,
    TextStyle,
)
from keyer.titles.paragraphs import FitRule
from keyer.titles.steps import Step
from keyer.titles.table_model import Table


def _side_length(value: Any) -> Any:
    if isinstance(value, str) or value is None:
        return value
    number = isinstance(value, int | float) and not isinstance(value, bool)
    if not number or not 0 <= value <= LONGEST:
        msg = (
            f"must be 0 to {LONGEST} percent of the picture height, or the name of a box, "
            f"got {value!r}."
        )
        raise ValueError(msg)
    return float(value)


LONGEST = 400
Length = Annotated[float, Field(ge=0, le=LONGEST)]
"""Up to four picture heights: wider than any picture."""
Side = Annotated[float | str | None, BeforeValidator(_side_length)]
"""A length, or the name of the box that has it."""


def _padding(value: Any) -> Any:
    """One number pads all round; two are above and below, then left and right."""
    return (value, value) if isinstance(value, int | float) else value


def _safe_name(name: str) -> str:
    if name not in SAFE_AREAS:
        near = difflib.get_close_matches(name, SAFE_AREAS, 1)
        hint = f"Is it {near[0]!r}?" if near else ""
        msg = f"safe must be one of {', '.join(SAFE_AREAS)}, got {name!r}. {hint}".strip()
        raise ValueError(msg)
    return name


class FieldRule(Part):
    """A named field. Without a default every row has to fill it."""

    kind: Literal["text", "colour", "picture"] = "text"
    about: str = ""
    example: str = ""
    default: str | None = None


class Text(Part):
    """One text of a box.

    `fit` says what happens to a text that is too wide: "shrink" makes it
    smaller, down to `smallest` (a font size in percent of the picture
    height); "wrap" breaks it into at most `lines`, and may shrink too where
    `smallest` is given; "refuse" reports a fault. `gap` is the distance from
    the baseline above to the capitals of this text. Steps of the build name a
    text by its `id`.
    """

    id: Annotated[str, Field(max_length=40)] = ""
    text: str
    style: str
    fit: FitRule = "refuse"
    smallest: Annotated[float, Field(ge=0.5, le=100)] | None = None
    lines: Annotated[int, Field(ge=1, le=1000)] = 1
    gap: Percent = 1.5

    @model_validator(mode="after")
    def _shrink_has_an_end(self) -> Text:
        if self.fit == "shrink" and self.smallest is None:
            msg = (
                'smallest must be given with fit = "shrink": the least font size that may be used.'
            )
            raise ValueError(msg)
        return self


class Box(Part):
    """A panel, rules, and texts or a picture, one over the other.

    A box is hung on the safe area (`place`, with `x` and `y` inwards) or set
    beside another box. It is as large as its texts and padding unless
    `width` or `height` say otherwise: a length, or the name of the box whose
    width or height it shares. Texts are padded from the capitals of the first
    line and from the last baseline. A box whose texts are all empty is left out.
    A picture keeps its shape: of width and height one is enough, and where both
    are given it is shown whole.
    """

    id: Annotated[str, Field(min_length=1, max_length=40)]
    place: Anchor | None = None
    above: str | None = None
    below: str | None = None
    left_of: str | None = None
    right_of: str | None = None
    gap: Offset = 0.0
    x: Offset = 0.0
    y: Offset = 0.0
    width: Side = None
    height: Side = None
    max_width: Length | None = None
    padding: Annotated[tuple[Percent, Percent], BeforeValidator(_padding)] = (0.0, 0.0)
    align: Literal["start", "left", "centre", "right"] = "start"
    panel: Panel | None = None
    picture: BoxPicture | None = None
    rules: tuple[Rule, ...] = ()
    texts: tuple[Text, ...] = ()

    @property
    def beside(self) -> tuple[str, str] | None:
        """The side of another box on which this one stands, and that box."""
        sides = ((side, getattr(self, side)) for side in ("above", "below", "left_of", "right_of"))
        return next(((side, name) for side, name in sides if name), None)

    @model_validator(mode="after")
    def _one_place(self) -> Box:
        given = [s for s in ("place", "above", "below", "left_of", "right_of") if getattr(self, s)]
        if len(given) != 1:
            found = " and ".join(given) or "none"
            msg = f"a box must have one of place, above, below, left_of, right_of, got {found}."
            raise ValueError(msg)
        if self.picture:
            if self.texts:
                msg = "a box must have a picture or texts, got both. Give the picture its own box."
                raise ValueError(msg)
            if self.width is None and self.height is None:
                msg = "width or height must be given for a box with a picture."
                raise ValueError(msg)
            if self.picture.fit == "cover" and (self.width is None or self.height is None):
                msg = 'width and height must be given for a picture with fit = "cover".'
                raise ValueError(msg)
        elif not self.texts and (self.width is None or self.height is None):
            msg = "width and height must be given for a box without texts."
            raise ValueError(msg)
        return self


class Move(Part):
    """A crawl (one line to the left) or a roll (a page upwards), in pixels a frame.

    `whole` refuses a speed that is not a whole number of pixels, at which
    letters shimmer. `boxes` names what moves; without it, every box with texts
    does, and panels that stand alone stay.
    """

    kind: Literal["crawl", "roll"]
    pixels: Annotated[float, Field(gt=0, le=200)] = 4.0
    whole: bool = True
    boxes: tuple[str, ...] = ()

    @model_validator(mode="after")
    def _whole_pixels(self) -> Move:
        if self.whole and self.pixels != round(self.pixels):
            msg = (
                f"pixels must be a whole number so that letters do not shimmer, got "
                f"{self.pixels:g}. Write whole = false to allow it."
            )
            raise ValueError(msg)
        return self


class Flash(Part):
    """Boxes that go on and off, in frames; all boxes unless some are named."""

    on: Annotated[int, Field(ge=1, le=10_000)]
    off: Annotated[int, Field(ge=1, le=10_000)]
    boxes: tuple[str, ...] = ()


class Design(Part):
    """A title design."""

    name: Annotated[str, Field(min_length=1, max_length=80)]
    about: str = ""
    safe: Annotated[str, AfterValidator(_safe_name)] = "st2046-1"
    fields: dict[str, FieldRule] = Field(default_factory=dict)
    styles: dict[str, TextStyle]
    boxes: Annotated[tuple[Box, ...], Field(min_length=1)]
    move: Move | None = None
    flash: Flash | None = None
    build: tuple[Step, ...] = ()
    leave: tuple[Step, ...] = ()
    table: Table | None = None

    def moves(self, box: Box) -> bool:
        """Whether a box crawls or rolls."""
        move = self.move
        return move is not None and (box.id in move.boxes if move.boxes else bool(box.texts))

    def values(self, given: Mapping[str, str]) -> dict[str, str]:
        """Return a value for every field: those given, else the design's defaults.

        Parameters
        ----------
        given : mapping
            Field name to value.

        Raises
        ------
        SettingError
            If a field is unknown, or has neither value nor default.
        """
        for name in given:
            if name not in self.fields:
                raise SettingError(unknown_name("field", name, self.fields))
        filled = {name: given.get(name, rule.default) for name, rule in self.fields.items()}
        lacking = [name for name, value in filled.items() if value is None]
        if lacking:
            msg = (
                f"field {lacking[0]} must have a value: the design {self.name!r} gives no default."
            )
            raise SettingError(msg)
        return {name: value for name, value in filled.items() if value is not None}

    def examples(self) -> dict[str, str]:
        """Return a value for every field with which the design can be shown."""
        return {
            n: rule.example or rule.default or ("" if rule.kind == "picture" else n)
            for n, rule in self.fields.items()
        }

    def picture_fields(self) -> list[str]:
        """Names of the fields that are pictures."""
        return [name for name, rule in self.fields.items() if rule.kind == "picture"]


def unknown_name(kind: str, name: str, known: Iterable[str]) -> str:
    """Say that a design has no such name, and which is near."""
    names = list(known)
    near = difflib.get_close_matches(name, names, 1)
    hint = f"Is it {near[0]!r}?" if near else f"Known: {', '.join(names) or 'none'}."
    return f"{kind} {name!r} is not in this design. {hint}"


def refuse_table(design: Design) -> None:
    """Refuse a design with a table, where a title is wanted that has no rows.

    Raises
    ------
    SettingError
    """
    if design.table is not None:
        msg = (
            f"the design {design.name!r} has a [table], whose rows come from a table: draw it with "
            "'keyer table'. Or take the [table] out."
        )
        raise SettingError(msg)


def rgb(colour: Colour, values: Mapping[str, str]) -> Rgb:
    """Return a colour of a design as R'G'B' 0..1, with its field filled in.

    Raises
    ------
    SettingError
        If the field's value is no colour.
    """
    match = FIELD.fullmatch(colour)
    return parse_colour(values[match[1]], match[1]) if match else parse_colour(colour)
