"""What a pattern file may say."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, StrictBool, StrictFloat, StrictInt, StrictStr

from keyer.kinds.field import Effect

Word = Annotated[StrictStr, Field(pattern=r"^[A-Za-z][A-Za-z0-9_-]{0,63}$")]


class PatternEntry(BaseModel):
    """One pattern."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    type: Word = Field(description="First half of the pattern's name.")
    subtype: Word = Field(description="Second half of the pattern's name.")
    code: StrictInt | None = Field(None, ge=1, le=999, description="SMPTE wipe code.")
    default: StrictBool = Field(default=False, description="The type alone means this subtype.")
    summary: StrictStr = Field(description="What the eye sees, in one line.")
    effect: Effect = "wipe"
    function: StrictStr = Field("", description="A field function.")
    picture: StrictStr = Field("", description="A grey picture beside the file: the field itself.")
    params: dict[str, StrictInt | StrictFloat | StrictBool | StrictStr] = Field(
        default_factory=dict, description="Parameters of the field function."
    )


class PatternFile(BaseModel):
    """A file of patterns."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    pattern: tuple[PatternEntry, ...] = Field(description="The patterns.")
