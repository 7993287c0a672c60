"""A strict reader of edit lists by the rules of SMPTE 258M-1993 (from memory), for the tests.

It shares nothing with what writes them: lines of ASCII that end in CR LF, 80 columns at most;
TITLE and FCM first; events of a number, a reel, a channel, an edit and four timecodes; `D` and
`W` with their lengths after a cut without length of the same number.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

_EVENT = re.compile(
    r"(\d{3,4})  ([A-Z0-9]{1,8}) +(V|A|B|NONE) +(C|D|W\d{3}) +(\d{3})? *"
    r"(\S{11}) (\S{11}) (\S{11}) (\S{11})"
)
_SPEED = re.compile(r"M2   ([A-Z0-9]{1,8}) +(-?\d{3}\.\d) +(\S{11})")
_CODE = re.compile(r"([01]\d|2[0-3]):([0-5]\d):([0-5]\d)([:;])(\d\d)")


@dataclass(frozen=True)
class Statement:
    """One event statement, its times as frames."""

    number: int
    reel: str
    edit: str
    length: int
    source: tuple[int, int]
    record: tuple[int, int]


@dataclass
class EditList:
    """What was read."""

    title: str
    drop: bool
    statements: list[Statement]
    speeds: dict[str, float]
    notes: list[str]


def frames(text: str, count: int, *, drop: bool) -> int:
    """Frame number of a timecode, by counting rule of SMPTE ST 12-1."""
    found = _CODE.fullmatch(text)
    assert found, f"no timecode: {text!r}"
    hours, minutes, seconds, frame = (int(found[group]) for group in (1, 2, 3, 5))
    assert frame < count, text
    assert (found[4] == ";") == drop, f"{text} against the frame code mode"
    total = (hours * 60 + minutes) * 60 + seconds
    if not drop:
        return total * count + frame
    whole = hours * 60 + minutes
    assert not (seconds == 0 and frame < 2 and whole % 10), f"{text} is left out"
    return total * count + frame - 2 * (whole - whole // 10)


def read_edl(data: bytes, count: int) -> EditList:
    """Read a list whose timecode counts so many frames a second; asserts every rule."""
    text = data.decode("ascii")
    assert text.endswith("\r\n")
    lines = text[:-2].split("\r\n")
    assert all(len(line) <= 80 and "\n" not in line and "\r" not in line for line in lines)
    assert lines[0].startswith("TITLE: ")
    assert len(lines[0]) <= len("TITLE: ") + 70
    assert lines[1] in {"FCM: DROP FRAME", "FCM: NON-DROP FRAME"}
    drop = lines[1] == "FCM: DROP FRAME"
    found = EditList(lines[0][7:], drop, [], {}, [])
    for line in lines[2:]:
        if line.startswith("* "):
            found.notes.append(line[2:])
        elif line.startswith("M2"):
            speed = _SPEED.fullmatch(line)
            assert speed, line
            found.speeds[speed[1]] = float(speed[2])
        else:
            event = _EVENT.fullmatch(line)
            assert event, line
            times = [frames(event[group], count, drop=drop) for group in (6, 7, 8, 9)]
            statement = Statement(
                int(event[1]), event[2], event[4], int(event[5] or 0),
                (times[0], times[1]), (times[2], times[3]),
            )  # fmt: skip
            assert (event[5] is None) == (statement.edit == "C"), line
            found.statements.append(statement)
    check_order(found)
    return found


def check_order(found: EditList) -> None:
    """Events follow each other without a gap; a transition has a cut without length before it."""
    numbers = [one.number for one in found.statements]
    assert sorted(set(numbers)) == list(range(1, max(numbers) + 1))
    assert numbers == sorted(numbers)
    end = None
    for index, one in enumerate(found.statements):
        start, stop = one.record
        if one.reel not in found.speeds:
            assert one.source[1] - one.source[0] == stop - start
        assert end is None or start == end
        after = found.statements[index + 1 : index + 2]
        paired = bool(after) and after[0].number == one.number
        if paired:
            assert (one.edit, stop - start) == ("C", 0)
            assert after[0].edit != "C"
        else:
            assert stop > start
            assert one.length <= stop - start
            if one.edit != "C":
                assert index
                assert found.statements[index - 1].number == one.number
        end = stop
