"""Where each key of a TOML document stands: dotted path to line.

The reader of the standard library gives values without their places. This
walks once through a text that it has already accepted (TOML 1.0), so it
follows the grammar without checking it again.
"""

from __future__ import annotations

import re

from keyer.errors import SettingError

Path = tuple[str | int, ...]
"""Keys and list indices from the top of the document, e.g. `("cues", 1, "at")`."""

_BLANK = re.compile(r"(?:[ \t\r\n]+|#[^\n]*)*")
_SPACE = re.compile(r"[ \t]*")
_BARE = re.compile(r"[A-Za-z0-9_-]+")
_STRINGS = (
    re.compile(r'"""(?:\\.|[^\\])*?"""(?:"{0,2})', re.DOTALL),
    re.compile(r"'''.*?'''(?:'{0,2})", re.DOTALL),
    re.compile(r'"(?:\\.|[^"\\\n])*"'),
    re.compile(r"'[^'\n]*'"),
)
_STEP = re.compile(r'(\.?)(?:\[([0-9]{1,6})\]|"([^"]*)"|([A-Za-z0-9_-]+))')
_SCALAR = re.compile(r"[^,\]}#\r\n]*")


def show_path(path: Path) -> str:
    """Write a path as people do: `cues[1].transition.pattern`, counted from 0.

    Parameters
    ----------
    path : tuple of str and int

    Returns
    -------
    str
        Keys that are not bare TOML keys stand in quotes.
    """
    text = ""
    for step in path:
        if isinstance(step, int):
            text += f"[{step}]"
        else:
            quoted = step if _BARE.fullmatch(step) else f'"{step}"'
            text += f".{quoted}" if text else quoted
    return text


def read_path(text: str) -> Path:
    """Return the path that a text such as `cues[1].transition` stands for.

    Returns
    -------
    tuple of str and int

    Raises
    ------
    SettingError
        If it is not a dotted path.
    """
    steps: list[str | int] = []
    at = 0
    while at < len(text):
        match = _STEP.match(text, at)
        if match is None or (steps and not match[1] and match[2] is None):
            msg = f"path must look like cues[1].transition.soft, got {text!r:.60}."
            raise SettingError(msg)
        if match[2] is not None:
            steps.append(int(match[2]))
        else:
            steps.append(match[3] if match[3] is not None else match[4])
        at = match.end()
    return tuple(steps)


def line_map(text: str) -> dict[Path, int]:
    """Find the line of every key, table and list item.

    Parameters
    ----------
    text : str
        A valid TOML document.

    Returns
    -------
    dict
        Path to line, counted from 1. A table that is only implied by a
        dotted key or header has the line of its first mention.
    """
    return _Walk(text.replace("\r\n", "\n")).document()


class _Walk:
    """Walks over a TOML document once and notes the line of every key."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.line = 1
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}

    def document(self) -> dict[Path, int]:
        table: Path = ()
        while self.skip(_BLANK) < len(self.text):
            if self.text.startswith("[[", self.at):
                table = self.header(2)
                count = self.counts[table] = self.counts.get(table, 0) + 1
                table = (*table, count - 1)
                self.lines[table] = self.line
            elif self.text[self.at] == "[":
                table = self.header(1)
                self.lines.setdefault(table, self.line)
            else:
                self.pair(table)
        return self.lines

    def skip(self, pattern: re.Pattern[str]) -> int:
        """Pass what matches here, counting lines; returns the new place."""
        match = pattern.match(self.text, self.at)
        if match:
            self.line += match[0].count("\n")
            self.at = match.end()
        return self.at

    def header(self, marks: int) -> Path:
        self.at += marks
        keys = self.keys()
        self.at += marks
        path: Path = ()
        for index, key in enumerate(keys):
            path = (*path, key)
            self.lines.setdefault(path, self.line)
            if path in self.counts and index < len(keys) - 1:
                path = (*path, self.counts[path] - 1)
        return path

    def keys(self) -> tuple[str, ...]:
        found = []
        while True:
            self.skip(_SPACE)
            found.append(self.key())
            self.skip(_SPACE)
            if not self.text.startswith(".", self.at):
                return tuple(found)
            self.at += 1

    def key(self) -> str:
        start = self.at
        if self.text[start] in "\"'":
            self.string()
            return _unquoted(self.text[start : self.at])
        self.skip(_BARE)
        return self.text[start : self.at]

    def string(self) -> None:
        for pattern in _STRINGS:
            before = self.at
            if self.skip(pattern) > before:
                return

    def pair(self, table: Path) -> None:
        path = table
        for key in self.keys():
            path = (*path, key)
            self.lines.setdefault(path, self.line)
        self.at += 1  # the equals sign
        self.skip(_SPACE)
        self.value(path)

    def value(self, path: Path) -> None:
        first = self.text[self.at]
        if first == "[":
            self.items(path)
        elif first == "{":
            self.pairs(path)
        elif first in "\"'":
            self.string()
        else:
            self.skip(_SCALAR)

    def items(self, path: Path) -> None:
        self.at += 1
        index = 0
        while self.skip(_BLANK) and self.text[self.at] != "]":
            self.lines[(*path, index)] = self.line
            self.value((*path, index))
            index += 1
            self.skip(_BLANK)
            if self.text[self.at] == ",":
                self.at += 1
        self.at += 1

    def pairs(self, path: Path) -> None:
        self.at += 1
        while self.skip(_BLANK) and self.text[self.at] != "}":
            self.pair(path)
            self.skip(_BLANK)
            if self.text[self.at] == ",":
                self.at += 1
        self.at += 1


def _unquoted(text: str) -> str:
    import tomllib

    return str(next(iter(tomllib.loads(f"{text} = 0"))))
