"""What a file of patterns and backgrounds may say."""

from __future__ import annotations

import re
from typing import Annotated, Literal

from pydantic import (
    AfterValidator,
    BaseModel,
    ConfigDict,
    Field,
    StrictBool,
    StrictFloat,
    StrictInt,
    StrictStr,
)

from keyer.kinds.field import Effect

WORD = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,63}")
"""What types and subtypes may be called."""


def _word(text: str) -> str:
    if not WORD.fullmatch(text):
        msg = f"must be a word of letters, digits, - and _, got {text!r:.80}."
        raise ValueError(msg)
    return text


def _one_line(text: str) -> str:
    if not text.strip() or "\n" in text or len(text) > 200:
        msg = "must be one line of at most 200 letters."
        raise ValueError(msg)
    return text


Number = StrictFloat | StrictInt
Word = Annotated[StrictStr, AfterValidator(_word)]
Line = Annotated[StrictStr, AfterValidator(_one_line)]

_STRICT = ConfigDict(extra="forbid", frozen=True)


class PatternEntry(BaseModel):
    """Table of one pattern in a library file."""

    model_config = _STRICT

    type: Word = Field(description="First half of the pattern's name.")
    subtype: Word = Field(description="Second half of the pattern's name.")
    code: StrictInt | None = Field(default=None, description="SMPTE wipe code.")
    default: StrictBool = Field(default=False, description="The type alone means this subtype.")
    summary: Line = Field(description="What the eye sees, in one line.")
    effect: Effect = "wipe"
    function: StrictStr = Field(default="", description="A field function.")
    picture: StrictStr = Field(
        default="", description="A grey picture beside the file: the field itself."
    )
    params: dict[str, StrictInt | StrictFloat | StrictBool | StrictStr] = Field(
        default_factory=dict, description="Parameters of the field function."
    )


class WaveEntry(BaseModel):
    """A wave of a background."""

    model_config = _STRICT

    kind: Literal["sine", "noise"] = "noise"
    amplitude: Number = 25.0
    wavelength: Number = 60.0
    angle: Number = 0.0
    cycles: StrictInt = 1
    stretch: Number = 1.0
    seed: StrictInt = 0


class ModifierEntry(BaseModel):
    """What is done to a background's pattern."""

    model_config = _STRICT

    reverse: StrictBool = False
    position: tuple[Number, Number] = (50.0, 50.0)
    aspect: Number = 1.0
    rotation: Number = 0.0
    repeat: tuple[StrictInt, StrictInt] = (1, 1)
    mirror: StrictBool = False


class LookEntry(BaseModel):
    """Table of one background in a library file."""

    model_config = _STRICT

    name: Word
    summary: Line
    pattern: StrictStr | StrictInt
    colours: tuple[StrictStr, ...]
    modifiers: ModifierEntry = ModifierEntry()
    runs: Number = 1.0
    soft: Number = 100.0
    drift: StrictInt = 0
    waves: tuple[WaveEntry, ...] = ()
    shade: Number = 0.0


class LibraryFile(BaseModel):
    """A file of patterns, of backgrounds, or of both."""

    model_config = _STRICT

    pattern: tuple[PatternEntry, ...] = Field(default=(), description="The patterns.")
    background: tuple[LookEntry, ...] = Field(default=(), description="The backgrounds.")
