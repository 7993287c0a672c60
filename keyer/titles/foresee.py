"""Whether a title will fit and can be drawn, told in microseconds for most values.

Laying out a line takes a millisecond, and a hundred thousand rows want an
answer at once. The widths of single letters, added up, are within a few
percent of a line's true width where letters do not join; only what comes near
the limit, or is written in a script that joins or runs from right to left, is
laid out in full.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from keyer.errors import InputFileError, SettingError
from keyer.kinds.settings import parse_colour
from keyer.titles.coverage import has
from keyer.titles.design import Box, Design, Text, refuse_table
from keyer.titles.ink import Canvas, Placed, ink_bounds
from keyer.titles.inside import ink_faults
from keyer.titles.layout import fit_of, lay_out, safe_rectangle, text_room
from keyer.titles.lines import clean, joined, lay_line, style_faces
from keyer.titles.markup import Span, fill, parse
from keyer.titles.model import TextStyle
from keyer.titles.paragraphs import Fit, lay_paragraph
from keyer.titles.pictures import picture_shape

LONGEST = 2000
"""Letters of one text; no title is longer, and a cell that is was filled by mistake."""

_SURELY_NARROWER = 1.03
_SURELY_WIDER = 0.8
"""Kerning moves the sum of single widths by less than this."""
_MOST_PROVED = 64

Extent = tuple[float, float, float, float]
"""Of a text on one line: width, height of its capitals, ink above and below the baseline, in
display pixels."""


@dataclass(frozen=True)
class _Look:
    """What is known of a text before it is drawn; no extent: it has to be laid out."""

    fault: str = ""
    extent: Extent | None = None
    fonts: frozenset[Path] = frozenset()


def _holds(large: Sequence[float], small: Sequence[float]) -> bool:
    return all(a >= b for a, b in zip(large, small, strict=True))


def empty_fields(design: Design, values: Mapping[str, str]) -> list[str]:
    """Tell the fields that have to be filled and are empty."""
    return [
        f"field {name} must not be empty."
        for name, rule in design.fields.items()
        if rule.kind != "colour" and rule.default is None and not values[name].strip()
    ]


class Foresight:
    """Tells the faults of a title before it is drawn.

    Parameters
    ----------
    design : Design
    canvas : Canvas
    folder : Path, optional
        For fonts and pictures that the design names.

    Raises
    ------
    SettingError
        If the design has a table.
    InputFileError
        If a picture cannot be read.
    """

    def __init__(self, design: Design, canvas: Canvas, folder: Path | None = None) -> None:
        refuse_table(design)
        self.design = design
        self.canvas = canvas
        self.folder = folder
        safe = safe_rectangle(design, canvas)
        self._texts: list[tuple[Box, Text, tuple[Span, ...], Fit]] = []
        moving = design.move is not None and design.move.kind == "crawl"
        for box in design.boxes:
            if box.picture and not box.picture.field:
                picture_shape(folder, box.picture.file)  # is it there?
            room = 1e9 if moving else text_room(box, canvas, safe)
            for text in box.texts:
                spans = parse(text.text, text.style)
                self._texts.append((box, text, spans, fit_of(text, design, room)))
        self._letters: dict[str, dict[str, Extent | None]] = {name: {} for name in design.styles}
        self._colours: set[str] = set()
        self._proved: dict[tuple[float, ...], list[tuple[float, ...]]] = {}
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
        found = empty_fields(self.design, values)
        shapes: list[float] = []
        for name, rule in self.design.fields.items():
            if rule.kind == "colour":
                found += self._colour_fault(name, values[name])
            elif rule.kind == "picture" and values[name]:
                try:
                    shapes.append(picture_shape(self.folder, values[name]))
                except InputFileError as error:
                    found.append(f"{name}: {error}")
        looks = self._looks(values)
        found += [look.fault for look in looks if look.fault]
        return found or self._place_faults(values, looks, shapes)

    def _looks(self, values: Mapping[str, str]) -> list[_Look]:
        runs = (tuple(fill(spans, values)) for _, _, spans, _ in self._texts)
        return [self._told(i, text) for i, text in enumerate(runs)]

    def _place_faults(
        self, values: Mapping[str, str], looks: list[_Look], shapes: list[float]
    ) -> list[str]:
        """Find ink that leaves its place; a title is fine if a larger one has been proved to be."""
        extents = [look.extent for look in looks if look.extent]
        sizes = tuple(side for extent in extents for side in extent)
        sure = len(extents) == len(looks)
        kind = (*(extent[0] > 0 for extent in extents), *shapes)
        proved = self._proved.setdefault(kind, [])
        if sure and any(_holds(past, sizes) for past in proved):
            return []
        try:
            layout = lay_out(self.design, values, self.canvas, self.folder)
        except SettingError as error:
            return [str(error)]
        found = layout.faults or ink_faults(layout, self.design, self.canvas)
        if sure and not found:
            proved[:] = [past for past in proved if not _holds(sizes, past)][1 - _MOST_PROVED :]
            proved.append(sizes)
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
        looks = self._looks(self.design.values(given))
        return frozenset().union(*(look.fonts for look in looks))

    def _colour_fault(self, name: str, value: str) -> list[str]:
        if value not in self._colours:
            try:
                parse_colour(value, name)
            except SettingError as error:
                return [str(error)]
            self._colours.add(value)
        return []

    def _look(self, index: int, runs: tuple[tuple[str, str], ...]) -> _Look:
        """Say what is wrong with a text, how large it is, and which fonts step in."""
        box, _, _, fit = self._texts[index]
        letters = sum(len(text) for text, _ in runs)
        if letters > LONGEST:
            said = f"a text must have at most {LONGEST} letters, got {letters:,}."
            return _Look(f"box {box.id!r}: {said}")
        size = self._size(runs)
        if size is not None and self._surely_fits(size[0], runs, fit):
            scale = min(1.0, fit.width / size[0]) if size[0] else 1.0
            width, capitals, above, below = (side * scale for side in size)
            return _Look(extent=(width, capitals, above, below))
        if size is not None and fit.width and self._surely_not(size[0], fit):
            text = "".join(part for part, _ in runs)
            shown = text if len(text) <= 40 else f"{text[:37]}..."
            room = fit.width * max(fit.lines, 1) / fit.smallest
            return _Look(
                f"box {box.id!r}: {shown!r} is about {(size[0] / room - 1) * 100:.0f} % too wide. "
                f"Shorten it by about {round(letters * (1 - room / size[0]))} letters."
            )
        styled = [(text, self.design.styles[name]) for text, name in runs]
        try:
            laid, fault = lay_paragraph(styled, self.canvas.unit, fit, self.folder)
        except SettingError as error:
            return _Look(f"box {box.id!r}: {error}")
        fonts = {
            Path(piece.face.path)
            for line in laid.lines
            for piece in line.pieces
            if piece.face not in style_faces(piece.style, self.folder)
        }
        return _Look(f"box {box.id!r}: {fault}" if fault else "", None, frozenset(fonts))

    def _letter(self, char: str, style: TextStyle) -> Extent | None:
        """Size of one letter; None for one that wants to be laid out in its line."""
        simple = unicodedata.bidirectional(char) in {"L", "EN", "ES", "CS", "ET", "WS", "ON"}
        if not simple or unicodedata.combining(char) or joined(char):
            return None
        if not has(style_faces(style, self.folder)[0], char):
            return None
        line = lay_line([(char, style)], self.canvas.unit, folder=self.folder, base=0)
        _, top, _, bottom = ink_bounds(Placed(line, 0.0, 0.0), self.canvas)
        return line.width, line.capitals, -top, bottom

    def _size(self, runs: tuple[tuple[str, str], ...]) -> Extent | None:
        """Size of a text on one line from those of its letters; None if it would mean nothing."""
        width = capitals = above = below = 0.0
        for text, name in runs:
            style = self.design.styles[name]
            spacing = max(style.letter_spacing, 0) / 100 * style.size * self.canvas.unit
            known = self._letters[name]
            cleaned = text if text.isascii() and not style.capitals else clean(text, style)
            for char in cleaned:
                if char not in known:
                    known[char] = self._letter(char, style)
                letter = known[char]
                if letter is None:
                    return None
                width += letter[0] + spacing
                capitals, above = max(capitals, letter[1]), max(above, letter[2])
                below = max(below, letter[3])
        return width, capitals, above, below

    def _surely_fits(self, width: float, runs: tuple[tuple[str, str], ...], fit: Fit) -> bool:
        if any("\n" in text for text, _ in runs):
            return False
        most = width * _SURELY_NARROWER
        return most <= fit.width or (fit.rule == "shrink" and most * fit.smallest <= fit.width)

    def _surely_not(self, width: float, fit: Fit) -> bool:
        room = fit.width * (fit.lines if fit.rule == "wrap" else 1)
        return width * _SURELY_WIDER * fit.smallest > room
