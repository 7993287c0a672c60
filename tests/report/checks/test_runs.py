from fractions import Fraction

import pytest
from report.spots import HEAD, cut

from keyer.report.checks.findings import Limit, Look
from keyer.report.checks.runs import Runs
from keyer.sheet.load import parse_sheet

SHEET = parse_sheet(HEAD.format(length='"10s"') + cut(("blue", 0)))
LIMIT = Limit("at most 5", "by hand")


def joined(looks, check="some.check", **how):
    runs = Runs(SHEET, check, "%", LIMIT, **how)
    for look in looks:
        runs.add(look)
    return runs.findings()


def look(frame, value, verdict="fails", **more):
    return Look(frame, verdict, value, **more)


def test_no_look_no_finding():
    assert joined([]) == []


def test_all_hold_is_one_finding_with_the_worst_value():
    (found,) = joined([look(i, v, "holds") for i, v in enumerate([1, 3, 2])])
    assert (found.verdict, found.value, found.first, found.last, found.worst) == (
        "holds",
        3,
        0,
        2,
        1,
    )
    assert found.remedy == ""


def test_stretches_are_told_apart_by_their_gap():
    looks = [look(i, i) for i in (3, 4, 5, 9, 10)]
    assert [(f.first, f.last) for f in joined(looks)] == [(3, 5), (9, 10)]
    assert [(f.first, f.last) for f in joined(looks, gap=4)] == [(3, 10)]


def test_looks_that_hold_between_do_not_part_what_belongs_together():
    looks = [look(3, 9), look(4, 1, "holds"), look(5, 8)]
    assert [(f.first, f.last) for f in joined(looks, gap=2)] == [(3, 5)]


def test_the_verdict_comes_before_the_value():
    looks = [look(1, 9, "watch", remedy="w"), look(2, 5, "fails", remedy="f"), look(3, 9, "watch")]
    (found,) = joined(looks)
    assert (found.verdict, found.value, found.worst, found.remedy) == ("fails", 5, 2, "f")


def test_low_may_be_worse():
    looks = [look(1, 4), look(2, 2), look(3, 3)]
    assert joined(looks, "title.contrast")[0].worst == 2
    assert joined(looks)[0].worst == 1


def test_a_look_may_speak_of_frames_before_it():
    looks = [look(30, 4, first=6), look(31, 4, first=7)]
    (found,) = joined(looks)
    assert (found.first, found.last) == (6, 31)
    assert (found.first_timecode, found.worst_timecode) == ("00:00:00:06", "00:00:01:05")


@pytest.mark.parametrize("drop", [True, False])
def test_timecode_is_the_sheets(drop):
    text = HEAD.format(length=100).replace("192x108@25", "192x108@29.97")
    mark = ";" if drop else ":"
    text = text.replace("length = 100", f'length = 100\nstart = "01:00:00{mark}00"')
    sheet = parse_sheet(text + cut(("blue", 0)))
    assert sheet.format.rate == Fraction(30000, 1001)
    runs = Runs(sheet, "some.check", "%", LIMIT)
    runs.add(look(40, 1))
    assert runs.findings()[0].first_timecode == f"01:00:01{mark}10"


def test_as_plain_data():
    data = joined([look(3, 9)], subject="cues[0] blue")[0].as_dict()
    assert data["limit"] == "at most 5"
    assert data["source"] == "by hand"
    assert data["place"] == {"left": 0.0, "top": 0.0, "width": 100.0, "height": 100.0}
    assert data["subject"] == "cues[0] blue"
