"""How far a long command has come, how fast it goes and what is left."""

from __future__ import annotations

import sys
import time
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import contextmanager

from keyer.cli.common import notice

Told = Callable[[str, int, int], None]
"""Called with what is counted, how many are done, and of how many."""

_TENTHS, _LEAST = 10, 100
"""How often a line is written where nobody watches, and of how many from which on."""

_WINDOW = 30.0
"""Seconds over which a rate is taken: workers come and go."""
_GRAIN = 0.25
"""Seconds within which one count is kept."""


class Pace:
    """How fast something goes, of late. What was done before it was watched does not count."""

    def __init__(self) -> None:
        self._seen: deque[tuple[float, int]] = deque()

    def note(self, done: int, now: float) -> None:
        """Note how many are done at a time.

        Parameters
        ----------
        done : int
        now : float
            Seconds of a clock that never goes back.
        """
        if len(self._seen) > 1 and now - self._seen[-2][0] < _GRAIN:
            self._seen.pop()
        self._seen.append((now, done))
        while len(self._seen) > 2 and now - self._seen[1][0] >= _WINDOW:
            self._seen.popleft()

    def rate(self) -> float | None:
        """How many a second; None as long as that cannot be known."""
        if not self._seen:
            return None
        (began, first), (now, last) = self._seen[0], self._seen[-1]
        return (last - first) / (now - began) if now > began and last > first else None

    def words(self, done: int, total: int) -> str:
        """Say rate and time left; empty as long as they cannot be known."""
        rate = self.rate()
        if rate is None:
            return ""
        return f", {rate:.1f} a second, {time_left((total - done) / rate)} left"


def time_left(seconds: float) -> str:
    """Say a length of time to somebody who waits.

    Examples
    --------
    >>> time_left(48.4), time_left(150), time_left(7500)
    ('48 s', '2 min 30 s', '2 h 5 min')
    """
    whole = round(seconds)
    if whole < 60:
        return f"{whole} s"
    if whole < 3600:
        return f"{whole // 60} min {whole % 60} s"
    return f"{whole // 3600} h {whole % 3600 // 60} min"


@contextmanager
def progress(
    *, quiet: bool, also: Callable[[], str] = str, clock: Callable[[], float] = time.monotonic
) -> Iterator[Told]:
    """Show how far it is; in plain lines into a file or pipe.

    Parameters
    ----------
    quiet : bool
        Show nothing on a terminal.
    also : callable, optional
        Asked for what else is to be said; empty for nothing.
    clock : callable, optional
        Tells seconds.
    """
    if not sys.stderr.isatty():
        yield _plainly(also, clock)
        return
    if quiet:
        yield lambda _what, _done, _all: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TaskID, TextColumn

    columns = (BarColumn(), MofNCompleteColumn(), TextColumn("{task.fields[what]}"))
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        jobs: dict[str, tuple[TaskID, Pace]] = {}

        def told(what: str, done: int, total: int) -> None:
            if what not in jobs:
                for job, _ in jobs.values():
                    bar.update(job, visible=False)
                jobs[what] = bar.add_task("", total=total, what=what), Pace()
            job, pace = jobs[what]
            pace.note(done, clock())
            bar.update(job, completed=done, total=total, what=_words(what, pace, done, total, also))

        yield told


def _words(what: str, pace: Pace, done: int, total: int, also: Callable[[], str]) -> str:
    more = also()
    return f"{what}{pace.words(done, total)}{f', {more}' if more else ''}"


def _plainly(also: Callable[[], str], clock: Callable[[], float]) -> Told:
    """Make what writes a line at each tenth; of little it says nothing."""
    paces: dict[str, Pace] = {}
    written: dict[str, int] = {}

    def told(what: str, done: int, total: int) -> None:
        pace = paces.setdefault(what, Pace())
        pace.note(done, clock())
        tenth = _TENTHS * done // max(total, 1)
        before = written.setdefault(what, tenth)
        if total < _LEAST or done == 0 or tenth == before:
            return
        written[what] = tenth
        notice(f"{done} of {total} {_words(what, pace, done, total, also)}.")

    return told
