"""The demo's sheet of moving backgrounds."""

from support import DEMO

from keyer.library import load_patterns
from keyer.library.looks import load_looks
from keyer.render.patterns import misfits
from keyer.sheet.load import parse_sheet
from keyer.sheet.source import Background


def test_it_shows_every_background_and_every_effect():
    text = (DEMO / "backgrounds.toml").read_text("utf-8")
    sheet = parse_sheet(text)
    contents = [sheet.sources[str(cue.source)].content for cue in sheet.cues]
    assert [content.look for content in contents if isinstance(content, Background)] == list(
        load_looks()
    )
    wipes = [move for _, move in sheet.transitions() if move.kind == "wipe"]
    patterns = [load_patterns().find(move.pattern) for move in wipes]
    assert {pattern.effect for pattern in patterns} == {"wipe", "push", "slide"}
    for move, pattern in zip(wipes, patterns, strict=True):
        assert list(misfits(move, pattern, overlay=False)) == []
