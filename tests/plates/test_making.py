"""The plates are what they say they are."""

from dataclasses import replace

import numpy as np
import pytest
from plates import making
from plates.proof import BLUE, GREEN, KINDS, make
from plates.triangulation import triangulate


@pytest.mark.parametrize("kind", KINDS[:6], ids=lambda kind: kind.name)
def test_triangulation_gives_the_true_matte_back(kind):
    """Two recordings of one subject before two backings leave no doubt about its matte."""
    clean = replace(kind, spill=0.0, noise=0.0, chroma420=False)
    first, second = (make(replace(clean, backing=colour)) for colour in (GREEN, BLUE))
    matte, fill = triangulate(first.recorded, second.recorded, first.backing, second.backing)
    # Each recording is rounded to 8 bit, so their difference is off by up to one code in 255.
    apart = first.backing - second.backing
    worst = (np.abs(apart).sum(0) / (apart**2).sum(0)).max() / 255
    assert worst < 0.011
    assert np.abs(matte - first.matte).max() < worst + 1e-6
    assert np.abs(fill - first.matte * first.subject).max() < worst + 0.5 / 255 + 1e-6


def test_uneven_light_spans_the_stops_asked_for():
    lit = making.uneven(making.flat(GREEN, 90, 160), 1.0, np.random.default_rng(3))
    # by hand: a signal V of the light ((V + 0.099) / 1.099)^(1 / 0.45), BT.709-6 item 1.2
    brightest, darkest = (((v + 0.099) / 1.099) ** (1 / 0.45) for v in (lit[1].max(), lit[1].min()))
    assert brightest / darkest == pytest.approx(2, rel=1e-4)


def test_the_same_seed_gives_the_same_plate():
    kind = next(kind for kind in KINDS if kind.name == "all at once")
    assert np.array_equal(make(kind).recorded, make(kind).recorded)
    assert not np.array_equal(make(kind).recorded, make(kind, seed=99).recorded)


def test_a_lower_bit_rate_does_more_harm():
    kind = next(kind for kind in KINDS if kind.name == "strands")
    plate = make(kind)
    harm = [
        float(np.abs(making.h264(plate.recorded, rate) - plate.recorded).mean())
        for rate in (0.05, 0.2, 1.0)
    ]
    assert harm[0] > harm[1] > harm[2] > 0
