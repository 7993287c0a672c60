"""In which order the characters of a line stand when scripts of both directions meet.

The implicit part of the Unicode Bidirectional Algorithm [uax9]: rules P2-P3,
W1-W7, N0-N2, I1-I2, L1-L2. Explicit embedding characters are passed over: a
title has one line to read, and its base direction can be stated.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from itertools import groupby
from typing import TypeVar

T = TypeVar("T")

_PASSED_OVER = {"BN", "LRE", "RLE", "LRO", "RLO", "PDF"}
_NEUTRAL = {"B", "S", "WS", "ON", "LRI", "RLI", "FSI", "PDI"}
_BRACKETS = dict(zip("([{⟨⟪「『【〔〈《", ")]}⟩⟫」』】〕〉》", strict=True))  # fmt: skip
_MAX_OPEN = 63  # UAX #9 BD16


def base_level(text: str) -> int:
    """0 for a line that reads from left to right, 1 for right to left (rules P2, P3)."""
    for char in text:
        kind = unicodedata.bidirectional(char)
        if kind in {"R", "AL"}:
            return 1
        if kind == "L":
            return 0
    return 0


def levels(text: str, base: int) -> list[int]:
    """Return the embedding level of each character; odd levels read right to left.

    Parameters
    ----------
    text : str
        One line.
    base : {0, 1}
        Level of the line itself.

    Returns
    -------
    list of int, as long as `text`
    """
    if base == 0 and text.isascii():
        return [0] * len(text)
    raw = [unicodedata.bidirectional(char) or "L" for char in text]
    kept = [i for i, kind in enumerate(raw) if kind not in _PASSED_OVER]
    kinds = _weak([raw[i] for i in kept], base)
    kinds = _neutral(kinds, [text[i] for i in kept], base)
    result = [-1] * len(text)
    for i, kind in zip(kept, kinds, strict=True):
        result[i] = _level(kind, base)
    _trailing(result, raw, base)
    last = base
    for i, level in enumerate(result):  # passed-over characters go with what stands before them
        last = result[i] = last if level < 0 else level
    return result


def _level(kind: str, base: int) -> int:
    """Rules I1 and I2."""
    if base == 0:
        return {"R": 1, "AN": 2, "EN": 2}.get(kind, 0)
    return 2 if kind in {"L", "EN", "AN"} else 1


def _trailing(result: list[int], raw: list[str], base: int) -> None:
    """Rule L1: separators, and white space at the end of the line, take the line's level."""
    at_end = True
    for i in range(len(raw) - 1, -1, -1):
        if raw[i] in {"B", "S"}:
            result[i], at_end = base, True
        elif raw[i] == "WS" and at_end:
            result[i] = base
        elif raw[i] not in _PASSED_OVER:
            at_end = False


def _weak(kinds: list[str], base: int) -> list[str]:
    """Rules W1 to W7."""
    side = "R" if base else "L"
    before = side
    for i, kind in enumerate(kinds):  # W1
        kinds[i] = before = before if kind == "NSM" else kind
    strong = side
    for i, kind in enumerate(kinds):  # W2, W3
        if kind in {"L", "R", "AL"}:
            strong = kind
        elif kind == "EN" and strong == "AL":
            kinds[i] = "AN"
    kinds = ["R" if kind == "AL" else kind for kind in kinds]
    for i in range(1, len(kinds) - 1):  # W4
        near = {kinds[i - 1], kinds[i + 1]}
        if kinds[i] in {"ES", "CS"} and near == {"EN"}:
            kinds[i] = "EN"
        elif kinds[i] == "CS" and near == {"AN"}:
            kinds[i] = "AN"
    _terminators(kinds)
    strong = side
    for i, kind in enumerate(kinds):  # W6, W7
        if kind in {"ES", "ET", "CS"}:
            kinds[i] = "ON"
        elif kind in {"L", "R"}:
            strong = kind
        elif kind == "EN" and strong == "L":
            kinds[i] = "L"
    return kinds


def _terminators(kinds: list[str]) -> None:
    """Rule W5: percent and currency signs go with the number that they touch."""
    start = 0
    for kind, group in groupby(list(kinds)):
        end = start + len(list(group))
        touches = "EN" in kinds[max(start - 1, 0) : start] or "EN" in kinds[end : end + 1]
        if kind == "ET" and touches:
            kinds[start:end] = ["EN"] * (end - start)
        start = end


def _strong(kind: str) -> str:
    """Say which side a character pulls a neutral one to; numbers count as right to left."""
    return "R" if kind in {"EN", "AN", "R"} else "L"


def _neutral(kinds: list[str], chars: list[str], base: int) -> list[str]:
    """Rules N0 to N2."""
    side = "R" if base else "L"
    _paired_brackets(kinds, chars, side)
    start = 0
    for neutral, group in groupby([kind in _NEUTRAL for kind in kinds]):
        end = start + len(list(group))
        if neutral:
            left = _strong(kinds[start - 1]) if start else side
            right = _strong(kinds[end]) if end < len(kinds) else side
            kinds[start:end] = [left if left == right else side] * (end - start)
        start = end
    return kinds


def _pairs(kinds: list[str], chars: list[str]) -> list[tuple[int, int]]:
    """Bracket pairs (BD16), by their opening place."""
    opened: list[tuple[str, int]] = []
    pairs = []
    for i, char in enumerate(chars):
        if kinds[i] not in _NEUTRAL:
            continue
        if char in _BRACKETS:
            if len(opened) == _MAX_OPEN:
                return []
            opened.append((_BRACKETS[char], i))
        elif any(char == close for close, _ in opened):
            while opened:
                close, at = opened.pop()
                if close == char:
                    pairs.append((at, i))
                    break
    return sorted(pairs)


def _paired_brackets(kinds: list[str], chars: list[str], side: str) -> None:
    """Rule N0."""
    for start, end in _pairs(kinds, chars):
        inside = {_strong(k) for k in kinds[start + 1 : end] if k not in _NEUTRAL}
        if not inside:
            continue
        new = side
        if side not in inside:
            before = next((_strong(k) for k in kinds[:start][::-1] if k not in _NEUTRAL), side)
            new = before if before != side else side
        kinds[start] = kinds[end] = new


def visual_order(items: Sequence[T], run_levels: Sequence[int]) -> list[T]:
    """Put runs in the order in which they are seen, left to right (rule L2)."""
    order = list(range(len(items)))
    lowest_odd = min((v for v in run_levels if v % 2), default=None)
    if lowest_odd is None:
        return list(items)
    for level in range(max(run_levels), lowest_odd - 1, -1):
        start = 0
        for high, group in groupby([run_levels[i] >= level for i in order]):
            end = start + len(list(group))
            if high:
                order[start:end] = order[start:end][::-1]
            start = end
    return [items[i] for i in order]
