"""What a person sees in a cell: a workbook's number formats, as far as a file can tell.

Sections, placeholders and codes as in ECMA-376 Part 1, 18.8.31 (numFmts) [ecma376]. A file
does not say how the machine that shows it parts decimals and thousands, in which language it
names months, or how it writes "the system's date": what rests on that is told as a doubt.
"""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal
from functools import lru_cache
from itertools import pairwise

BUILT_IN = {
    0: "General", 1: "0", 2: "0.00", 3: "#,##0", 4: "#,##0.00", 9: "0%", 10: "0.00%",
    15: "d-mmm-yy", 16: "d-mmm", 17: "mmm-yy", 18: "h:mm AM/PM", 19: "h:mm:ss AM/PM",
    20: "h:mm", 21: "h:mm:ss", 37: "#,##0 ;(#,##0)", 38: "#,##0 ;[Red](#,##0)",
    39: "#,##0.00;(#,##0.00)", 40: "#,##0.00;[Red](#,##0.00)", 45: "mm:ss", 46: "[h]:mm:ss",
    47: "mm:ss.0", 49: "@",
}  # fmt: skip
"""Formats that a workbook names by number alone (18.8.30); 14, 22 and others are the machine's."""

_TOKEN = re.compile(
    r'"(?P<quoted>[^"]*)"|\\(?P<escaped>.)|_(?P<blank>.)|\*(?P<fill>.)|\[(?P<bracket>[^\]]*)\]'
    r"|(?P<general>General)|(?P<half>AM/PM|A/P)|(?P<power>E[+-])"
    r"|(?P<date>y+|m+|d+|h+|s+)|(?P<digit>[0#?])|(?P<sign>[.,%@/])"
    r"|(?P<plain>[^A-Za-z0-9])|(?P<other>.)",
    re.IGNORECASE | re.DOTALL,
)
_COLOUR = re.compile(r"black|blue|cyan|green|magenta|red|white|yellow|color ?\d+", re.IGNORECASE)
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
_DAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_ENGLISH, _PRIMARY = 0x09, 0x3FF  # primary language of an LCID [ms-lcid]
_SYSTEM_FORMS = {0xF800, 0xF400}
_LAST_DAY = 2_958_465  # 31 December 9999
_FIRST_SURE_DAY = 61  # days before 1 March 1900 are counted with a 29 February that never was
_GENERAL_DIGITS = 11
_DAY = 86_400_000


@dataclass(frozen=True)
class Shown:
    """A cell's text as a spreadsheet program shows it.

    Attributes
    ----------
    text : str
    doubt : str
        Why the file alone does not tell what is seen; empty where it does. The
        text is then the plain value, with a point for decimals.
    """

    text: str
    doubt: str = ""


@dataclass(frozen=True)
class Token:
    """A piece of a format: its kind and its text."""

    kind: str
    text: str


class _UnreadError(ValueError):
    """The format, or the value in it, is not one whose look can be told."""


_UNREAD = "has a format that this program does not read"
_BY_SYSTEM = "is shown in a way that the machine's settings choose"
_SEPARATED = "is shown with a point or a comma as the machine is set"
_NAMED = "is shown with a month or a weekday in the machine's language"


def show_text(text: str, code: str) -> Shown:
    """Show a text in a format; one that names no texts leaves it as it is."""
    sections = _sections(code)
    section = sections[3] if len(sections) > 3 else sections[0]
    if len(sections) <= 3 and not any(token.text == "@" for token in section):
        return Shown(text)
    try:
        return Shown("".join(text if t.text == "@" else _literal(t) for t in section).strip())
    except _UnreadError as error:
        return Shown(text, str(error))


def show_number(value: float, code: str, *, from_1904: bool = False) -> Shown:
    """Return a number as a spreadsheet program shows it in a format.

    Parameters
    ----------
    value : float
    code : str
        Of the format.
    from_1904 : bool
        Days count from 1 January 1904 rather than 1900.
    """
    plain = _plain(value)
    sections = _sections(code)
    try:
        section, value = _chosen(sections, value)
        if any(t.kind in {"date", "elapsed"} for t in section):
            return Shown(_date(section, value, from_1904=from_1904))
        text, separated = _number(section, value)
    except _UnreadError as error:
        return Shown(plain, str(error))
    return Shown(text.strip(), _SEPARATED if separated else "")


