"""One line of text laid out: which piece stands where, in which face and direction.

Shaping (kerning, ligatures, joined scripts, marks) is HarfBuzz's, through
Pillow and Raqm; the order of the pieces is the bidirectional algorithm's.
Lengths are display pixels: as high as a row, and as wide as they are high.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from pathlib import Path

from keyer.titles.bidi import base_level, levels, visual_order
from keyer.titles.capitals import capitals
from keyer.titles.coverage import assign_faces, clusters
from keyer.titles.fonts import Face, find_face
from keyer.titles.model import TextStyle
from keyer.titles.open_font import OpenFont, capital_height, font_at

OVERSAMPLE = 4
"""Letters are shaped and drawn at this many times their size, so that hinting and
rounding, which work on whole pixels, become sub-pixel."""

SYNTHETIC_SLANT = 12.0
"""Degrees by which an upright face leans where an italic is asked for and there is none;
common practice for an oblique."""

# Scripts whose letters join or reorder; spreading them apart breaks words.
_JOINED = {
    "Arab", "Syrc", "Mong", "Nkoo", "Mand", "Phag", "Adlm", "Rohg", "Deva", "Beng", "Guru", "Gujr",
    "Orya", "Taml", "Telu", "Knda", "Mlym", "Sinh", "Khmr", "Mymr", "Tibt",
}  # fmt: skip


@dataclass(frozen=True)
class Piece:
    """A stretch of a line that is shaped in one go.

    Attributes
    ----------
    text : str
    style : TextStyle
    face : Face
    size : float
        Font size in display pixels.
    slant : float
        Lean to the right in degrees.
    rtl : bool
    x : float
        Left end of its advance, from the line's left.
    advance : float
    capitals : float
        Height of the capitals of the style's own face, in display pixels,
        whichever face steps in.
    """

    text: str
    style: TextStyle
    face: Face
    size: float
    slant: float
    rtl: bool
    x: float
    advance: float
    capitals: float

    @property
    def font(self) -> OpenFont:
        """The font to draw with, oversampled."""
        return font_at(self.face, self.size * OVERSAMPLE, self.style.weight)

    @property
    def options(self) -> dict[str, object]:
        """Direction, language and features for the layout engine."""
        return _options(self.style, rtl=self.rtl)


@dataclass(frozen=True)
class Line:
    """A line laid out.

    Attributes
    ----------
    pieces : tuple of Piece
        From left to right.
    width : float
        Advance of the whole line.
    size : float
        Its largest font size.
    pitch : float
        Distance to the baseline of a line before or after it.
    rtl : bool
        It reads from right to left.
    """

    pieces: tuple[Piece, ...]
    width: float
    size: float
    pitch: float
    rtl: bool

    @cached_property
    def capitals(self) -> float:
        """Height of the capitals above the baseline."""
        return max((piece.capitals for piece in self.pieces), default=0.0)

    @property
    def text(self) -> str:
        """The line as it is seen, piece by piece."""
        return "".join(piece.text for piece in self.pieces)

    @property
    def stops(self) -> tuple[float, ...]:
        """Where a caret stands before each character and after the last, from the line's left.

        Empty for a line in which anything reads from right to left.
        """
        if any(piece.rtl for piece in self.pieces):
            return ()
        before = (
            piece.x + _length(piece, piece.text[:n])
            for piece in self.pieces
            for n in range(len(piece.text))
        )
        return (*before, self.width)


def style_faces(style: TextStyle, folder: Path | None) -> tuple[Face, ...]:
    """Return a style's face, then those that step in for it, best first.

    Italic faces often have fewer scripts than the upright ones of their
    family, so these come next, to be leaned.
    """
    slopes = (True, False) if style.italic else (False,)
    faces = [
        find_face(font, style.weight, italic=slope, folder=folder)
        for font in (style.font, *style.fallback)
        for slope in slopes
    ]
    return tuple(dict.fromkeys(faces))


def lean_of(style: TextStyle, face: Face) -> float:
    """Degrees by which the letters of a face are leaned for a style."""
    return style.slant + (SYNTHETIC_SLANT if style.italic and not face.italic else 0.0)


def _options(style: TextStyle, *, rtl: bool) -> dict[str, object]:
    spread = style.letter_spacing != 0
    # CSS Text Module Level 3, 8.2: no optional ligatures between letters set apart
    features = ["-liga", "-clig"] if spread or not style.ligatures else []
    features += ["tnum"] if style.figures == "tabular" else []
    return {
        "direction": "rtl" if rtl else "ltr",
        "features": features or None,
        "language": style.language or None,
    }


def _length(piece: Piece, text: str) -> float:
    """Advance of a text set as a piece is, in display pixels."""
    return _advance(text, piece.face, piece.size, piece.style, piece.rtl)


@lru_cache(maxsize=8192)
def _advance(text: str, face: Face, size: float, style: TextStyle, rtl: bool) -> float:  # noqa: FBT001
    font = font_at(face, size * OVERSAMPLE, style.weight)
    return font.length(text, **_options(style, rtl=rtl)) / OVERSAMPLE


def joined(text: str) -> bool:
    """Whether a text holds letters of a script in which they join or reorder."""
    from fontTools import unicodedata as scripts

    return any(scripts.script(char) in _JOINED for char in text)


_EXPLICIT = dict.fromkeys([*range(0x202A, 0x202F), *range(0x2066, 0x206A)])
"""Explicit directional formatting characters (UAX #9, 2.1 to 2.5)."""


def clean(text: str, style: TextStyle) -> str:
    """Normalise a text (NFC), and put it in capitals if the style says so.

    Embeddings, overrides and isolates, which turn round what follows, are left out: letters
    that were copied with one from somewhere would stand reversed on screen.
    """
    text = unicodedata.normalize("NFC", text).replace("\t", " ").translate(_EXPLICIT)
    return capitals(text, style.language) if style.capitals else text


def _stretches(
    runs: Sequence[tuple[str, TextStyle]], base: int, folder: Path | None
) -> Iterator[tuple[str, TextStyle, Face, Face, int]]:
    """Cut a line wherever style, direction or face changes, in reading order."""
    depth = levels("".join(text for text, _ in runs), base)
    at = 0
    for text, style in runs:
        faces = style_faces(style, folder)
        for part, face in assign_faces(text, faces):
            start = 0
            for i in range(1, len(part) + 1):
                if i == len(part) or depth[at + i] != depth[at + start]:
                    yield part[start:i], style, face, faces[0], depth[at + start]
                    start = i
            at += len(part)


def lay_line(
    runs: Sequence[tuple[str, TextStyle]],
    unit: float,
    *,
    scale: float = 1.0,
    folder: Path | None = None,
    base: int | None = None,
) -> Line:
    """Lay out one line.

    Parameters
    ----------
    runs : sequence of (text, TextStyle)
        In reading order; texts already `clean`.
    unit : float
        Display pixels in one percent of the picture height.
    scale : float
        Factor on every font size, for texts shrunk to fit.
    folder : Path, optional
        Where font files named by a style are looked for.
    base : {0, 1}, optional
        1: the line reads from right to left. Default: as its first letter does.

    Raises
    ------
    SettingError
        If a font is not found, or a character is in none.
    """
    if base is None:
        base = base_level("".join(text for text, _ in runs))
    parts: list[list[Piece]] = []
    depths: list[int] = []
    for text, style, face, own, depth in _stretches(runs, base, folder):
        size = style.size * unit * scale
        lean = lean_of(style, face)
        capitals = capital_height(own, style.weight) * size
        piece = Piece(text, style, face, size, lean, bool(depth % 2), 0.0, 0.0, capitals)
        parts.append(_measured(piece))
        depths.append(depth)
    placed: list[Piece] = []
    x = 0.0
    for group in visual_order(parts, depths):
        for piece in group:
            placed.append(replace(piece, x=x + piece.x))
            x_end = x + piece.x + piece.advance
        x = x_end
    sizes = [style.size * unit * scale for _, style in runs] or [0.0]
    pitches = [style.size * style.line_spacing * unit * scale for _, style in runs] or [0.0]
    return Line(tuple(placed), x, max(sizes), max(pitches), bool(base))


def _measured(piece: Piece) -> list[Piece]:
    """Give a piece its advance; set apart, it becomes a piece for each character."""
    spacing = piece.style.letter_spacing / 100 * piece.size
    if not spacing or joined(piece.text):
        return [replace(piece, advance=_length(piece, piece.text))]
    parts = clusters(piece.text)
    seen = parts[::-1] if piece.rtl else parts
    x = 0.0
    result: list[Piece] = []
    for i, part in enumerate(seen):
        own = _length(piece, part)
        if i:  # the pair keeps its kerning, the distance comes on top
            pair = part + seen[i - 1] if piece.rtl else seen[i - 1] + part
            kerning = _length(piece, pair) - own - result[-1].advance
            x += kerning + spacing
        result.append(replace(piece, text=part, x=x, advance=own))
        x += own
    return result
