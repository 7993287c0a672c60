"""Corrections of sources, as a sheet has them."""

import numpy as np
import pytest
from PIL import Image

from keyer.errors import SheetError
from keyer.render import matching
from keyer.render.plan import Plan
from keyer.render.session import Session
from keyer.render.sinks.pictures import picture
from keyer.report.cue_sheets.cues import source_words
from keyer.sheet.load import build_sheet, parse_sheet


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


GREEN = (40, 170, 60)


def _project(folder):
    """A plate with a subject in grey steps, and a scene that is dull, dark and warm."""
    plate = np.empty((72, 128, 3), np.uint8)
    plate[:] = GREEN
    plate[12:, 40:88] = np.linspace(0, 255, 48)[None, :, None]
    plate[20:30, 50:80] = (200, 60, 60)
    plate[40:50, 50:80] = (60, 70, 200)
    Image.fromarray(plate).save(folder / "plate.png")
    subject = plate[12:, 40:88].astype(float) / 255
    scene = (0.1 + 0.6 * subject) * (1.03, 1.0, 0.94)
    Image.fromarray((255 * scene + 0.5).astype(np.uint8)).save(folder / "scene.png")


MATCHED = """
version = 1
[sheet]
format = "128x72@25"
length = 4
[sources.scene]
file = "scene.png"
fit = "fill"
[sources.plate]
file = "plate.png"
correct = { match = "scene" }
[[cues]]
source = "scene"
[[overlays]]
source = "plate"
key = { kind = "chroma", quality = "fast" }
"""


def test_a_keyed_subject_is_matched_to_its_background_and_the_backing_does_not_count(tmp_path):
    """By hand: the subject is y, the scene (0.1 + 0.6 y) with each colour's share beside."""
    _project(tmp_path)
    with Plan(parse_sheet(MATCHED, folder=tmp_path)) as plan:
        (said,) = [notice for notice in plan.notices if "matched" in notice]
        overlay = plan.sheet.overlays[0]
        found = plan.colour(plan.recorded(overlay, 0))
        chosen = plan._sources["plate"].source.correction
    assert said.startswith("plate: matched to scene: black ")
    assert "gain" in said
    assert "balance" in said
    assert chosen.black_percent == pytest.approx(10, abs=1.5)
    assert chosen.gain_percent == pytest.approx(70, abs=1.5)
    assert chosen.saturation_percent == pytest.approx(100, abs=4)
    grey = found[:, 60, 42:86]
    wanted = (0.1 + 0.6 * np.linspace(0, 1, 48)[2:46]) * np.array([[1.03], [1.0], [0.94]])
    np.testing.assert_allclose(grey, wanted, atol=0.025)


def test_the_paper_says_what_a_source_is_matched_to(tmp_path):
    sheet = parse_sheet(MATCHED, folder=tmp_path)
    assert source_words(sheet, sheet.sources["plate"]).endswith(", matched to scene")


def test_said_by_hand_the_settings_make_the_very_picture(tmp_path):
    _project(tmp_path)
    with Plan(parse_sheet(MATCHED, folder=tmp_path)) as plan:
        chosen = plan._sources["plate"].source.correction
        matched = plan.picture(0).planes
    by_hand = (
        f"black = {chosen.black_percent}, gain = {chosen.gain_percent}, "
        f"saturation = {chosen.saturation_percent}, balance = {list(chosen.balance)}"
    )
    text = MATCHED.replace('match = "scene"', by_hand)
    with Plan(parse_sheet(text, folder=tmp_path)) as plan:
        np.testing.assert_array_equal(plan.picture(0).planes, matched)


def test_it_is_chosen_once_and_anew_where_the_other_picture_changes(tmp_path, monkeypatch):
    count = []
    real = matching.correction_to
    monkeypatch.setattr(matching, "correction_to", lambda *a: count.append(1) or real(*a))
    _project(tmp_path)
    session = Session()
    for _ in range(2):
        Plan(parse_sheet(MATCHED, folder=tmp_path), session).picture(0)
    assert len(count) == 1
    Image.new("RGB", (30, 20), (90, 90, 90)).save(tmp_path / "scene.png")
    Plan(parse_sheet(MATCHED, folder=tmp_path), session).picture(0)
    assert len(count) == 2
    session.close()


@pytest.mark.parametrize(
    ("match", "other", "said"),
    [
        ("nobody", {}, "no source is called 'nobody'"),
        ("a", {}, "must name another source"),
        ("b", {"b": {"bars": 75, "correct": {"match": "c"}}, "c": {"bars": 75}}, "not matched"),
        ("b", {"b": {"effect": "e"}}, "'b' is an effect"),
    ],
)
def test_what_cannot_be_matched_is_refused_with_its_place(match, other, said):
    with pytest.raises(SheetError, match=said) as caught:
        build_sheet(
            {
                "version": 1,
                "sheet": {"format": "64x36@25", "length": 4},
                "sources": {"a": {"ramp": True, "correct": {"match": match}}, **other},
                "effects": {"e": {"cues": [{"source": "a"}]}},
                "cues": [{"source": "a"}],
            }
        )
    assert "sources.a.correct.match" in str(caught.value)


def test_what_match_sets_is_not_said_beside_it():
    with pytest.raises(SheetError, match="is what match sets") as caught:
        sheet_of({"match": "b", "gain": 90, "gamma": 1.1}, b={"bars": 75})
    assert "sources.a.correct.gain" in str(caught.value)
