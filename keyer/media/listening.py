"""What the coding library reports while it decodes: in its log, and nowhere else.

A decoder conceals what it cannot read and hands the picture on as if nothing
were wrong. Its log is where it says so, and it is listened to here: how many
reports there have been in the whole process, which costs nothing while there
are none, and those of one piece of work in one thread.
"""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager

STRICT = {"err_detect": "crccheck"}
"""Options for a decoder: look at every check sum that there is."""


def listen() -> None:
    """Begin to listen; what is heard is shown to nobody who has not asked for it."""
    import av

    if av.logging.get_level() is None:
        logging.getLogger("libav").addHandler(logging.NullHandler())
        av.logging.set_skip_repeated(False)
        av.logging.set_level(av.logging.ERROR)


def reports() -> int:
    """Count what has been reported since the process began, in whatever thread."""
    import av

    return av.logging.get_last_error()[0]


@contextmanager
def heard() -> Iterator[list[tuple[int, str, str]]]:
    """Collect the codec library's reports in this thread while the block runs.

    Yields
    ------
    list of (int, str, str)
        Level, who says it, what is said; filled as it is said.
    """
    import av

    with av.logging.Capture() as said:
        yield said
