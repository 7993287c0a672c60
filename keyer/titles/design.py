"""A title design: fields, styles and boxes, and whether they hold together."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Mapping
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from keyer.errors import SettingError
from keyer.kinds.settings import Rgb, parse_colour
from keyer.measure.safe_areas import SAFE_AREAS
from keyer.titles.markup import parse
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
from keyer.titles.steps import Step, step_faults
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
                raise SettingError(_unknown("field", name, self.fields))
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


def _unknown(kind: str, name: str, known: Iterable[str]) -> str:
    names = list(known)
    near = difflib.get_close_matches(name, names, 1)
    hint = f"Is it {near[0]!r}?" if near else f"Known: {', '.join(names) or 'none'}."
    return f"{kind} {name!r} is not in this design. {hint}"


Fault = tuple[tuple[str | int, ...], str]
"""Where (the path of keys and indices), and what is wrong."""


def cross_faults(design: Design) -> Iterator[Fault]:
    """Find names that lead nowhere: styles, fields, boxes; and boxes that go in a circle.

    Parameters
    ----------
    design : Design
        Each of its parts already valid by itself.

    Yields
    ------
    (path, message)
    """
    yield from _colour_faults(design)
    ids = [box.id for box in design.boxes]
    for i, box in enumerate(design.boxes):
        if box.id in ids[:i]:
            yield ("boxes", i, "id"), f"id must be given once, got {box.id!r} again."
        for key in ("above", "below", "left_of", "right_of", "width", "height"):
            other = getattr(box, key)
            if isinstance(other, str) and other not in ids:
                yield ("boxes", i, key), _unknown("box", other, ids)
        field = box.picture.field if box.picture else None
        if field and field not in design.fields:
            yield ("boxes", i, "picture", "file"), _unknown("field", field, design.fields)
        elif field and design.fields[field].kind != "picture":
            message = f'field {field!r} must have kind = "picture" to be used as one.'
            yield ("boxes", i, "picture", "file"), message
        for j, text in enumerate(box.texts):
            yield from ((("boxes", i, "texts", j, key), m) for key, m in _text_faults(design, text))
        if _circular(box, design, "beside") or _circular(box, design, "size"):
            yield ("boxes", i), f"box {box.id!r} must not depend on itself through other boxes."
    for part in ("move", "flash"):
        listed = getattr(getattr(design, part), "boxes", ())
        for i, name in enumerate(listed):
            if name not in ids:
                yield (part, "boxes", i), _unknown("box", name, ids)
    yield from step_faults(design)
    yield from _table_faults(design)


def _table_faults(design: Design) -> Iterator[Fault]:
    table = design.table
    if table is None:
        return
    box = next((box for box in design.boxes if box.id == table.box), None)
    if box is None:
        yield ("table", "box"), _unknown("box", table.box, (box.id for box in design.boxes))
    elif isinstance(box.width, str) or isinstance(box.height, str) or box.texts or box.picture:
        yield (
            ("table", "box"),
            f"box {box.id!r} of a table must have no texts, and sides in percent.",
        )
    named: list[tuple[tuple[str | int, ...], str | None]] = [
        (("table", key), getattr(table, key)) for key in ("style", "heading")
    ]
    named += [(("table", "columns", n, "style"), one.style) for n, one in enumerate(table.columns)]
    for path, name in named:
        if name is not None and name not in design.styles:
            yield path, _unknown("style", name, design.styles)


def _text_faults(design: Design, text: Text) -> Iterator[tuple[str, str]]:
    if text.style not in design.styles:
        yield "style", _unknown("style", text.style, design.styles)
    try:
        spans = parse(text.text, text.style)
    except SettingError as error:
        yield "text", str(error)
        return
    for span in spans:
        if span.field and span.field not in design.fields:
            yield "text", _unknown("field", span.field, design.fields)
        if span.style != text.style and span.style not in design.styles:
            yield "text", _unknown("style", span.style, design.styles)


def _colour_faults(design: Design) -> Iterator[Fault]:
    data = design.model_dump()
    for path, value in _leaves({"styles": data["styles"], "boxes": data["boxes"]}, ()):
        match = FIELD.fullmatch(value) if path[-1] == "colour" and isinstance(value, str) else None
        if match and match[1] not in design.fields:
            yield path, _unknown("field", match[1], design.fields)
        elif match and design.fields[match[1]].kind != "colour":
            yield path, f'field {match[1]!r} must have kind = "colour" to be used as one.'


def _leaves(node: Any, path: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    if isinstance(node, dict):
        for key, value in node.items():
            yield from _leaves(value, (*path, key))
    elif isinstance(node, tuple | list):
        for i, value in enumerate(node):
            yield from _leaves(value, (*path, i))
    else:
        yield path, node


def _circular(box: Box, design: Design, what: Literal["beside", "size"]) -> bool:
    boxes = {b.id: b for b in design.boxes}
    seen: set[str] = set()
    todo = [box.id]
    while todo:
        current = boxes.get(todo.pop())
        if current is None or current.id in seen:
            continue
        seen.add(current.id)
        nexts = (
            [current.beside[1]]
            if what == "beside" and current.beside
            else [v for v in (current.width, current.height) if isinstance(v, str)]
            if what == "size"
            else []
        )
        if box.id in nexts:
            return True
        todo += nexts
    return False


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
