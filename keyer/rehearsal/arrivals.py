"""What is dropped on the page: pictures, clips and sound, kept beside the sheet.

Each is written whole under its own name, or under one with a number where that
is taken, and opened once: what keyer cannot read does not stay.
"""

from __future__ import annotations

import os
import re
from collections.abc import AsyncIterator
from contextlib import suppress
from pathlib import Path

from keyer.errors import InputFileError, KeyerError, OutputError
from keyer.media.decode_still import STILL_SUFFIXES
from keyer.media.sound import sound_length
from keyer.media.source import open_source

PICTURES = STILL_SUFFIXES
CLIPS = {".mp4", ".mov", ".mkv", ".webm", ".m4v", ".gif"}
SOUNDS = {".wav", ".flac", ".mp3", ".m4a", ".aac", ".ogg"}
MOST_BYTES = 4 * 2**30
FOLDER = "media"


def safe_name(name: str) -> str:
    """Make a plain file name of one that came from outside.

    Returns
    -------
    str
        Letters, digits, dot, hyphen and underscore; no folder; at most 80 letters.

    Raises
    ------
    InputFileError
        If its suffix is not one that is taken.
    """
    base = re.split(r"[\\/]", name)[-1]
    stem, suffix = Path(base).stem, Path(base).suffix
    if suffix.lower() not in PICTURES | CLIPS | SOUNDS:
        known = ", ".join(sorted(PICTURES | CLIPS | SOUNDS))
        msg = f"{base[:60]!r} is of no kind that is taken. Drop one of {known}."
        raise InputFileError(msg)
    plain = re.sub(r"[^\w-]+", "-", stem, flags=re.ASCII).strip("-_")[:70]
    return f"{plain or 'picture'}{suffix.lower()}"


def kind_of(name: str) -> str:
    """Tell `picture`, `clip` or `sound` by a file's suffix."""
    suffix = Path(name).suffix.lower()
    return "sound" if suffix in SOUNDS else "clip" if suffix in CLIPS else "picture"


async def keep(folder: Path, name: str, parts: AsyncIterator[bytes]) -> str:
    """Keep a file that arrives in parts.

    Parameters
    ----------
    folder : Path
        The sheet's.
    name : str
        As the browser has it.
    parts : async iterator of bytes

    Returns
    -------
    str
        Its path from the sheet's folder, `media/NAME`.

    Raises
    ------
    InputFileError
        If it is too large, of no kind that is taken, or cannot be read.
    OutputError
        If it cannot be written.
    """
    plain = safe_name(name)
    place = folder / FOLDER
    temporary = place / f".arrives.{os.urandom(6).hex()}{Path(plain).suffix}"
    there = place.exists()
    try:
        place.mkdir(exist_ok=True)
        size = 0
        with temporary.open("xb") as out:
            async for part in parts:
                size += len(part)
                if size > MOST_BYTES:
                    msg = f"{plain} is larger than {MOST_BYTES // 2**30} GiB. Put it there by hand."
                    raise InputFileError(msg)
                out.write(part)
            out.flush()
            os.fsync(out.fileno())
        _open_once(temporary, plain)
        return f"{FOLDER}/{_settle(temporary, place, plain)}"
    except KeyerError:
        raise
    except OSError as error:
        msg = f"{plain} cannot be kept beside the sheet: {error.strerror or 'no room'}."
        raise OutputError(msg) from error
    finally:
        with suppress(OSError):
            temporary.unlink(missing_ok=True)
        if not there:
            with suppress(OSError):  # something was kept in it
                place.rmdir()


def _open_once(file: Path, name: str) -> None:
    try:
        if kind_of(name) == "sound":
            sound_length(file)
        else:
            open_source(file).close()
    except KeyerError as error:
        reason = str(error).replace(str(file), name).splitlines()[0]
        raise InputFileError(reason) from None


def _settle(temporary: Path, place: Path, name: str) -> str:
    """Give the file its name, never over another: the first that is free."""
    stem, suffix = Path(name).stem, Path(name).suffix
    for number in range(1, 1000):
        tried = name if number == 1 else f"{stem}-{number}{suffix}"
        try:
            os.link(temporary, place / tried)
        except FileExistsError:
            continue
        return tried
    msg = f"there are a thousand files called {stem} already."
    raise OutputError(msg)
