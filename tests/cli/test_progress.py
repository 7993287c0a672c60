"""Rate and time left, told at each tenth where nobody watches."""

from itertools import count

import pytest

from keyer.cli.progress import Pace, progress, time_left


def test_what_was_done_before_does_not_count():
    """A resumed run begins at 900 of 1000: by hand, 20 in 4 s leave 80 at 5 a second."""
    pace = Pace()
    pace.note(900, 10.0)
    assert pace.rate() is None
    assert pace.words(900, 1000) == ""
    pace.note(920, 14.0)
    assert pace.words(920, 1000) == ", 5.0 a second, 16 s left"


def test_the_rate_is_that_of_late():
    """A minute of 1 a second, then of 10: by hand."""
    pace = Pace()
    for second in range(61):
        pace.note(second, float(second))
    assert pace.rate() == 1
    for second in range(1, 61):
        pace.note(60 + 10 * second, 60.0 + second)
    assert pace.rate() == 10


def test_counts_that_come_in_close_turns_are_kept_once():
    pace = Pace()
    for item in range(100_000):
        pace.note(item, item / 10_000)
    assert pace.rate() == pytest.approx(10_000)
    assert len(pace._seen) < 50


@pytest.mark.parametrize(
    ("seconds", "words"),
    [
        (0.2, "0 s"),
        (59.4, "59 s"),
        (59.6, "1 min 0 s"),
        (3599.6, "1 h 0 min"),
        (9000, "2 h 30 min"),
    ],
)
def test_time_left(seconds, words):
    assert time_left(seconds) == words


def test_lines_of_a_pipe(capsys):
    """Ten rows a second, 300 rows, the first 30 there already."""
    clock = count(0, 0.1)
    with progress(quiet=True, also=lambda: "4 workers", clock=lambda: next(clock)) as told:
        for done in range(30, 301):
            told("rows", done, 300)
    lines = capsys.readouterr().err.splitlines()
    assert len(lines) == 9
    assert lines[0] == "keyer: 60 of 300 rows, 10.0 a second, 24 s left, 4 workers."
    assert lines[-1] == "keyer: 300 of 300 rows, 10.0 a second, 0 s left, 4 workers."


def test_of_little_nothing_is_said(capsys):
    with progress(quiet=False) as told:
        for done in range(100):
            told("rows", done, 99)
    assert capsys.readouterr().err == ""
