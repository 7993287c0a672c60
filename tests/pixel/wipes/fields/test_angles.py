"""Angles of many places at once."""

import numpy as np
from support import TWIN

from keyer.pixel.wipes.fields.angles import signed_turns


def test_turns_agree_with_numpys_arctan():
    rng = np.random.default_rng(1)
    along, aside = rng.normal(size=(2, 40, 50)).astype(np.float32)
    expected = np.arctan2(aside.astype(float), along.astype(float)) / (2 * np.pi)
    np.testing.assert_allclose(signed_turns(along, aside), expected, atol=TWIN)


def test_the_quarters_are_exact():
    along = np.float32([[1, 0, 0, 1, 1, -1]])
    aside = np.float32([[0, 1, -1, 1, -1, 0]])
    np.testing.assert_allclose(
        signed_turns(along, aside), [[0, 0.25, -0.25, 0.125, -0.125, 0.5]], atol=1e-7
    )


def test_the_middle_has_no_angle():
    assert signed_turns(np.zeros((1, 1), np.float32), np.zeros((1, 1), np.float32)) == 0


def test_rows_and_columns_broadcast():
    along, aside = np.ones((1, 7), np.float32), np.arange(5, dtype=np.float32)[:, None]
    assert signed_turns(along, aside).shape == (5, 7)
