"""What is see-through in a matte and shows in its plate is true; what does not show is a fault.

The plates are drawn: a body before a lit green wall, with a pane of glass and a net in it.
"""

import numpy as np
import pytest

from keyer.measure.against_plate import KeyedFrom, against_plate
from keyer.measure.coverage import judge_coverage, measure_coverage
from keyer.pixel.colour.luma_chroma import hue_of
from keyer.pixel.keys.edge_light import code_of, light_of

WALL, BODY = (0.13, 0.62, 0.25), (0.35, 0.22, 0.16)
GLASS, NET = np.s_[100:130, 90:120], np.s_[60:90, 130:170]
HEIGHT, WIDTH = 240, 320


def _true():
    """A body with a soft edge; a pane of 70 % and a net of two pixels in four."""
    y, x = np.mgrid[:HEIGHT, :WIDTH].astype(np.float32)
    matte = np.clip((100 - np.hypot(x - 130, y - 130)) / 2, 0, 1)
    matte[GLASS] = 0.7
    matte[NET] = np.where((x[NET] % 4 < 2) & (y[NET] % 4 < 2), 0.4, 1)
    return matte


def _plate(matte, *, light, grain=0.006):
    rows = np.linspace(1, 0.85, HEIGHT)[:, None]
    wall, body = (
        np.array(colour, np.float32)[:, None, None] * np.ones((1, HEIGHT, WIDTH), np.float32)
        for colour in (WALL, BODY)
    )
    wall = (wall * rows).astype(np.float32)
    if light:
        seen = code_of(matte * light_of(body) + (1 - matte) * light_of(wall))
    else:
        seen = matte * body + (1 - matte) * wall
    seen = seen + np.random.default_rng(1).normal(0, grain, seen.shape)
    return KeyedFrom(seen.astype(np.float32), wall, hue_of(WALL, "bt709"), "bt709")


def _alarms(matte, plate):
    coverage = measure_coverage(np.ascontiguousarray(matte, np.float32), plate)
    verdicts = judge_coverage(coverage, HEIGHT)
    return {one.measure.split(".")[1] for one in verdicts if one.verdict != "holds"}


@pytest.mark.parametrize("light", [True, False], ids=["light", "codes"])
def test_a_perfect_matte_gives_no_alarm(light):
    """From the matte alone the pane and the net look like holes."""
    matte = _true()
    assert _alarms(matte, None) == {"holes"}
    assert _alarms(matte, _plate(matte, light=light)) == set()


@pytest.mark.parametrize("light", [True, False], ids=["light", "codes"])
@pytest.mark.parametrize("left", [0.0, 0.4, 0.75])
def test_a_hole_where_the_plate_is_solid(light, left):
    """By hand: 20 x 10 pixels of 240 x 320 are 0.26 %; the border of the place may count or not."""
    matte = _true()
    plate = _plate(matte, light=light)
    matte[170:190, 120:130] = left
    assert _alarms(matte, plate) == {"holes"}
    assert against_plate(matte, plate).holes_percent == pytest.approx(0.26, rel=0.25)


def test_a_print_of_another_paint_that_is_keyed_out():
    """Of the backing's hue and half as pure, so that it shows half of the backing's chroma."""
    matte = _true()
    plate = _plate(matte, light=False)
    plate.planes[:, 170:190, 120:140] = 0.5 * plate.backing[:, 170:190, 120:140] + 0.22
    matte[170:190, 120:140] = 0
    assert _alarms(matte, plate) & {"holes", "openings"}


@pytest.mark.parametrize("level", [0.12, 0.5, 1.0])
def test_a_speck_where_the_plate_shows_the_bare_wall(level):
    matte = _true()
    plate = _plate(matte, light=True)
    assert against_plate(matte, plate).specks_percent == 0
    matte[40:46, 290:296] = level
    assert _alarms(matte, plate) == {"specks"}


def test_what_floats_before_the_wall_is_no_speck():
    matte = _true()
    matte[40:46, 290:296] = 0.6
    assert _alarms(matte, _plate(matte, light=True)) == set()


def test_grain_that_a_key_lets_through_is_specks():
    """A matte of the wall's grain alone, as a key without a clip makes it."""
    matte = _true()
    plate = _plate(matte, light=True, grain=0.03)
    veil = np.abs(np.random.default_rng(2).normal(0, 0.12, matte.shape))
    assert "specks" in _alarms(np.where(matte == 0, veil, matte), plate)


def test_edges_may_be_as_wide_as_the_plates_own():
    """Out of focus by ten pixels in both; as wide in the matte of a sharp plate it is told."""
    y, x = np.mgrid[:HEIGHT, :WIDTH]
    soft, sharp = (
        np.clip((95 - np.hypot(x - 130, y - 130)) / width + 0.5, 0, 1).astype(np.float32)
        for width in (10, 1)
    )
    assert "edge_width" in _alarms(soft, None)
    assert _alarms(soft, _plate(soft, light=False)) == set()
    assert "edge_width" in _alarms(soft, _plate(sharp, light=False))


def test_where_the_matte_is_decided_by_hand_the_plate_has_no_say():
    matte = _true()
    found = _plate(matte, light=True)
    matte[170:190, 120:130] = 0
    mask = np.zeros(matte.shape, bool)
    mask[165:195, 115:135] = True
    masked = KeyedFrom(found.planes, found.backing, found.hue_deg, found.matrix, mask)
    assert _alarms(matte, masked) == set()
