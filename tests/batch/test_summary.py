"""Verdicts by kind: counts, rows and the worst of them, what fails first."""

from keyer.batch.manifest import Entry
from keyer.batch.summary import summary


def entry(row, *verdicts):
    found = tuple(
        {"measure": m, "verdict": v, "value": value, "unit": "u", "remedy": f"Cure {row}."}
        for m, v, value in verdicts
    )
    return Entry(row, f"f{row}", ((f"f{row}.png", ""),), "", "", {}, found, (), 0)


def test_what_fails_comes_first_then_what_concerns_most_rows():
    entries = [
        entry(2, ("title.contrast", "fails", 2.5), ("title.safe_area", "watch", 1.0)),
        entry(3, ("title.contrast", "fails", 1.5), ("title.safe_area", "watch", 4.0)),
        entry(4, ("title.zone", "fails", 7.0), ("title.safe_area", "holds", 0.0)),
        entry(5, ("title.zone", "fails", 9.0), ("title.reading_time", "watch", 1.8)),
        entry(6, ("title.zone", "fails", 8.0)),
    ]
    kinds = summary(entries)
    assert [(kind.measure, kind.verdict, kind.rows) for kind in kinds] == [
        ("title.zone", "fails", (4, 5, 6)),
        ("title.contrast", "fails", (2, 3)),
        ("title.safe_area", "watch", (2, 3)),
        ("title.reading_time", "watch", (5,)),
    ]
    # of a contrast the lowest value is the worst, of a zone the highest
    assert [(kind.worst, kind.value) for kind in kinds] == [(5, 9.0), (3, 1.5), (3, 4.0), (5, 1.8)]
    assert str(kinds[1]) == (
        "title.contrast fails in 2 rows, worst in row 3 f3: 1.5 u. Cure 3. Rows 2-3."
    )


def test_where_all_holds_there_is_nothing_to_say():
    assert summary([entry(2, ("title.zone", "holds", 0.0))]) == []


def test_a_value_close_to_its_limit_is_said_on_its_own_side():
    """A contrast of 2.9999996 fails at 3: rounded to six figures it would not."""
    (kind,) = summary([entry(2, ("title.contrast", "fails", 2.9999996))])
    assert "f2: 2.9999996 u." in str(kind)
