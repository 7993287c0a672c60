"""A version without titles: everything else is what it was."""

import pytest
from report.spots import title

from keyer.render.clip import render_clip
from keyer.render.plan import Plan
from keyer.sheet.load import parse_sheet
from keyer.sheet.textless import textless

SHEET = """version = 1
[sheet]
format = "192x108@25"
length = 20
[sources.grey]
colour = "#707070"
[sources.box]
colour = "#305080"
[sources.inner]
effect = "inner"
{titles}
[[cues]]
source = "grey"
[[cues]]
source = "inner"
at = 5
[[cues]]
source = "trial"
at = 15
[[overlays]]
source = "box"
placement = {{ scale = 40 }}
[[overlays]]
source = "trial"
in = 2
[[effects.inner.cues]]
source = "box"
[[effects.inner.overlays]]
source = "trial"
"""


@pytest.fixture
def sheet(tmp_path):
    return parse_sheet(SHEET.format(titles=title(tmp_path)), folder=tmp_path)


def signatures(sheet):
    with Plan(sheet) as plan:
        return [plan.frame(index).signature for index in range(sheet.length)]


def test_titles_are_gone_everywhere_and_nothing_else(sheet):
    bare, taken = textless(sheet)
    assert taken == ("trial",)
    assert [overlay.source for overlay in bare.overlays] == ["box"]
    assert bare.effects["inner"].overlays == ()
    assert (bare.length, bare.cues) == (sheet.length, sheet.cues)
    with Plan(bare) as plan:
        assert plan.title("trial") is None
    before, after = signatures(sheet), signatures(bare)
    assert before[:2] == after[:2]  # before any title comes on
    assert all(one != other for one, other in zip(before[2:], after[2:], strict=True))


def test_a_sheet_without_titles_stays_as_it_is(tmp_path):
    text = SHEET.format(titles='[sources.trial]\ncolour = "#102030"\n')
    sheet = parse_sheet(text, folder=tmp_path)
    assert textless(sheet) == (sheet, ())


def test_a_clip_says_what_was_left_out(sheet, tmp_path):
    report = render_clip(sheet, tmp_path / "a.mkv", textless=True)
    assert "left out: trial." in report.notices
