"""What a pattern file may say."""

from __future__ import annotations

import re
from typing import Annotated

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


Word = Annotated[StrictStr, AfterValidator(_word)]
Line = Annotated[StrictStr, AfterValidator(_one_line)]


class PatternEntry(BaseModel):
    """One pattern."""

    model_config = ConfigDict(extra="forbid", frozen=True)

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


class PatternFile(BaseModel):
    """A file of patterns."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    pattern: tuple[PatternEntry, ...] = Field(description="The patterns.")
