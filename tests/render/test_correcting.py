"""Corrections of sources, as a sheet has them."""

import numpy as np
import pytest

from keyer.errors import SheetError
from keyer.render.plan import Plan
from keyer.render.sinks.pictures import picture
from keyer.report.cue_sheets.cues import source_words
from keyer.sheet.load import build_sheet


def sheet_of(correct, overlays=(), **sources):
    return build_sheet(
        {
            "version": 1,
            "sheet": {"format": "64x36@25", "length": 4},
            "sources": {"a": {"ramp": True, "correct": correct}, **sources},
            "cues": [{"source": "a"}],
            "overlays": list(overlays),
        }
    )


def shown(sheet):
    with Plan(sheet) as plan:
        return plan.picture(0, np.float32).planes


def test_a_source_is_corrected_and_the_paper_says_how():
    sheet = sheet_of({"black": 10, "gain": 80, "balance": [100, 100, 50]})
    before = shown(sheet_of({}))
    found = shown(sheet)
    np.testing.assert_allclose(found[0], 0.1 + 0.7 * before[0], atol=1e-6)
    np.testing.assert_allclose(found[2], 0.1 + 0.3 * before[2], atol=1e-6)
    words = source_words(sheet, sheet.sources["a"])
    assert words.endswith("black +10 %, gain 80 %, balance R, G, B 100, 100, 50 %")


def test_what_is_clear_stays_clear():
    """Black is lifted where something is, and only as much of it as is there."""
    sheet = build_sheet(
        {
            "version": 1,
            "sheet": {"format": "64x36@25", "length": 4},
            "sources": {
                "half": {"effect": "half", "correct": {"black": 20}},
                "nothing": {"clear": True},
                "black": {"colour": "#000000"},
            },
            "effects": {
                "half": {
                    "cues": [{"source": "nothing"}],
                    "overlays": [{"source": "black", "opacity": 0.5}],
                }
            },
            "cues": [{"source": "half"}],
        }
    )
    with Plan(sheet) as plan:
        found = picture(plan.frame(0), plan.evaluator, np.float32, alpha=True)
    np.testing.assert_allclose(found.alpha, 0.5, atol=1e-6)
    np.testing.assert_allclose(found.planes, 0.2, atol=1e-6)


def test_a_change_changes_the_digest_and_none_does_not():
    plain, same, other = sheet_of({}), sheet_of({"gain": 100}), sheet_of({"gain": 101})
    assert plain.digest == same.digest != other.digest


@pytest.mark.parametrize(("key", "value"), [("gamma", 0), ("gain", 500), ("hue", 300)])
def test_what_is_out_of_range_is_refused_with_its_place(key, value):
    with pytest.raises(SheetError, match="must be in") as caught:
        sheet_of({key: value})
    assert f"sources.a.correct.{key}" in str(caught.value)
