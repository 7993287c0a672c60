"""Passes from codes to codes against the steps, each of which is tested by itself."""

import numpy as np
import pytest

from keyer.kinds.field import Geometry, Modifiers
from keyer.kinds.settings import Edge, KeySettings
from keyer.library import load_patterns
from keyer.pixel.colour.luma_chroma import hue_of
from keyer.pixel.compose.codes import key_codes, mix_codes, wipe_codes
from keyer.pixel.compose.mix import mix_band
from keyer.pixel.compose.over import over_in_place, scale_band
from keyer.pixel.keys.fast import key_matte, take_subject
from keyer.pixel.wipes.fields import build
from keyer.pixel.wipes.wipe import wipe_band
from keyer.pixel.wipes.wipe_state import wipe_state

ROWS, COLUMNS = 70, 130
GREEN = (0.1, 0.7, 0.15)


def _codes(seed, rows, columns):
    return np.random.default_rng(seed).integers(0, 256, (3, rows, columns), dtype=np.uint8)


@pytest.mark.parametrize("size", [(1, 1), (3, 5), (7, 1023), (4, 1027)])
@pytest.mark.parametrize("opacity", [1.0, 0.37, 0.0])
def test_one_pass_is_the_steps_one_after_the_other(size, opacity):
    """Within one code where a value lies on the border between two; elsewhere the same."""
    recorded, under = _codes(1, *size), _codes(2, *size)
    settings = KeySettings(hue_of(GREEN, "bt709"), 110.0, 5.0, 1.3, 80.0, GREEN)
    out = np.empty_like(recorded)
    key_codes(recorded, under, settings, "bt709", opacity, 0, size[0], out)

    fill = recorded.astype(np.float32) / np.float32(255)
    matte = np.empty(size, np.float32)
    key_matte(fill, settings, "bt709", matte)
    take_subject(fill, matte, settings, "bt709")
    scale_band(fill, opacity)
    scale_band(matte[np.newaxis], opacity)
    found = under.astype(np.float32) / np.float32(255)
    over_in_place(fill, matte, found)
    expected = np.floor(np.clip(found, 0, 1) * 255 + 0.5)
    difference = np.abs(out.astype(int) - expected)
    assert difference.max() <= 1
    assert (difference > 0).mean() < 2e-3


def test_only_the_rows_asked_for_are_written():
    recorded, under = _codes(1, 6, 40), _codes(2, 6, 40)
    settings = KeySettings(hue_of(GREEN, "bt709"), 110.0, 5.0, 1.3, 80.0, GREEN)
    whole, part = np.empty_like(recorded), np.zeros_like(recorded)
    key_codes(recorded, under, settings, "bt709", 1.0, 0, 6, whole)
    key_codes(recorded, under, settings, "bt709", 1.0, 2, 5, part)
    np.testing.assert_array_equal(part[:, 2:5], whole[:, 2:5])
    assert not part[:, :2].any()
    assert not part[:, 5:].any()


@pytest.mark.parametrize("progress", [0.0, 0.25, 0.5, 0.83, 1.0])
def test_a_mix_of_codes_is_that_of_the_band(progress):
    a, b = _codes(1, ROWS, COLUMNS), _codes(2, ROWS, COLUMNS)
    out = np.zeros_like(a)
    for top in range(0, ROWS, 23):
        mix_codes(a, b, progress, top, min(top + 23, ROWS), out)
    band = a.astype(np.float32) / np.float32(255)
    mix_band(band, b.astype(np.float32) / np.float32(255), progress, "mix")
    difference = np.abs(out - np.floor(np.clip(band, 0, 1) * 255 + 0.5))
    assert difference.max() <= 1
    assert (difference > 0).mean() < 1e-2


@pytest.mark.parametrize("name", ["barWipe", "ellipseWipe", "clockWipe", "irisWipe/diamond"])
@pytest.mark.parametrize(
    "edge", [Edge(), Edge(soft=7), Edge(soft=2, border=6, border_colour=(0.3, 0.9, 0.1))], ids=repr
)
@pytest.mark.parametrize("progress", [0.0, 0.3, 0.71, 1.0])
def test_codes_are_those_of_the_band(name, edge, progress):
    """Within one code where a value lies on the border between two."""
    field = build(load_patterns().find(name), Geometry(COLUMNS, ROWS), Modifiers())
    now = wipe_state(field, edge, progress)
    a, b = _codes(1, ROWS, COLUMNS), _codes(2, ROWS, COLUMNS)
    out = np.zeros_like(a)
    for top in range(0, ROWS, 23):
        wipe_codes(a, b, now, top, min(top + 23, ROWS), out)
    band = a.astype(np.float32) / np.float32(255)
    wipe_band(band, b.astype(np.float32) / np.float32(255), now, 0)
    difference = np.abs(out - np.floor(np.clip(band, 0, 1) * 255 + 0.5))
    assert difference.max() <= 1
    assert (difference > 0).mean() < 1e-3
