"""The moving backgrounds of the library, and those of a user's file."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any, Literal

from pydantic import BaseModel, ConfigDict, Field, StrictBool, StrictFloat, StrictInt, StrictStr

from keyer.errors import Fault, SettingError
from keyer.kinds.field import Modifiers
from keyer.kinds.look import Look, LookWave
from keyer.kinds.settings import parse_colour
from keyer.library.checked import CheckedFile
from keyer.library.load import library_folder
from keyer.library.model import Line, Word
from keyer.library.patterns import Patterns

Number = StrictFloat | StrictInt

_STRICT = ConfigDict(extra="forbid", frozen=True)


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
    """A background."""

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


class LookFile(BaseModel):
    """A file of backgrounds."""

    model_config = _STRICT

    background: tuple[LookEntry, ...] = Field(description="The backgrounds.")


def _look(entry: LookEntry) -> Look:
    given: dict[str, Any] = {
        **{
            key: getattr(entry, key)
            for key in ("name", "summary", "runs", "soft", "drift", "shade")
        },
        "pattern": str(entry.pattern),
        "colours": tuple(parse_colour(text, "colours") for text in entry.colours),
        "modifiers": Modifiers(**entry.modifiers.model_dump()),
        "waves": tuple(LookWave(**wave.model_dump()) for wave in entry.waves),
    }
    return Look(**given)


def _file_looks(path: Path, patterns: Patterns | None) -> Iterator[Look]:
    """Read a file; patterns are looked up where they are given."""
    file = CheckedFile(path, "a file of backgrounds", LookFile)
    faults: list[Fault] = []
    for number, entry in enumerate(file.document.background):
        at = ("background", number)
        try:
            look = _look(entry)
            if patterns is not None and patterns.find(look.pattern).effect != "wipe":
                faults.append(file.fault((*at, "pattern"), "must be a pattern that wipes."))
                continue
        except SettingError as error:
            key = str(error).partition(" ")[0]
            where = (*at, key) if key in LookEntry.model_fields else at
            faults.append(file.fault(where, str(error)))
            continue
        yield look
    if faults:
        raise file.error(faults)


@cache
def _shipped() -> dict[str, Look]:
    path = library_folder() / "backgrounds.toml"
    return {look.name: look for look in _file_looks(path, None)}


def load_looks(file: Path | None = None, patterns: Patterns | None = None) -> dict[str, Look]:
    """Read the moving backgrounds.

    Parameters
    ----------
    file : Path, optional
        The user's own, which may replace some of the library's.
    patterns : Patterns, optional
        In which the user's are looked up.

    Returns
    -------
    dict of str to Look
        By name.

    Raises
    ------
    InputFileError
        If the file cannot be read.
    SheetError
        If it is wrong: its faults, by line.
    """
    looks = dict(_shipped())
    if file is not None:
        looks |= {look.name: look for look in _file_looks(Path(file), patterns)}
    return looks


def find_look(name: str, looks: dict[str, Look] | None = None) -> Look:
    """Find a background by name.

    Parameters
    ----------
    name : str
        Capitals do not matter.
    looks : dict of str to Look, optional
        Default: the library's.

    Returns
    -------
    Look

    Raises
    ------
    SettingError
        If there is none; the names are listed.
    """
    known = {look.name.casefold(): look for look in (looks or _shipped()).values()}
    wanted = name.strip().casefold()
    if wanted in known:
        return known[wanted]
    near = difflib.get_close_matches(wanted[:80], known, 1)
    hint = f" Did you mean {near[0]!r}?" if near else ""
    msg = f"background must be one of {', '.join(known)}, got {name!r:.60}.{hint}"
    raise SettingError(msg)