@lru_cache(maxsize=1024)
def _sections(code: str) -> tuple[tuple[Token, ...], ...]:
    parts: list[list[Token]] = [[]]
    for match in _TOKEN.finditer(code):
        kind, text = str(match.lastgroup), str(match[match.lastgroup or 0])
        if kind == "plain" and text == ";":
            parts.append([])
        elif kind == "bracket":
            parts[-1] += _bracket(text)
        else:
            parts[-1].append(Token(kind, text.lower() if kind == "date" else text))
    return tuple(tuple(part) for part in parts)


def _bracket(text: str) -> list[Token]:
    """Read what stands in brackets: a colour, a currency and language, time that has passed."""
    if _COLOUR.fullmatch(text):
        return []
    if re.fullmatch(r"h+|m+|s+", text, re.IGNORECASE):
        return [Token("elapsed", text.lower())]
    if text.startswith("$"):
        symbol, _, language = text[1:].partition("-")
        found = [Token("quoted", symbol)] if symbol else []
        return [*found, Token("language", language)] if language else found
    return [Token("other", text)]


def _chosen(sections: Sequence[tuple[Token, ...]], value: float) -> tuple[tuple[Token, ...], float]:
    """Find the section for a number; one for negative ones writes their sign itself."""
    numeric = sections[:3]
    if any(t.kind == "other" for section in numeric for t in section):
        raise _UnreadError(_UNREAD)
    if value < 0 and len(numeric) > 1:
        return numeric[1], -value
    if value == 0 and len(numeric) > 2:
        return numeric[2], value
    return numeric[0], value


def _literal(token: Token) -> str:
    if token.kind in {"quoted", "escaped", "plain"} or token.text == "/":
        return token.text
    if token.kind == "blank":
        return " "
    if token.kind in {"fill", "language"}:
        return ""
    raise _UnreadError(_UNREAD)


def _plain(value: float) -> str:
    """Write a number with a point and without a power of ten."""
    number = Decimal(repr(value))
    return format(number.quantize(1) if number == number.to_integral_value() else number, "f")


def _general(value: float) -> tuple[str, bool]:
    text = _plain(value)
    if len(text.lstrip("-").partition(".")[0]) > _GENERAL_DIGITS:
        msg = "is shown rounded, with a power of ten"
        raise _UnreadError(msg)
    return text, "." in text


def _number(section: tuple[Token, ...], value: float) -> tuple[str, bool]:
    """Show a number; whether it holds a separator that the machine chooses comes with it."""
    sign = "-" if value < 0 else ""
    if any(t.kind == "general" or t.text == "@" for t in section):
        text, separated = _general(abs(value))
        parts = (text if t.kind == "general" or t.text == "@" else _literal(t) for t in section)
        return sign + "".join(parts), separated
    digits = [i for i, t in enumerate(section) if t.kind == "digit"]
    slashes = [i for i, t in enumerate(section) if t.text == "/"]
    fraction = digits and any(digits[0] < i < digits[-1] for i in slashes)
    if fraction or any(t.kind in {"power", "half"} for t in section):
        raise _UnreadError(_UNREAD)
    point = next((i for i, t in enumerate(section) if t.text == "."), len(section))
    whole = [i for i in digits if i < point]
    commas = [i for i, t in enumerate(section) if t.text == ","]
    number = Decimal(repr(abs(value))).scaleb(2 * sum(t.text == "%" for t in section))
    number = number.scaleb(-3 * sum(bool(whole) and whole[-1] < i <= point for i in commas))
    rounded = number.quantize(Decimal(1).scaleb(len(whole) - len(digits)), ROUND_HALF_UP)
    before, _, after = format(rounded, "f").partition(".")
    shown = _filled(section, whole, before.lstrip("0"))
    shown |= _decimals(section, digits[len(whole) :], after)
    shown |= dict.fromkeys(commas, "") | {i: "." for i in (point,) if i < len(section)}
    text = "".join(
        shown[i] if i in shown else "%" if t.text == "%" else _literal(t)
        for i, t in enumerate(section)
    )
    grouped = bool(whole) and any(whole[0] < i < whole[-1] for i in commas) and number >= 1000
    return (sign if rounded else "") + text, point < len(section) or grouped


def _filled(section: tuple[Token, ...], places: Sequence[int], digits: str) -> dict[int, str]:
    """Set the digits before the point into their places, from the right."""
    shown: dict[int, str] = {}
    for n, i in enumerate(reversed(places)):
        last = n == len(places) - 1
        own = digits[: len(digits) - n] if last else digits[len(digits) - n - 1 : len(digits) - n]
        shown[i] = own or {"0": "0", "?": " "}.get(section[i].text, "")
    return shown


