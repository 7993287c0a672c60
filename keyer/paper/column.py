"""A column of text on a board: headings, numbers with their verdicts, sentences."""

from __future__ import annotations

from keyer.kinds.verdicts import Judgement
from keyer.paper.cells import ACCENT, GREY, INK, PALE
from keyer.paper.page import Block, Page, Words, line_of, lines_of, style, width_of

VERDICT_COLOURS: dict[Judgement, str] = {
    "holds": "#2C6E49",
    "watch": "#8A5A00",
    "fails": "#A4161A",
}
"""As on the report's page: all dark enough for white letters (WCAG 2.2, 1.4.3)."""

_HEAD = style(8.5, ACCENT, 600, capitals=True, letter_spacing=12)
_NAME = style(9, GREY)
_VALUE = style(9, INK, 600)
_TEXT = style(9, INK)
_TAG = style(6.8, "#FFFFFF", 600, capitals=True, letter_spacing=5)
_PITCH, _ROW, _RULE = 4.0, 4.9, 0.12
_TAG_HEIGHT, _TAG_INSET = 3.2, 1.1
_MOST_LINES = 6


class Column:
    """Sets text into a column of a page, from the top down.

    Parameters
    ----------
    page : Page
        Is drawn on.
    left, top, width : float
        In mm.
    """

    def __init__(self, page: Page, left: float, top: float, width: float) -> None:
        self.page, self.left, self.width = page, left, width
        self.y = top

    def heading(self, text: str) -> None:
        """Write a heading with a rule under it."""
        self.y += 4.0
        self.page.items.append(Words(self.left, self.y, line_of(text, _HEAD, self.width)))
        self.y += 1.6
        self.page.items.append(Block(self.left, self.y, self.width, _RULE, PALE))
        self.y += 0.9

    def row(self, name: str, value: str, verdict: Judgement | None = None) -> None:
        """Write a number with its name; a verdict on it stands at the right."""
        self.y += _ROW - 0.9
        said = line_of(value, _VALUE, self.width * 0.62)
        named = line_of(name, _NAME, self.width * 0.36)
        self.page.items.append(Words(self.left, self.y, named))
        self.page.items.append(Words(self.left + self.width * 0.38, self.y, said))
        if verdict is not None:
            self._tag(verdict)
        self.y += 0.9

    def verdict(self, name: str, value: str, verdict: Judgement, remedy: str) -> None:
        """Write a verdict with what to do."""
        self.y += _ROW - 0.4
        room = self.width - self._tag(verdict) - 2
        said = line_of(f"{name}: {value}" if value else name, _VALUE, room)
        self.page.items.append(Words(self.left, self.y, said))
        self.text(remedy)
        self.y += 0.6

    def text(self, text: str) -> None:
        """Write a sentence."""
        for line in lines_of(text, _TEXT, self.width, _MOST_LINES) if text else []:
            self.y += _PITCH
            self.page.items.append(Words(self.left, self.y, line))
        self.y += 0.7

    def _tag(self, verdict: Judgement) -> float:
        """Put a verdict at the right of the line; returns its width."""
        line = line_of(verdict, _TAG)
        width = width_of(line) + 2 * _TAG_INSET
        left = self.left + self.width - width
        place = (left, self.y - _TAG_HEIGHT + 0.65, width, _TAG_HEIGHT)
        self.page.items.append(Block(*place, VERDICT_COLOURS[verdict]))
        self.page.items.append(Words(left + _TAG_INSET, self.y - 0.15, line))
        return width
