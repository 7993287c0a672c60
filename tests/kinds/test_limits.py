"""Limits are stated once: what judges by them, says them and writes them down agrees."""

import math

import pytest

from keyer.kinds.limits import LIMITS
from keyer.kinds.verdicts import judge
from keyer.report.checks.reference import checks_table, measures_table


@pytest.mark.parametrize("name", sorted(LIMITS))
def test_a_value_on_a_limit_still_holds_and_one_beyond_it_does_not(name):
    bounds = LIMITS[name]
    worse = -1e-6 if bounds.low_is_worse else 1e-6
    assert judge(name, bounds.watch, "Do this.").verdict == "holds"
    beyond = judge(name, bounds.watch + worse, "Do this.")
    assert (beyond.verdict, beyond.unit) == (
        "fails" if bounds.watch == bounds.fails else "watch", bounds.unit
    )  # fmt: skip
    assert beyond.remedy == "Do this."
    if math.isfinite(bounds.fails):
        assert judge(name, bounds.fails + worse, "Do this.").verdict == "fails"


def test_limits_that_grow_with_the_picture():
    # 4 px at 1080 lines: 8 px at 2160
    assert judge("coverage.edge_width", 8.0, "", scale=2.0).verdict == "holds"
    assert judge("coverage.edge_width", 8.01, "", scale=2.0).verdict == "watch"


def test_tables_say_the_limits():
    text = measures_table("backing.chroma", "coverage.openings")
    assert "| `backing.chroma` | below 30 % of full chroma | below 15 % | ours: " in text
    assert "| `coverage.openings` | above 0.005 % of picture | never | " in text
    row = checks_table("levels.range").splitlines()[-1]
    # EBU R 103: -5 to 105 %, codes 20 to 984 of ten bits
    assert "from -5 to 105 % (codes 20 to 984 of ten bits), but for 1 % of the picture" in row
