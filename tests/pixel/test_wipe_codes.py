import numpy as np
import pytest

from keyer.kinds.field import Geometry, Modifiers
from keyer.kinds.settings import Edge
from keyer.library import load_patterns
from keyer.pixel.fields import build
from keyer.pixel.moment import moment
from keyer.pixel.wipe import wipe_band
from keyer.pixel.wipe_codes import wipe_codes

ROWS, COLUMNS = 70, 130


def _codes(seed):
    return np.random.default_rng(seed).integers(0, 256, (3, ROWS, COLUMNS), dtype=np.uint8)


@pytest.mark.parametrize("name", ["barWipe", "ellipseWipe", "clockWipe", "irisWipe/diamond"])
@pytest.mark.parametrize(
    "edge", [Edge(), Edge(soft=7), Edge(soft=2, border=6, border_colour=(0.3, 0.9, 0.1))], ids=repr
)
@pytest.mark.parametrize("progress", [0.0, 0.3, 0.71, 1.0])
def test_codes_are_those_of_the_band(name, edge, progress):
    """Within one code where a value lies on the border between two."""
    field = build(load_patterns().find(name), Geometry(COLUMNS, ROWS), Modifiers())
    now = moment(field, edge, progress)
    a, b = _codes(1), _codes(2)
    out = np.zeros_like(a)
    for top in range(0, ROWS, 23):
        wipe_codes(a, b, now, top, min(top + 23, ROWS), out)
    band = a.astype(np.float32) / np.float32(255)
    wipe_band(band, b.astype(np.float32) / np.float32(255), now, 0)
    difference = np.abs(out - np.floor(np.clip(band, 0, 1) * 255 + 0.5))
    assert difference.max() <= 1
    assert (difference > 0).mean() < 1e-3
