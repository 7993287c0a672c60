"""The desk's reading beside our value: straight between measured points, nothing beyond them."""

import pytest

from keyer.sheet.dials import Dial, dialled

SOFT = Dial("turns", ((0, 0), (2, 1.5), (10, 4)))


@pytest.mark.parametrize(
    ("value", "reading"),
    [(0, 0), (1, 0.75), (2, 1.5), (6, 2.75), (10, 4)],  # by hand, e.g. 1.5 + 2.5 * 4 / 8
)
def test_straight_between_points(value, reading):
    assert SOFT.reading(value) == pytest.approx(reading, abs=1e-12)


def test_nothing_is_made_up_beyond_the_points():
    assert SOFT.reading(10.5) is None
    assert dialled({"soft": SOFT}, "soft", 12) == " (desk: beyond the desk's table)"


def test_the_finest_reading():
    half = Dial("", ((0, 0), (10, 5)), step=0.5)
    assert half.words(3.2) == "1.5"  # 1.6, to the nearest half
    assert half.words(4.6) == "2.5"  # 2.3


def test_a_scale_may_run_the_other_way():
    assert Dial("marks", ((0, 10), (100, 0))).words(25) == "7.5 marks"


def test_without_a_scale_nothing_is_said():
    assert dialled({}, "soft", 3) == ""
