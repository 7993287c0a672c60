"""Whether a title will fit and can be drawn, told in microseconds for most values.

Laying out a line takes a millisecond, and a hundred thousand rows want an
answer at once. The widths of single letters, added up, are within a few
percent of a line's true width where letters do not join; only what comes near
the limit, or is written in a script that joins or runs from right to left, is
laid out in full.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

from keyer.errors import SettingError
from keyer.kinds.settings import parse_colour
from keyer.titles.coverage import has
from keyer.titles.design import Box, Design, Text
from keyer.titles.ink import Canvas
from keyer.titles.layout import fit_of, safe_rectangle, text_room
from keyer.titles.lines import clean, joined, lay_line, style_faces
from keyer.titles.markup import Span, fill, parse
from keyer.titles.model import TextStyle
from keyer.titles.paragraphs import Fit, lay_paragraph

LONGEST = 2000
"""Letters of one text; no title is longer, and a cell that is was filled by mistake."""

_SURELY_NARROWER = 1.03
_SURELY_WIDER = 0.8
"""Kerning moves the sum of single widths by less than this."""


class Foresight:
    """Tells the faults of a title before it is drawn.

    Parameters
    ----------
    design : Design
    canvas : Canvas
    folder : Path, optional
        For fonts that the design names.
    """

    def __init__(self, design: Design, canvas: Canvas, folder: Path | None = None) -> None:
        self.design = design
        self.canvas = canvas
        self.folder = folder
        safe = safe_rectangle(design, canvas)
        self._texts: list[tuple[Box, Text, tuple[Span, ...], Fit]] = []
        moving = design.move is not None and design.move.kind == "crawl"
        for box in design.boxes:
            room = 1e9 if moving else text_room(box, canvas, safe)
            for text in box.texts:
                spans = parse(text.text, text.style)
                self._texts.append((box, text, spans, fit_of(text, design, room)))
        self._advances: dict[str, dict[str, float | None]] = {name: {} for name in design.styles}
        self._colours: set[str] = set()
        self._told = lru_cache(maxsize=4096)(self._look)

    def faults(self, given: Mapping[str, str]) -> list[str]:
        """Find what is wrong with a row.

        Parameters
        ----------
        given : mapping
            Field name to value.

        Returns
        -------
        list of str
            Empty if the title can be drawn.
        """
        try:
            values = self.design.values(given)
        except SettingError as error:
            return [str(error)]
        found = []
        for name, rule in self.design.fields.items():
            if rule.kind == "colour":
                found += self._colour_fault(name, values[name])
            elif rule.default is None and not values[name].strip():
                found.append(f"field {name} must not be empty.")
        for i, (_, _, spans, _) in enumerate(self._texts):
            runs = tuple(fill(spans, values))
            fault, _ = self._told(i, runs)
            found += [fault] if fault else []
        return found

    def stepping_in(self, given: Mapping[str, str]) -> frozenset[Path]:
        """Find the system's fonts that draw what the design's own lack.

        Parameters
        ----------
        given : mapping
            Values that have no faults.

        Returns
        -------
        frozenset of Path
            Empty for nearly every title.
        """
        values = self.design.values(given)
        texts = enumerate(self._texts)
        found = (self._told(i, tuple(fill(spans, values)))[1] for i, (_, _, spans, _) in texts)
        return frozenset().union(*found)

    def _colour_fault(self, name: str, value: str) -> list[str]:
        if value not in self._colours:
            try:
                parse_colour(value, name)
            except SettingError as error:
                return [str(error)]
            self._colours.add(value)
        return []

    def _look(self, index: int, runs: tuple[tuple[str, str], ...]) -> tuple[str, frozenset[Path]]:
        """Say what is wrong with a text, and which of the system's fonts step in for it."""
        box, _, _, fit = self._texts[index]
        letters = sum(len(text) for text, _ in runs)
        if letters > LONGEST:
            said = f"box {box.id!r}: a text must have at most {LONGEST} letters, got {letters:,}."
            return said, frozenset()
        width = self._width(runs)
        if width is not None and self._surely_fits(width, runs, fit):
            return "", frozenset()
        if width is not None and self._surely_not(width, fit):
            text = "".join(part for part, _ in runs)
            shown = text if len(text) <= 40 else f"{text[:37]}..."
            room = fit.width * max(fit.lines, 1) / fit.smallest
            return (
                f"box {box.id!r}: {shown!r} is about {(width / room - 1) * 100:.0f} % too wide. "
                f"Shorten it by about {round(letters * (1 - room / width))} letters."
            ), frozenset()
        styled = [(text, self.design.styles[name]) for text, name in runs]
        try:
            laid, fault = lay_paragraph(styled, self.canvas.unit, fit, self.folder)
        except SettingError as error:
            return f"box {box.id!r}: {error}", frozenset()
        fonts = {
            Path(piece.face.path)
            for line in laid.lines
            for piece in line.pieces
            if piece.face not in style_faces(piece.style, self.folder)
        }
        return f"box {box.id!r}: {fault}" if fault else "", frozenset(fonts)

    def _letter(self, char: str, style: TextStyle) -> float | None:
        """Advance of one letter; None for one that wants to be laid out in its line."""
        simple = unicodedata.bidirectional(char) in {"L", "EN", "ES", "CS", "ET", "WS", "ON"}
        if not simple or unicodedata.combining(char) or joined(char):
            return None
        if not has(style_faces(style, self.folder)[0], char):
            return None
        return lay_line([(char, style)], self.canvas.unit, folder=self.folder, base=0).width

    def _width(self, runs: tuple[tuple[str, str], ...]) -> float | None:
        """Sum of the letters' widths; None if it would mean nothing."""
        total = 0.0
        for text, name in runs:
            style = self.design.styles[name]
            spacing = max(style.letter_spacing, 0) / 100 * style.size * self.canvas.unit
            known = self._advances[name]
            cleaned = text if text.isascii() and not style.capitals else clean(text, style)
            for char in cleaned:
                if char not in known:
                    known[char] = self._letter(char, style)
                advance = known[char]
                if advance is None:
                    return None
                total += advance + spacing
        return total

    def _surely_fits(self, width: float, runs: tuple[tuple[str, str], ...], fit: Fit) -> bool:
        if any("\n" in text for text, _ in runs):
            return False
        most = width * _SURELY_NARROWER
        return most <= fit.width or (fit.rule == "shrink" and most * fit.smallest <= fit.width)

    def _surely_not(self, width: float, fit: Fit) -> bool:
        room = fit.width * (fit.lines if fit.rule == "wrap" else 1)
        return width * _SURELY_WIDER * fit.smallest > room
