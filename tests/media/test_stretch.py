"""How loud a stretch is while another sound holds it down."""

from pathlib import Path

import numpy as np
import pytest

from keyer.media.stretch import Ducking, Stretch, gain

LEVEL = 20 * np.log10(0.25)  # by hand: a quarter


def held(spans, *, at=0, length=10_000, down=400, up=800):
    ducking = Ducking(LEVEL, down, up, spans)
    return Stretch(Path("none"), at, 0, length, ducking=ducking)


def test_it_is_down_when_the_other_begins_and_up_again_after_it():
    """Evenly in decibels: half way down, and half way up, it is at the root: a half."""
    found = gain(held(((2000, 5000),)), 0, 10_000)
    assert np.allclose(found[:1600], 1)
    assert np.allclose(found[2000:5000], 0.25)
    assert np.allclose(found[5800:], 1)
    assert found[1800] == pytest.approx(0.5, rel=0.005)
    assert found[5400] == pytest.approx(0.5, rel=0.005)
    assert (np.diff(found[1600:2000]) < 0).all()
    assert (np.diff(found[5000:5800]) > 0).all()


def test_between_two_near_spans_the_lower_holds():
    found = gain(held(((2000, 3000), (3300, 4000))), 0, 10_000)
    alone = [gain(held((span,)), 0, 10_000) for span in ((2000, 3000), (3300, 4000))]
    assert np.array_equal(found, np.minimum(*alone))
    assert found[3100] < 0.4


def test_spans_count_from_the_sheet_and_blocks_join():
    one = held(((2000, 5000),), at=1500, length=6000)
    whole = gain(one, 0, 6000)
    assert np.allclose(whole[500:3500], 0.25)
    assert np.array_equal(
        whole, np.concatenate([gain(one, n, 997) for n in range(0, 6000, 997)])[:6000]
    )


def test_at_once():
    found = gain(held(((2000, 5000),), down=0, up=0), 0, 10_000)
    assert np.allclose(found[:2000], 1)
    assert np.allclose(found[2000:5000], 0.25)
    assert np.allclose(found[5001:], 1)
