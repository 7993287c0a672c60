"""A text fitted into a width: shrunk to a stated minimum, wrapped, or refused."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from keyer.titles.bidi import base_level
from keyer.titles.lines import Line, clean, lay_line
from keyer.titles.model import TextStyle

FitRule = Literal["refuse", "shrink", "wrap"]
Runs = list[tuple[str, TextStyle]]

# a line may end after blanks, hyphens and dashes, and beside ideographs, but not at blanks that
# are made not to break, class GL (UAX #14, much shortened)
_IDEOGRAPH = r"\u2e80-\u9fff\uac00-\ud7af\uf900-\ufaff"
_GLUE = r"\u00a0\u2007\u202f"
_IN_A_WORD = rf"(?:[^\s{_IDEOGRAPH}]|[{_GLUE}])"
_CHUNK = re.compile(
    rf"[{_IDEOGRAPH}](?:[\u3001-\u3003\u3009\u300b\u300d\u300f\uff01\uff0c"
    r"\uff0e\uff1f\u30fc])*"
    rf"|{_IN_A_WORD}*?(?:[-\u2010\u2013\u2014/](?=\w)|[^\S{_GLUE}]+|\u200b)"
    rf"|{_IN_A_WORD}+"
)
_SHRINK_STEP = 0.002
_HAIR = 1e-3  # display pixels; what rounding may add to a width


@dataclass(frozen=True)
class Paragraph:
    """Lines of one text.

    Attributes
    ----------
    lines : tuple of Line
    scale : float
        Factor on the font sizes; under 1 the text was shrunk.
    """

    lines: tuple[Line, ...]
    scale: float

    @property
    def width(self) -> float:
        """Of the widest line, in display pixels."""
        return max((line.width for line in self.lines), default=0.0)

    @property
    def height(self) -> float:
        """From the capitals of the first line to the last baseline, in display pixels."""
        if not self.lines:
            return 0.0
        return self.lines[0].capitals + sum(self.steps)

    @property
    def steps(self) -> list[float]:
        """Distances from each baseline to the next."""
        pairs = zip(self.lines, self.lines[1:], strict=False)
        return [max(above.pitch, below.pitch) for above, below in pairs]


@dataclass(frozen=True)
class Fit:
    """How a text meets the width at hand: wrap, shrink, or be refused.

    Attributes
    ----------
    rule : {"refuse", "shrink", "wrap"}
    width : float
        Display pixels at hand.
    smallest : float
        Least factor on the font sizes.
    lines : int
        Most lines that a wrapped text may take.
    """

    rule: FitRule
    width: float
    smallest: float = 1.0
    lines: int = 1


def _hard_lines(runs: Runs) -> list[Runs]:
    """Cut at line breaks that the text itself holds."""
    result: list[Runs] = [[]]
    for text, style in runs:
        first, *more = clean(text, style).splitlines() or [""]
        if first:
            result[-1].append((first, style))
        result += [[(part, style)] if part else [] for part in more]
        if text.endswith("\n") and text.strip("\n"):
            result.append([])
    return [line for line in result if line]


def _chunks(runs: Runs) -> list[Runs]:
    """Cut a line into the stretches between which it may be broken."""
    text = "".join(part for part, _ in runs)
    ends = [match.end() for match in _CHUNK.finditer(text)]
    result: list[Runs] = []
    start = 0
    for end in ends:
        result.append(_slice(runs, start, end))
        start = end
    return result


def _slice(runs: Runs, start: int, end: int) -> Runs:
    result = []
    at = 0
    for text, style in runs:
        part = text[max(start - at, 0) : max(end - at, 0)]
        if part:
            result.append((part, style))
        at += len(text)
    return result


def _joined(chunks: Sequence[Runs]) -> Runs:
    """Put stretches together again, without the blank at the end."""
    runs: Runs = []
    for chunk in chunks:
        for text, style in chunk:
            if runs and runs[-1][1] == style:
                runs[-1] = (runs[-1][0] + text, style)
            else:
                runs.append((text, style))
    while runs and not runs[-1][0].rstrip():
        runs.pop()
    if runs:
        runs[-1] = (runs[-1][0].rstrip(), runs[-1][1])
    return runs


@dataclass(frozen=True)
class _Setter:
    """Lays lines of one paragraph: all in the direction of its first letter."""

    unit: float
    folder: Path | None
    base: int

    def line(self, runs: Runs, scale: float) -> Line:
        return lay_line(runs, self.unit, scale=scale, folder=self.folder, base=self.base)

    def broken(self, chunks: list[Runs], width: float, scale: float) -> list[Line]:
        """Fill lines one after the other; a stretch wider than a line keeps one to itself."""
        lines: list[Line] = []
        start = 0
        while start < len(chunks):
            end = start + 1
            line = self.line(_joined(chunks[start:end]), scale)
            while end < len(chunks):
                longer = self.line(_joined(chunks[start : end + 1]), scale)
                if longer.width > width + _HAIR:
                    break
                line, end = longer, end + 1
            lines.append(line)
            start = end
        return lines

    def wrapped(self, hard: list[Runs], width: float, scale: float) -> list[Line]:
        """Break every line to a width, then even the lines out."""
        lines: list[Line] = []
        for runs in hard:
            chunks = _chunks(runs)
            best = self.broken(chunks, width, scale)
            low, high = width / len(best) / 2, width
            for _ in range(7 if len(best) > 1 else 0):
                middle = (low + high) / 2
                tried = self.broken(chunks, middle, scale)
                worst = max(line.width for line in tried)
                if len(tried) > len(best) or worst > middle + _HAIR:
                    low = middle
                else:
                    best, high = tried, middle
            lines += best
        return lines


def lay_paragraph(
    runs: Runs, unit: float, fit: Fit, folder: Path | None = None
) -> tuple[Paragraph, str]:
    """Lay out a text in the width at hand.

    Parameters
    ----------
    runs : list of (text, TextStyle)
        A line break in a text breaks the line.
    unit : float
        Display pixels in one percent of the picture height.
    fit : Fit
    folder : Path, optional
        Where font files named by a style are looked for.

    Returns
    -------
    Paragraph
        As near as the rule lets it come.
    str
        Empty if it fits; else what is wrong with it, and a cure.

    Raises
    ------
    SettingError
        If a font or a character is missing.
    """
    hard = _hard_lines(runs)
    if not hard:
        return Paragraph((), 1.0), ""
    base = base_level("".join(text for line in hard for text, _ in line))
    setter = _Setter(unit, folder, base)
    scale = 1.0
    while True:
        if fit.rule == "wrap":
            lines = setter.wrapped(hard, fit.width, scale)
        else:
            lines = [setter.line(line, scale) for line in hard]
        widest = max(line.width for line in lines)
        over = widest > fit.width + _HAIR
        many = len(lines) > max(fit.lines, len(hard) if fit.rule != "wrap" else 1)
        if not (over or many) or scale <= fit.smallest or fit.rule == "refuse":
            break
        step = scale * fit.width / widest if over else scale * 0.98
        scale = max(fit.smallest, min(step, scale - _SHRINK_STEP))
    paragraph = Paragraph(tuple(lines), scale)
    if over:
        return paragraph, _too_wide(hard, fit, widest)
    if many:
        shown = _shown(hard)
        return paragraph, (
            f"{shown} needs {len(lines)} lines and has {fit.lines}. Shorten it, or give the box "
            "more lines or width."
        )
    return paragraph, ""


def _shown(hard: list[Runs]) -> str:
    text = " / ".join("".join(part for part, _ in line) for line in hard)
    return repr(text if len(text) <= 40 else f"{text[:37]}...")


def _too_wide(hard: list[Runs], fit: Fit, widest: float) -> str:
    if not fit.width:
        return f"{_shown(hard)} has no room. Make the box wider, or its padding less."
    longest = max("".join(part for part, _ in line) for line in hard)
    letters = sum(not unicodedata.combining(c) for c in longest)
    surplus = max(1, round(letters * (1 - fit.width / widest)))
    size = " at its smallest size" if fit.rule == "shrink" else ""
    excess = (widest / fit.width - 1) * 100
    excess_text = f"{excess:.0f} %" if excess >= 1 else "a little"
    cure = {
        "refuse": "or let the field shrink or wrap",
        "shrink": "or let the field wrap",
        "wrap": "or give the box more width: one word is wider than a line",
    }[fit.rule]
    return (
        f"{_shown(hard)} is {excess_text} too wide{size}. "
        f"Shorten it by about {surplus} letters, {cure}."
    )
