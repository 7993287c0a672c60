"""Empty lines of a TOML text: one before each heading that was put in, the others as they were."""

from __future__ import annotations

import re
import tomllib
from difflib import SequenceMatcher

_HEADING = re.compile(r"\[\[?[\w.\"' -]+\]\]?\s*(#.*)?$")


def spaced(old: str, new: str) -> str:
    """Set off the tables that an edit has put in.

    Parameters
    ----------
    old, new : str
        The text before and after an edit. Lines that were there stay as they are.

    Returns
    -------
    str
        One empty line before each new heading and after what it heads, no two together; `new`
        itself where no heading is new.
    """
    before, after = old.splitlines(), new.splitlines()
    if _headings(before) == _headings(after):
        return new
    lines: list[str] = []
    fresh: list[bool] = []
    for tag, _, _, first, last in SequenceMatcher(
        None, before, after, autojunk=False
    ).get_opcodes():
        lines += after[first:last]
        fresh += [tag != "equal"] * (last - first)
    found: list[str] = []
    for n, line in enumerate(lines):
        joined = fresh[n] or (n > 0 and fresh[n - 1])
        if joined and not line.strip() and (not found or not found[-1].strip()):
            continue
        heads = _HEADING.match(line) or (line.startswith("#") and _leads(lines[n:]))
        if joined and heads and found and found[-1].strip() and not found[-1].startswith("#"):
            found.append("")
        found.append(line)
    while found and not found[-1].strip():
        found.pop()
    text = "\n".join(found) + "\n"
    return text if _same(text, new) else new


def _same(text: str, other: str) -> bool:
    """Whether two texts say the same: an empty line within a value of many lines is part of it."""
    try:
        return tomllib.loads(text) == tomllib.loads(other)
    except ValueError:
        return False


def _headings(lines: list[str]) -> list[str]:
    return [line for line in lines if _HEADING.match(line)]


def _leads(lines: list[str]) -> bool:
    """Return whether a comment belongs to the heading below it."""
    rest = next((line for line in lines if not line.startswith("#")), "")
    return bool(_HEADING.match(rest))
