"""What reaches the terminal: the program's own words, and of foreign text nothing but text.

Names, notes and messages out of files may hold control characters that move the
cursor, hide what stands there or ring bells; they are written as escapes. What
libraries print on standard error of their own accord is not heard at all.
"""

from __future__ import annotations

import logging
import os
import re
import sys
import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any, TextIO

_UNSAFE = re.compile(
    r"[\x00-\x1f\x7f-\x9f"  # control characters (Unicode's Cc)
    r"\u2028\u2029"  # ends of lines and paragraphs
    r"\u202a-\u202e\u2066-\u2069"  # turn what follows round (Unicode Standard Annex 9)
    r"\ud800-\udfff]"  # bytes of file names that are no UTF-8
)
_ENDLESS = re.compile(r"\S{320,}")
_LONGEST_LINE = 2000


def plain(text: str) -> str:
    r"""Write text so that a terminal shows it and does nothing else.

    Returns
    -------
    str
        One line.

    Examples
    --------
    >>> plain("a\x1b[2Jb")
    'a\\x1b[2Jb'
    """
    return _UNSAFE.sub(lambda hit: hit[0].encode("unicode_escape").decode(), text)


def escaped(json: str) -> str:
    """Write a line of JSON so, with the escapes that JSON has (RFC 8259, 7)."""
    return _UNSAFE.sub(lambda hit: f"\\u{ord(hit[0]):04x}", json)


def say(*lines: object) -> None:
    """Print lines on standard output."""
    for line in lines:
        print(plain(str(line)), flush=True)


def tell(*lines: str) -> None:
    """Print lines on standard error; what is far too long in them is cut."""
    for line in lines:
        print(plain(_cut(line)), file=sys.stderr)


def _cut(line: str) -> str:
    """Leave out the middle of endless words, and the end of an endless line."""
    line = _ENDLESS.sub(lambda word: f"{word[0][:200]}...{word[0][-80:]}", line)
    more = len(line) - _LONGEST_LINE
    return f"{line[:_LONGEST_LINE]}... and {more} letters more." if more > 0 else line


@contextmanager
def own_voice(*, debug: bool = False) -> Iterator[None]:
    """Keep what libraries write on standard error from it, and let any text pass standard output.

    Parameters
    ----------
    debug : bool
        Show what threads raise.
    """
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a character that a stream cannot hold is escaped
            stream.reconfigure(errors="backslashreplace")
    before = sys.stderr, threading.excepthook
    unread = logging.NullHandler()  # what nobody reads of a log would be printed
    if not debug:
        threading.excepthook = _unheard  # who waits for a thread's work says what became of it
        logging.getLogger().addHandler(unread)
    with warnings.catch_warnings(), _quiet_descriptor() as own:
        warnings.simplefilter("ignore")
        sys.stderr = own or before[0]
        try:
            yield
        finally:
            sys.stderr, threading.excepthook = before
            logging.getLogger().removeHandler(unread)


def _unheard(_: Any) -> None:
    pass


@contextmanager
def _quiet_descriptor() -> Iterator[TextIO | None]:
    """Turn file descriptor 2, on which libraries print, away; yields a stream for ourselves."""
    try:
        ours = sys.stderr.fileno() == 2
        kept = os.dup(2)
    except (OSError, ValueError, AttributeError):  # no standard error, or none of the system's
        yield None
        return
    nowhere = os.open(os.devnull, os.O_WRONLY)
    with suppress(OSError, ValueError):
        sys.stderr.flush()
    os.dup2(nowhere, 2)
    os.close(nowhere)
    own = None
    if ours:
        encoding = sys.stderr.encoding
        own = open(  # noqa: SIM115  closed below
            kept, "w", 1, encoding, "backslashreplace", closefd=False
        )
    try:
        yield own
    finally:
        if own is not None:
            with suppress(OSError, ValueError):
                own.close()
        os.dup2(kept, 2)
        os.close(kept)
