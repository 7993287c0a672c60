"""The parts of a title, as its design document states them.

Lengths are in percent of the picture height unless a docstring says
otherwise, so that one design serves every format. Colours are `#RRGGBB`, or
`${field}` where a row of data chooses them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    model_validator,
)

from keyer.kinds.settings import parse_colour
from keyer.titles.fonts import SHIPPED_FAMILY, WEIGHTS
from keyer.titles.languages import check_language

FIELD = re.compile(r"\$\{([A-Za-z_][A-Za-z0-9_-]*)\}")
"""A named field as it stands in a text or a colour."""


def _colour(text: str) -> str:
    if not FIELD.fullmatch(text):
        parse_colour(text)
    return text


def _weight(value: Any) -> Any:
    if not isinstance(value, str):
        return value
    name = value.lower().replace("-", " ")
    if name not in WEIGHTS:
        msg = f"weight must be 100 to 900 or one of {', '.join(WEIGHTS)}, got {value!r}."
        raise ValueError(msg)
    return WEIGHTS[name]


def _file_name(name: str) -> str:
    if "\0" in name:
        msg = f"must be a name that a file can have, got {name!r:.80}."
        raise ValueError(msg)
    return name


Colour = Annotated[str, AfterValidator(_colour)]
Share = Annotated[float, Field(ge=0, le=1)]
Percent = Annotated[float, Field(ge=0, le=100)]
Offset = Annotated[float, Field(ge=-100, le=100)]


class Part(BaseModel):
    """Parent of every part: frozen, finite numbers, unknown keys refused."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class Outline(Part):
    """A line round letters or a panel."""

    width: Annotated[float, Field(gt=0, le=10)]
    colour: Colour = "#000000"
    opacity: Share = 1.0


class Shadow(Part):
    """A drop shadow.

    `soft` is the width over which its edge fades, about four times the
    standard deviation of the Gaussian that blurs it.
    """

    x: Offset = 0.3
    y: Offset = 0.3
    soft: Annotated[float, Field(ge=0, le=20)] = 0.6
    opacity: Share = 0.6
    colour: Colour = "#000000"


class TextStyle(Part):
    """Font, size, colour, outline and shadow of letters.

    `size` is the font size. `letter_spacing` is in percent of `size`;
    `line_spacing` is the distance of two baselines in sizes. `slant` leans
    the letters to the right by degrees, for fonts without an italic. Tabular `figures` are all
    equally wide, in fonts that have them (OpenType feature "tnum").
    """

    font: str = SHIPPED_FAMILY
    weight: Annotated[int, BeforeValidator(_weight), Field(ge=1, le=1000)] = 400
    italic: bool = False
    slant: Annotated[float, Field(ge=-30, le=30)] = 0.0
    size: Annotated[float, Field(ge=0.5, le=100)] = 5.0
    colour: Colour = "#FFFFFF"
    opacity: Share = 1.0
    capitals: bool = False
    letter_spacing: Annotated[float, Field(ge=-20, le=200)] = 0.0
    line_spacing: Annotated[float, Field(ge=0.5, le=5)] = 1.15
    ligatures: bool = True
    figures: Literal["", "tabular"] = ""
    language: Annotated[str, AfterValidator(check_language)] = ""
    fallback: tuple[str, ...] = ()
    outline: Outline | None = None
    shadow: Shadow | None = None


class Ramp(Part):
    """The far end of a panel that changes across its length.

    `angle` is the way in which it changes: 0 to the right, 90 downwards.
    `smooth` lets it start and end gently.
    """

    colour: Colour | None = None
    opacity: Share | None = None
    angle: Annotated[float, Field(ge=-360, le=360)] = 0.0
    smooth: bool = False


class Panel(Part):
    """The field behind a text.

    `shape` "circle" is the largest circle in the middle of the box.
    """

    shape: Literal["rectangle", "circle"] = "rectangle"
    colour: Colour = "#000000"
    opacity: Share = 1.0
    ramp: Ramp | None = None
    radius: Percent = 0.0
    border: Outline | None = None
    shadow: Shadow | None = None


Anchor = Literal[
    "top left", "top", "top right",
    "left", "centre", "right",
    "bottom left", "bottom", "bottom right",
]  # fmt: skip


class Rule(Part):
    """A straight line between two places of a box, as broad as `thickness`, inside the box.

    `round` gives it round ends.
    """

    start: Anchor = "left"
    end: Anchor = "right"
    thickness: Annotated[float, Field(gt=0, le=50)] = 0.3
    colour: Colour = "#FFFFFF"
    opacity: Share = 1.0
    round: bool = False

    @model_validator(mode="after")
    def _two_ends(self) -> Rule:
        if self.start == self.end:
            msg = f"start and end must be two places of the box, got {self.start!r} twice."
            raise ValueError(msg)
        return self


class BoxPicture(Part):
    """A picture from a file beside the design, as large as its box less the padding.

    `file` may be `${field}`, a field of kind "picture". `fit` says what becomes of a picture whose
    shape is not the box's, in the words of CSS Images Level 3, 5.5: "contain" shows it whole,
    "cover" fills the box and cuts off what does not fit, alike at both sides.
    """

    file: Annotated[str, Field(min_length=1, max_length=400), AfterValidator(_file_name)]
    opacity: Share = 1.0
    fit: Literal["contain", "cover"] = "contain"

    @property
    def field(self) -> str | None:
        """The field that names the file; None where the design does."""
        match = FIELD.fullmatch(self.file)
        return match[1] if match else None

    def file_in(self, values: Mapping[str, str]) -> str:
        """Return the file's name; empty where its field is."""
        return self.file if self.field is None else values.get(self.field, "")