def _decimals(section: tuple[Token, ...], places: Sequence[int], digits: str) -> dict[int, str]:
    """Set the digits after the point into their places; zeros at the end only where asked for."""
    shown = {}
    kept = len(digits.rstrip("0"))
    for n, i in enumerate(places):
        always = any(section[j].text == "0" for j in places[n:])
        shown[i] = digits[n] if n < kept or always else {"?": " "}.get(section[i].text, "")
    return shown


def _date(section: tuple[Token, ...], serial: float, *, from_1904: bool) -> str:
    tokens = _with_minutes(section)
    used = {t.text[0] for t in tokens if t.kind == "date"}
    if any(t.kind in {"digit", "general", "power"} and t.text != "0" for t in tokens):
        raise _UnreadError(_UNREAD)
    if any(t.kind == "language" and int(t.text or "0", 16) in _SYSTEM_FORMS for t in tokens):
        raise _UnreadError(_BY_SYSTEM)
    if any(t.kind == "digit" for t in tokens):
        raise _UnreadError(_SEPARATED)  # fractions of a second
    if not 0 <= serial <= _LAST_DAY:
        msg = "lies outside the days that a workbook counts"
        raise _UnreadError(msg)
    if used & set("ymd") and not from_1904 and serial < _FIRST_SURE_DAY:
        msg = "lies before March 1900, where workbooks count days in two ways"
        raise _UnreadError(msg)
    moment = round(serial * _DAY)
    if "s" in used or any(t.text[0] == "s" for t in tokens if t.kind == "elapsed"):
        moment = (moment + 500) // 1000 * 1000
    first = dt.date(1904, 1, 1) if from_1904 else dt.date(1899, 12, 30)
    day = first + dt.timedelta(days=moment // _DAY)
    languages = [int(t.text, 16) for t in tokens if t.kind == "language"]
    english = bool(languages) and languages[0] & _PRIMARY == _ENGLISH
    halves = any(t.kind == "half" for t in tokens)
    parts = (
        _date_part(t, day, moment, halves=halves, english=english)
        if t.kind in {"date", "minutes", "elapsed", "half"}
        else _literal(t) if t.text not in {".", ","} else t.text
        for t in tokens
    )  # fmt: skip
    return "".join(parts).strip()


def _with_minutes(section: tuple[Token, ...]) -> list[Token]:
    """Tell minutes from months: an m beside hours or seconds is minutes (18.8.31)."""
    tokens = list(section)
    dates = [i for i, t in enumerate(tokens) if t.kind in {"date", "elapsed"}]
    near = [*pairwise(dates)]
    for i in dates:
        if tokens[i].kind == "date" and tokens[i].text in {"m", "mm"}:
            before = [tokens[a].text[0] for a, b in near if b == i]
            after = [tokens[b].text[0] for a, b in near if a == i]
            if "h" in before or "s" in after:
                tokens[i] = Token("minutes", tokens[i].text)
    return tokens


def _date_part(token: Token, day: dt.date, moment: int, *, halves: bool, english: bool) -> str:
    clock, width = moment % _DAY // 1000, len(token.text)
    hour = (clock // 3600 - 1) % 12 + 1 if halves else clock // 3600
    unit = token.text[0]
    if token.kind == "half":
        return token.text.split("/")[clock >= 43_200]
    if token.kind == "elapsed":
        number = moment // {"h": 3_600_000, "m": 60_000, "s": 1000}[unit]
    elif token.kind == "minutes":
        number = clock // 60 % 60
    elif unit == "y":
        number, width = (day.year, 4) if width > 2 else (day.year % 100, 2)
    elif unit in "md" and width > 2:
        return _name(unit, width, day, english=english)
    else:
        number = {"m": day.month, "d": day.day, "h": hour, "s": clock % 60}[unit]
    return str(number).zfill(width)


def _name(unit: str, width: int, day: dt.date, *, english: bool) -> str:
    """Return the name of a month or a weekday, in full or short."""
    if not english:
        raise _UnreadError(_NAMED)
    name = _MONTHS[day.month - 1] if unit == "m" else _DAYS[day.weekday()]
    return name[:1] if width == 5 else name if width == 4 else name[:3]
