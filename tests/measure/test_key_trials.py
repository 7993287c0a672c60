import numpy as np
import pytest

from keyer.kinds.verdicts import Verdict
from keyer.measure.coverage import judge_coverage, measure_coverage
from keyer.measure.key_trials import best_trial, candidates, proven

USED = {"gain": 1.2, "clip_percent": 10.0, "acceptance_deg": 100.0, "fill_holes": 0.0}


def test_candidates_are_settings_that_the_key_has():
    """At 1080 lines areas are 30 and 100 pixels; at 540 a quarter, rounded."""
    fast = list(candidates("coverage.holes", "fast", USED, 1080))
    assert fast == [
        {"gain": 1.56}, {"gain": 2.4}, {"acceptance_deg": 80}, {"acceptance_deg": 60},
        {"fill_holes": 30}, {"fill_holes": 100},
    ]  # fmt: skip
    fine = list(candidates("coverage.holes", "fine", {"gain": 1.0, "fill_holes": 10.0}, 540))
    assert fine == [{"gain": 1.3}, {"gain": 2.0}, {"fill_holes": 25}]
    level = list(candidates("coverage.holes", "level", {"clip_percent": 10.0}, 1080))
    assert level[:2] == [{"clip_percent": 5.0}, {"clip_percent": 0.0}]
    specks = list(candidates("coverage.specks", "fast", USED | {"clip_percent": 93.0}, 1080))
    assert specks[:3] == [{"clip_percent": 95.0}, {"clip_percent": 95.0}, {"acceptance_deg": 120}]
    assert list(candidates("coverage.edge_width", "fine", {"gain": 40.0}, 1080)) == [
        {"gain": 50.0},
        {"gain": 50.0},
    ]


def _matte(holes, level=0.5):
    """A solid disc with so many small holes in it, (100, 100)."""
    y, x = np.mgrid[:100, :100] - 49.5
    matte = (np.hypot(x, y) < 40).astype(np.float32)
    for number in range(holes):
        matte[30 + 10 * (number // 5), 30 + 10 * (number % 5)] = level
    return matte


BAD = Verdict("coverage.holes", 0.2, "% of picture", "fails", "Hold it in.")
HELD = [BAD, Verdict("coverage.openings", 0.0, "% of picture", "holds")]


def _judged(matte):
    return judge_coverage(measure_coverage(matte), matte.shape[0])


def _said(mattes, held=HELD):
    changes = [{"gain": float(number)} for number in range(len(mattes))]
    trial = best_trial(BAD, held, changes, lambda change: _judged(mattes[int(change["gain"])]))
    return proven(BAD, trial, "here").remedy


def test_the_first_setting_with_which_it_holds_is_named():
    """Of 100 x 100 a hole of one pixel is 0.01 % of the picture."""
    mattes = [_matte(20), _matte(5), _matte(0), _matte(0)]
    assert _said(mattes) == "Hold it in. Tried here: with gain 2 it is 0 % of picture."


def test_else_the_one_that_brings_it_down_most():
    assert "with gain 1 it is 0.05 % of picture" in _said([_matte(10), _matte(5), _matte(8)])


@pytest.mark.parametrize("level", [0.0, 0.5])
def test_what_hardly_helps_or_spoils_another_measure_is_not_named(level):
    """Clear holes are openings: these were none before."""
    mattes = [_matte(19)] if level else [_matte(5, 0.0)]
    assert _said(mattes) == "Hold it in. No setting that was tried here helps."
