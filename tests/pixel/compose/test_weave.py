"""Fields woven of two pictures: every row of the result is a row of the right one."""

import numpy as np
import pytest

from keyer.kinds.picture import YccPicture
from keyer.pixel.compose.weave import FIRST_FIELD, weave


def even(level):
    """A 4:2:2 picture whose rows tell whose they are, and which."""
    rows = np.arange(6, dtype=np.uint16)[:, np.newaxis] + level
    return YccPicture(
        np.repeat(rows, 8, 1), np.repeat(rows + 20, 4, 1), np.repeat(rows + 40, 4, 1),
        10, False, "bt709",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("order", "whose"),
    [("top", [100, 201, 102, 203, 104, 205]), ("bottom", [200, 101, 202, 103, 204, 105])],
)
def test_rows_of_the_earlier_picture_are_in_the_first_field(order, whose):
    woven = weave(even(100), even(200), order)
    for plane, more in ((woven.luma, 0), (woven.cb, 20), (woven.cr, 40)):
        assert [int(row[0]) - more for row in plane] == whose
    assert (woven.bits, woven.matrix) == (10, "bt709")


def test_neither_picture_is_changed():
    earlier, later = even(100), even(200)
    weave(earlier, later, "top").luma[:] = 0
    assert int(earlier.luma[0, 0]) == 100
    assert int(later.luma[1, 0]) == 201


def test_which_field_comes_first():
    """Of 1125- and 625-line systems the top one; of 525-line ones the bottom one."""
    assert FIRST_FIELD == {1080: "top", 576: "top", 480: "bottom", 486: "bottom"}
