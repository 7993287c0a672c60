"""The moving backgrounds of the library, and those of a user's folders."""

from __future__ import annotations

import difflib
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

from keyer.errors import Fault, SettingError
from keyer.kinds.field import Modifiers
from keyer.kinds.look import Look, LookWave
from keyer.kinds.settings import parse_colour
from keyer.library.checked import CheckedFile
from keyer.library.load import library_folder, load_patterns, own_files, stamp
from keyer.library.model import LibraryFile, LookEntry
from keyer.library.patterns import Patterns


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


def _file_looks(
    file: CheckedFile[LibraryFile], patterns: Patterns, taken: set[str]
) -> Iterator[Look]:
    """Read the backgrounds of a user's file."""
    faults: list[Fault] = []
    for number, entry in enumerate(file.document.background):
        at = ("background", number)
        if entry.name.casefold() in taken:
            message = f"{entry.name} exists already. Choose another name."
            faults.append(file.fault((*at, "name"), message))
        taken.add(entry.name.casefold())
        try:
            look = _look(entry)
            pattern = patterns.find(look.pattern)
        except SettingError as error:
            where = (*at, error.name) if error.name in LookEntry.model_fields else at
            faults.append(file.fault(where, str(error)))
            continue
        if pattern.effect != "wipe":
            faults.append(file.fault((*at, "pattern"), "must be a pattern that wipes."))
            continue
        yield replace(look, files=(str(file.path), *pattern.files))
    if faults:
        raise file.error(faults)


@cache
def _shipped() -> dict[str, Look]:
    path = library_folder() / "backgrounds.toml"
    entries = CheckedFile(path, "a file of backgrounds", LibraryFile).document.background
    return {entry.name: _look(entry) for entry in entries}


@lru_cache(maxsize=8)
def _with_own(folders: tuple[Path, ...], _stamps: object) -> dict[str, Look]:
    patterns = load_patterns(folders)
    looks = dict(_shipped())
    taken = {name.casefold() for name in looks}
    for folder in folders:
        for file in own_files(folder):
            looks |= {look.name: look for look in _file_looks(file, patterns, taken)}
    return looks


def load_looks(folders: Sequence[Path] = ()) -> dict[str, Look]:
    """Read the library's moving backgrounds, and the user's own.

    Parameters
    ----------
    folders : sequence of Path
        As for `keyer.library.load_patterns`.

    Returns
    -------
    dict of str to Look
        By name.

    Raises
    ------
    InputFileError
        If a file cannot be read.
    SheetError
        If a file is wrong: its faults, by line.
    """
    if not folders:
        return _shipped()
    paths = tuple(Path(folder) for folder in folders)
    return _with_own(paths, tuple(map(stamp, paths)))


def find_look(name: str, looks: dict[str, Look] | None = None) -> Look:
    """Return the background with a name.

    Parameters
    ----------
    name : str
        Capitals do not matter.
    looks : dict of str to Look, optional
        Default: the library's.

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
