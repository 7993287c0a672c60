"""Numbered stills as a source: shot_%04d.png, shot_####.png, or a folder of them."""

from __future__ import annotations

import re
from pathlib import Path

from keyer.errors import InputFileError, TimeError
from keyer.kinds.picture import RgbPicture
from keyer.kinds.plain_file import real_path
from keyer.media.contract import SourceProps
from keyer.media.decode_still import STILL_SUFFIXES, decode_still, unreadable

_PLACEHOLDER = re.compile(r"%0?(\d*)d|#+")
_NUMBERED = re.compile(r"^(.*?)(\d+)(\.[^.]+)$")


def is_pattern(path: Path) -> bool:
    """Whether a name stands for numbered files: it has `%04d` or `####`."""
    return len(_PLACEHOLDER.findall(path.name)) == 1


def numbered(pattern: Path, number: int) -> Path:
    """Name one of the files that a pattern stands for.

    Parameters
    ----------
    pattern : Path
        With one placeholder, `%04d` or `####`.
    number : int
    """

    def written(placeholder: re.Match[str]) -> str:
        text = placeholder.group()
        return f"{number:0{len(text) if text.startswith('#') else int(placeholder.group(1) or 1)}d}"

    return pattern.with_name(_PLACEHOLDER.sub(written, pattern.name))


def _digits(placeholder: re.Match[str]) -> str:
    """Regular expression for the number that a placeholder stands for."""
    text = placeholder.group()
    width = len(text) if text.startswith("#") else int(placeholder.group(1) or 1)
    return rf"(\d{{{width},}})"


def _shape(pattern: Path) -> re.Pattern[str]:
    """Regular expression for the names that a pattern stands for."""
    placeholder = _PLACEHOLDER.search(pattern.name)
    if placeholder is None:
        msg = f"{pattern} has no placeholder such as %04d or ####."
        raise InputFileError(msg)
    before, after = pattern.name[: placeholder.start()], pattern.name[placeholder.end() :]
    return re.compile(re.escape(before) + _digits(placeholder) + re.escape(after))


def _matching(pattern: Path) -> dict[int, Path]:
    """Files that a pattern stands for, by number."""
    shape = _shape(pattern)
    try:
        names = [entry.name for entry in pattern.parent.iterdir()]
    except OSError as error:
        raise unreadable(pattern.parent, error) from None
    hits = ((name, shape.fullmatch(name)) for name in names)
    return {int(hit.group(1)): pattern.parent / name for name, hit in hits if hit}


def _in_folder(folder: Path) -> dict[int, Path]:
    """Numbered stills of a folder, which must be of one kind."""
    sets: dict[tuple[str, str], dict[int, Path]] = {}
    try:
        entries = sorted(folder.iterdir())
    except OSError as error:
        raise unreadable(folder, error) from None
    for entry in entries:
        hit = _NUMBERED.match(entry.name)
        if hit and entry.suffix.lower() in STILL_SUFFIXES:
            sets.setdefault((hit.group(1), hit.group(3)), {})[int(hit.group(2))] = entry
    if len(sets) > 1:
        kinds = ", ".join(f"{before}####{after}" for before, after in sorted(sets))
        msg = f"{folder} holds several sequences ({kinds}). Name one of them by its pattern."
        raise InputFileError(msg)
    return next(iter(sets.values()), {})


def belongs(path: Path, sequence: Path) -> bool:
    """Whether a file is, or would be if it were written, a picture of a sequence.

    Parameters
    ----------
    path : Path
        The file.
    sequence : Path
        A pattern, or a folder.
    """
    if sequence.is_dir():
        hit = _NUMBERED.match(path.name)
        folder, found = sequence, bool(hit) and path.suffix.lower() in STILL_SUFFIXES
    else:
        folder, found = sequence.parent, bool(_shape(sequence).fullmatch(path.name))
    return found and real_path(path.parent) == real_path(folder)


def sequence_files(path: Path) -> list[Path]:
    """List the files of a sequence in order.

    Parameters
    ----------
    path : Path
        A pattern with one `%04d` or `####`, or a folder with one set of
        numbered stills. The first number may be any.

    Raises
    ------
    InputFileError
        If there are none, or a number is missing.
    """
    files = _in_folder(path) if path.is_dir() else _matching(path)
    if not files:
        msg = f"{path} matches no numbered still. Names look like shot_0001.png."
        raise InputFileError(msg)
    first, last = min(files), max(files)
    missing = next((number for number in range(first, last + 1) if number not in files), None)
    if missing is not None:
        msg = (
            f"{path} runs from {first} to {last} but number {missing} is missing. Export it again."
        )
        raise InputFileError(msg)
    return [files[number] for number in range(first, last + 1)]


class Sequence:
    """Numbered stills of one size; each is decoded when it is read."""

    def __init__(self, path: Path) -> None:
        self._files = sequence_files(path)
        first = self._decoded(0)
        self._last = (0, first)
        self._props = SourceProps(
            description=f"sequence of {len(self._files)} stills, {first.width} x {first.height}",
            width=first.width,
            height=first.height,
            frames=len(self._files),
            has_alpha=first.alpha is not None,
            bits=8 * first.planes.itemsize,
        )

    @property
    def props(self) -> SourceProps:
        """Size, rate, length, depth and matrix of the sequence, read off its first picture."""
        return self._props

    def _decoded(self, index: int) -> RgbPicture:
        from keyer.pixel.colour.load import from_array

        path = self._files[index]
        return from_array(decode_still(path), name=str(path))

    def read(self, index: int) -> RgbPicture:
        """Return picture `index`, counted from 0."""
        if not 0 <= index < len(self._files):
            msg = (
                f"frame must be 0 to {len(self._files) - 1}, got {index}: the sequence ends there."
            )
            raise TimeError(msg)
        if self._last[0] != index:
            picture = self._decoded(index)
            if (picture.width, picture.height) != (self._props.width, self._props.height):
                msg = (
                    f"{self._files[index]} is {picture.width} x {picture.height} in a sequence of "
                    f"{self._props.width} x {self._props.height}. Export all at one size."
                )
                raise InputFileError(msg)
            self._last = (index, picture)
        return self._last[1]

    def close(self) -> None:
        """Nothing is held open."""
