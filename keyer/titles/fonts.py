"""Find the face that a style asks for: by file, in the shipped family, on this system.

The shipped family is Source Sans Pro (SIL Open Font License 1.1), installed
with this package, so that a title that names no font looks the same anywhere.
"""

from __future__ import annotations

import difflib
import importlib.util
import logging
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from pathlib import Path

from keyer.errors import InputFileError, KeyerError, SettingError
from keyer.kinds.plain_file import open_plain, real_path

SHIPPED_FAMILY = "Source Sans Pro"
_SHIPPED_PACKAGE = "font_source_sans_pro"
_SHIPPED_WEIGHTS = {
    "ExtraLight": 200,
    "Light": 300,
    "Regular": 400,
    "Semibold": 600,
    "Bold": 700,
    "Black": 900,
}
WEIGHTS = {
    "thin": 100,
    "extra light": 200,
    "light": 300,
    "regular": 400,
    "medium": 500,
    "semibold": 600,
    "bold": 700,
    "extra bold": 800,
    "black": 900,
}
"""Names of weights (OpenType specification, OS/2 table, usWeightClass)."""
FONT_SUFFIXES = (".ttf", ".otf", ".ttc", ".otc")
_OUTLINES = ("glyf", "CFF ", "CFF2")
_COLLECTION = b"ttcf"
_SIGNATURES = {b"\0\1\0\0", b"OTTO", b"true", _COLLECTION}
"""First bytes (OpenType specification, Font file and TTC header)."""
_MOST_FACES = 512


@dataclass(frozen=True)
class Face:
    """One face (weight, width, slant) of a font file.

    Attributes
    ----------
    path : str
    index : int
        Its place in a collection file; 0 elsewhere.
    family : str
    weight : int
        100 (thin) to 900 (black).
    italic : bool
    variable : bool
        The weight is an axis of the file and has to be set.
    stamp : tuple
        Tells the file from others that had its name, so that what is kept of a
        face is never kept of one that was replaced.
    """

    path: str
    index: int
    family: str
    weight: int
    italic: bool
    variable: bool = False
    stamp: tuple[object, ...] = ()


def shipped_faces() -> list[Face]:
    """Return the faces of the family that comes with the install.

    Raises
    ------
    InputFileError
        If the install is damaged.
    """
    spec = importlib.util.find_spec(_SHIPPED_PACKAGE)
    places = list(spec.submodule_search_locations or ()) if spec else []
    faces = []
    for stem, weight in _SHIPPED_WEIGHTS.items():
        upright = Path(*places[:1], "files", f"SourceSansPro-{stem}.otf")
        tilted = "It" if stem == "Regular" else f"{stem}It"
        italic = upright.with_name(f"SourceSansPro-{tilted}.otf")
        faces += [
            Face(str(path), 0, SHIPPED_FAMILY, weight, slope)
            for path, slope in ((upright, False), (italic, True))
            if path.is_file()
        ]
    if not faces:
        msg = f"the shipped font {SHIPPED_FAMILY} is missing; install font-source-sans-pro again"
        raise InputFileError(msg)
    return faces


def font_folders() -> list[Path]:
    """Folders in which systems keep fonts, the user's own first."""
    home = Path(os.path.expanduser("~"))  # noqa: PTH111 - Path.home() raises where there is none
    if sys.platform == "darwin":
        return [home / "Library/Fonts", Path("/Library/Fonts"), Path("/System/Library/Fonts")]
    if sys.platform == "win32":
        local = os.environ.get("LOCALAPPDATA", str(home))
        windir = os.environ.get("WINDIR", r"C:\Windows")
        return [Path(local) / "Microsoft/Windows/Fonts", Path(windir) / "Fonts"]
    data = os.environ.get("XDG_DATA_HOME") or str(home / ".local/share")
    shared = os.environ.get("XDG_DATA_DIRS") or "/usr/local/share:/usr/share"
    return [Path(data) / "fonts", home / ".fonts"] + [
        Path(folder) / "fonts" for folder in shared.split(":") if folder
    ]


@cache
def system_files() -> tuple[Path, ...]:
    """Font files of this system, in an order that does not change from run to run."""
    found: dict[Path, None] = {}
    for folder in font_folders():
        for base, _, names in sorted(os.walk(folder)):
            for name in sorted(names):
                if name.lower().endswith(FONT_SUFFIXES):
                    found[Path(base, name)] = None
    return tuple(found)


@contextmanager
def sound_font(path: str | Path) -> Iterator[None]:
    """Say of whatever breaks inside that the font file is broken.

    The libraries that read fonts fail in many ways on files that are none, or
    are damaged: by errors of their own, and by those of Python.

    Raises
    ------
    InputFileError
    """
    try:
        yield
    except KeyerError:
        raise
    except Exception as error:
        reason = " ".join(str(error).split()) or type(error).__name__
        msg = f"font {path} cannot be read as an OpenType or TrueType file: {reason:.100}."
        raise InputFileError(msg) from error


