"""What the keys of a sheet are called where a person reads them: labels and short units."""

from __future__ import annotations

from pydantic import BaseModel

from keyer.sheet.effect_models import KeyTable, ModulateTable, TransitionTable
from keyer.sheet.models import (
    CueTable,
    DuckTable,
    FadeTable,
    LoudnessTable,
    OverlayTable,
    PlacementTable,
    SheetTable,
    SoundTable,
)
from keyer.sheet.source_models import BackgroundTable, SourceTable, TitleTable

TABLES: dict[str, type[BaseModel]] = {
    "sheet": SheetTable,
    "fade": FadeTable,
    "cue": CueTable,
    "overlay": OverlayTable,
    "sound": SoundTable,
    "duck": DuckTable,
    "loudness": LoudnessTable,
    "source": SourceTable,
    "title": TitleTable,
    "background": BackgroundTable,
    "transition": TransitionTable,
    "modulate": ModulateTable,
    "key": KeyTable,
    "placement": PlacementTable,
}
"""Tables of a sheet by a short name."""

LABELS = {
    "at": "Starts",
    "soft": "Softness",
    "border_soft": "Border softness",
    "border_colour": "Border colour",
    "border_ramp": "Second border colour",
    "border_source": "Picture in the border",
    "reverse": "Reversed",
    "position": "Centre",
    "aspect": "Width to height",
    "rotate": "Turned",
    "repeat": "Repeated across, down",
    "mirror": "Every other one mirrored",
    "start_progress": "Starts at",
    "end_progress": "Ends at",
    "use": "House setting",
    "fill_holes": "Fill holes up to",
    "drop_specks": "Drop specks up to",
    "shadow_soft": "Shadow softness",
    "page": "Page number",
    "match": "Matched to",
}
"""Labels that are not the key with a capital."""

_ON_PAPER = {"soft": "Soft edge", "border_soft": "Border softness", "spill": "Spill suppression"}

_UNITS = {
    "degrees": "°",
    "pixels": "px",
    "pixels of area": "px²",
    "cycles a second": "a second",
}


def label_of(key: str) -> str:
    """Call a key as a person would."""
    return LABELS.get(key, key.replace("_", " ").capitalize())


def paper_word(key: str) -> str:
    """Call a key as boards do, where it stands alone."""
    return _ON_PAPER.get(key, key.replace("_", " ").capitalize())


def unit_of(model: type[BaseModel], field: str) -> str:
    """Say the unit of a key's numbers as short as it is said beside one; empty without any.

    Parameters
    ----------
    model : type
    field : str
        Name of the model's field.
    """
    info = model.model_fields.get(field)
    extra = info.json_schema_extra if info else None
    words = str(extra.get("unit", "")) if isinstance(extra, dict) else ""
    return "%" if words.startswith("percent") else _UNITS.get(words, words)
