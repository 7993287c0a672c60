"""No figure contradicts its verdict."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keyer.kinds.figures import figures
from keyer.kinds.limits import LIMITS


@pytest.mark.parametrize(("measure", "value", "said"), [
    ("title.contrast", 2.9953, "2.995"), ("title.contrast", 4.499, "4.499"),
    ("title.contrast", 4.5, "4.5"), ("levels.range", 1.0004, "1.0004"),
    ("stripes.pattern", 40.04, "40.04"), ("backing.evenness", 0.5004, "0.5004"),
    ("title.letter_height", 2.4996, "2.4996"), ("coverage.holes", 0.05, "0.05"),
    ("anything", 2.99953, "3"),
])  # fmt: skip
def test_as_many_figures_as_the_limit_needs(measure, value, said):
    assert figures(measure, value) == said


@given(st.sampled_from(sorted(LIMITS)), st.floats(-1e-6, 1e-6), st.integers(0, 1))
def test_a_value_near_a_limit_is_said_on_its_own_side(measure, off, which):
    finite = LIMITS[measure].finite
    limit = finite[which % len(finite)]
    value = limit * (1 + off)
    said = float(figures(measure, value))
    assert (said > limit, said < limit) == (value > limit, value < limit)