def faces_in(path: Path) -> tuple[Face, ...]:
    """Read the faces of a font file.

    Returns
    -------
    tuple of Face
        Only faces with outlines: bitmap and colour-only faces cannot be keyed.

    Raises
    ------
    InputFileError
        If it is not a font file that can be read.
    """
    return _faces_in(path, _stamp(path))


def _stamp(path: Path) -> tuple[object, ...]:
    """Tell a file from others of its name, in other folders or at other times."""
    try:
        found = path.stat()
    except (OSError, ValueError):
        return ()  # told when it is opened
    return found.st_dev, found.st_ino, found.st_size, found.st_mtime_ns


@lru_cache(maxsize=4096)
def _faces_in(path: Path, stamp: tuple[object, ...]) -> tuple[Face, ...]:
    """Read the faces of a font file as it is now."""
    from fontTools.ttLib import TTCollection, TTFont

    logging.getLogger("fontTools").setLevel(logging.CRITICAL + 1)
    with sound_font(path), open_plain(path) as stream:
        head = stream.read(4)
        if head not in _SIGNATURES:
            msg = f"it begins with {head!r}"
            raise ValueError(msg)
        stream.seek(0)
        whole = head == _COLLECTION
        held = TTCollection(stream, lazy=True).fonts if whole else [TTFont(stream, lazy=True)]
        if len(held) > _MOST_FACES:
            msg = f"it holds {len(held)} faces"
            raise ValueError(msg)
        fonts = [_describe(font, path, i) for i, font in enumerate(held)]
    return tuple(replace(face, stamp=stamp) for face in fonts if face)


def _describe(font: object, path: Path, index: int) -> Face | None:
    from fontTools.ttLib import TTFont

    assert isinstance(font, TTFont)  # noqa: S101 - narrows the type for the checker
    if not any(table in font for table in _OUTLINES):
        return None
    names = font["name"]
    family = names.getDebugName(16) or names.getDebugName(1) or path.stem
    style = (names.getDebugName(17) or names.getDebugName(2) or "").lower()
    weight = int(getattr(font.get("OS/2"), "usWeightClass", 400))
    italic = "italic" in style or "oblique" in style
    axes = {axis.axisTag for axis in font["fvar"].axes} if "fvar" in font else set()
    return Face(str(path), index, str(family), weight, italic, "wght" in axes)


def squashed(name: str) -> str:
    """Return a family name without case, spaces and dashes."""
    return "".join(c for c in name.casefold() if c.isalnum())


def _readable(paths: tuple[Path, ...]) -> Iterator[Face]:
    for path in paths:
        try:
            yield from faces_in(path)
        except InputFileError:  # a broken font elsewhere on the system is not our user's fault
            continue


def system_faces() -> Iterator[Face]:
    """Every face with outlines found on this system."""
    return _readable(system_files())


@cache
def family_faces(family: str) -> tuple[Face, ...]:
    """Return the faces of a family, the shipped one first, then this system's.

    Raises
    ------
    SettingError
        If no font of that name is found; the message names near ones.
    """
    wanted = squashed(family)
    if wanted == squashed(SHIPPED_FAMILY):
        return tuple(shipped_faces())
    likely = tuple(path for path in system_files() if wanted in squashed(path.stem))
    for paths in (likely, system_files()):
        faces = tuple(f for f in _readable(paths) if squashed(f.family) == wanted)
        if faces:
            return faces
    known = {SHIPPED_FAMILY} | {face.family for face in system_faces()}
    near = difflib.get_close_matches(family, known, 3, 0.5)
    hint = f"Near: {', '.join(near)}." if near else f"{SHIPPED_FAMILY} comes with the install."
    msg = f"font must be a family on this system or a font file, got {family!r}. {hint}"
    raise SettingError(msg)


def is_font_file(font: str) -> bool:
    """Whether the text names a file rather than a family."""
    return font.lower().endswith(FONT_SUFFIXES) or "/" in font or "\\" in font


def find_face(font: str, weight: int, *, italic: bool, folder: Path | None = None) -> Face:
    """Return the face nearest to what a style asks for.

    Parameters
    ----------
    font : str
        A family name, or a font file (relative to `folder`).
    weight : int
        100..900; the nearest one that the family has is taken.
    italic : bool
        Where the family has no italic the upright face comes back, and the
        caller slants it.
    folder : Path, optional

    Raises
    ------
    SettingError
        If there is no such family.
    InputFileError
        If the file is missing or no font.
    """
    if is_font_file(font):
        path = real_path(Path(folder or ".", font.replace("\0", "\ufffd")))
        if not path.is_file():
            msg = f"font file {font} does not exist (looked in {path.parent})"
            raise InputFileError(msg)
        faces = faces_in(path)
        if not faces:
            msg = f"font file {font} has no outlines (it holds bitmaps or colour pictures only)"
            raise InputFileError(msg)
    else:
        faces = family_faces(font)
    return nearest_face(faces, weight, italic=italic)


def nearest_face(faces: tuple[Face, ...], weight: int, *, italic: bool) -> Face:
    """Pick by slope first, then by weight; the heavier of two equally near ones."""
    return min(
        faces,
        key=lambda f: (
            f.italic != italic,
            0 if f.variable else abs(f.weight - weight),
            -f.weight,
            f.path,
        ),
    )
