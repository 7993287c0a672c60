"""The check, the storyboard and the cue sheet look into effects and other sheets."""

import csv
import io

import numpy as np
import pytest
from PIL import Image

from keyer.kinds.check_names import subject_name
from keyer.render.plan import Plan
from keyer.report.boards.story import story_frames
from keyer.report.checks.check import check_sheet
from keyer.report.cue_sheets.cue_table import cue_csv
from keyer.report.cue_sheets.cues import cue_sheet
from keyer.report.page.cue_page import cue_page
from keyer.report.words import inner_name
from keyer.sheet.load import parse_sheet

CARD = (
    'name = "Card"\n[fields.name]\nexample = "Ann"\n[styles.name]\nsize = 12\ncolour = "#FFFFFF"\n'
    '[[boxes]]\nid = "words"\nplace = "centre"\n[[boxes.texts]]\ntext = "${name}"\nstyle = "name"\n'
)
HEAD = """version = 1
[sheet]
format = "{format}"
length = {length}
[sources]
grey = {{ colour = "#505050" }}
dark = {{ colour = "#000000" }}
white = {{ colour = "#FFFFFF" }}
nothing = {{ clear = true }}
plate = {{ file = "plate.png" }}
plain = {{ file = "plain.png" }}
card = {{ title = {{ design = "card.toml", fields = {{ name = "Ann" }} }} }}
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    path = tmp_path_factory.mktemp("within")
    (path / "card.toml").write_text(CARD)
    plate = np.full((72, 128, 3), (20, 180, 40), np.uint8)
    plate[20:, 40:90] = (160, 60, 50)
    Image.fromarray(plate).save(path / "plate.png")
    Image.fromarray(np.full((72, 128, 3), 90, np.uint8)).save(path / "plain.png")
    (path / "small.toml").write_text(
        HEAD.format(format="64x36@50", length=100)
        + '[[cues]]\nsource = "grey"\n[[overlays]]\nname = "Ann"\nsource = "card"\nout = 80\n'
    )
    return path


def sheet_of(folder, text, length=25):
    return parse_sheet(HEAD.format(format="128x72@25", length=length) + text, folder=folder)


def found(sheet, check):
    return [one for one in check_sheet(sheet).findings if one.check == check]


ONE = 'one = { effect = "one" }\n'
TITLED = '[effects.one]\ncues = [{ source = "grey" }]\noverlays = [{ source = "card" }]\n'


def test_letters_are_as_large_as_the_boxes_in_which_they_stand(folder):
    """By hand: half of half of what they are alone; place and safe area are the spot's."""
    alone = sheet_of(folder, '[[cues]]\nsource = "grey"\n[[overlays]]\nsource = "card"\n')
    (whole,) = found(alone, "title.letter_height")
    deep = sheet_of(
        folder,
        'two = { effect = "two" }\n'
        + ONE
        + TITLED
        + '[effects.two]\ncues = [{ source = "grey" }]\n'
        'overlays = [{ source = "one", placement = { scale = 50, position = [30, 50] } }]\n'
        '[[cues]]\nsource = "grey"\n[[overlays]]\nsource = "two"\n'
        "placement = { scale = 50, position = [25, 50] }\n",
    )
    (small,) = found(deep, "title.letter_height")
    assert small.value == pytest.approx(whole.value / 4)
    assert small.subject == "effects.one.overlays[0] card"
    # the middle of the letters: 25 + (30 - 50) / 2 = 15 % across
    middle = small.place.left + small.place.width / 2
    assert middle == pytest.approx(15, abs=2)


def test_letters_in_another_sheet_are_fitted_with_it(folder):
    """64 x 36 in 128 x 72: as high in percent; of fifty a second 80 frames are 40, 1.6 s."""
    text = 'in = { sheet = "small.toml" }\n[[cues]]\nsource = "in"\n'
    sheet = sheet_of(folder, text, 50)
    alone = sheet_of(folder, '[[cues]]\nsource = "grey"\n[[overlays]]\nsource = "card"\n')
    (height,), (whole,) = (found(one, "title.letter_height") for one in (sheet, alone))
    assert height.value == pytest.approx(whole.value, rel=0.15)
    (reading,) = found(sheet, "title.reading_time")
    assert (reading.value, reading.first, reading.last) == (pytest.approx(1.6), 0, 39)
    assert subject_name(reading.subject) == 'Ann (sheet of "in", overlay 1)'


def test_time_to_read_is_what_the_spot_gives(folder):
    """25 frames of which a mix takes 5 and the next cue's mix the last 10: ten are left, 0.4 s."""
    mix = 'transition = {{ kind = "mix", length = {} }}\n'
    cues = (
        '[[cues]]\nsource = "grey"\n[[cues]]\nsource = "one"\nat = 5\n' + mix.format(5)
        + '[[cues]]\nsource = "grey"\nat = 20\n' + mix.format(10)
    )  # fmt: skip
    (one,) = found(sheet_of(folder, ONE + TITLED + cues, 50), "title.reading_time")
    assert (one.value, one.first, one.last) == (pytest.approx(0.4), 10, 19)


@pytest.mark.parametrize(("base", "verdict"), [("dark", "holds"), ("white", "fails")])
def test_contrast_is_that_with_what_is_seen_through_the_effect(folder, base, verdict):
    text = ONE + TITLED.replace("grey", "nothing") + f'[[cues]]\nsource = "{base}"\n'
    (one,) = found(sheet_of(folder, text + '[[overlays]]\nsource = "one"\n'), "title.contrast")
    assert one.verdict == verdict
    assert one.value == pytest.approx(21 if base == "dark" else 1, rel=0.02)


KEYED = (
    '[effects.one]\ncues = [{{ source = "grey" }}]\n'
    'overlays = [{{ name = "Box", source = "{}", key = {{ kind = "chroma", hue = "green" }} }}]\n'
    '[[cues]]\nsource = "grey"\n[[cues]]\nsource = "one"\nat = 5\n'
)


def test_keys_within_are_measured_while_they_are_on_air(folder):
    checks = {
        one.check: one
        for one in check_sheet(sheet_of(folder, ONE + KEYED.format("plate"))).findings
        if one.subject == "effects.one.overlays[0] Box"
    }
    assert {"coverage.holes", "coverage.edge_width", "spill.after_p95", "backing.noise"} <= set(
        checks
    )
    assert (checks["coverage.balance"].first, checks["coverage.balance"].last) == (5, 24)


def test_a_key_without_backing_within_is_found_and_left_out(folder):
    report = check_sheet(sheet_of(folder, ONE + KEYED.format("plain")))
    (one,) = (one for one in report.findings if one.check == "key.backing")
    assert (one.verdict, one.first, one.last) == ("fails", 5, 24)
    assert subject_name(one.subject) == 'Box (effect "one", overlay 1)'


FLASHING = (
    'one = { effect = "one", loop = true }\n[effects.one]\nlength = 4\n'
    'cues = [{ source = "white" }, { source = "dark", at = 2 }]\n'
    '[[cues]]\nsource = "grey"\n[[overlays]]\nsource = "one"\n'
    "placement = { scale = 60, position = [70, 60] }\n"
)


def test_a_flash_is_told_where_it_is_shown(folder):
    flashes = found(sheet_of(folder, FLASHING, 50), "flash.general")
    assert {one.verdict for one in flashes} == {"fails"}
    assert {subject_name(one.subject).partition(",")[0] for one in flashes} <= {
        'white (effect "one"',
        'dark (effect "one"',
    }


def test_black_that_an_effect_fades_to_is_meant_and_a_gap_in_it_is_not(folder):
    fade = '{ at = 8, transition = { kind = "fade", length = 5 } }, { source = "white", at = 16 }'
    gap = '{ source = "plain2", at = 8 }, { source = "white", at = 16 }'
    Image.fromarray(np.zeros((72, 128, 3), np.uint8)).save(folder / "black.png")
    for cues, verdict in ((fade, "holds"), (gap, "fails")):
        text = (
            'plain2 = { file = "black.png" }\n'
            + ONE
            + f'[effects.one]\ncues = [{{ source = "grey" }}, {cues}]\n[[cues]]\nsource = "one"\n'
        )
        (one,) = found(sheet_of(folder, text), "timing.black")
        assert one.verdict == verdict
    assert subject_name(one.subject) == 'plain2 (effect "one", cue 2)'


def test_an_overlay_that_is_never_seen_and_a_source_that_runs_out_within(folder):
    text = (
        ONE + 'late = { effect = "short" }\n'
        '[effects.short]\nlength = 6\ncues = [{ source = "grey" }]\n'
        '[effects.one]\ncues = [{ source = "late" }]\n'
        'overlays = [{ source = "card", placement = { position = [900, 50] } }]\n'
        '[[cues]]\nsource = "grey"\n[[cues]]\nsource = "one"\nat = 5\n'
    )
    report = check_sheet(sheet_of(folder, text))
    bad = {one.check: one for one in report.findings if one.verdict == "fails"}
    assert bad["overlay.seen"].subject == "effects.one.overlays[0] card"
    ending = bad["timing.source_end"]
    assert ending.subject == "effects.one.cues[0] late"
    assert (ending.value, ending.first, ending.last) == (14, 11, 24)  # by hand: 5 + 6 to the end


MOVING = (
    ONE + 'in = { sheet = "small.toml" }\n[effects.one]\nnote = "Two of them"\n'
    'cues = [{ source = "grey" }]\n'
    "[[effects.one.overlays]]\nname = 'Box'\nsource = 'white'\n"
    "placement = { border = 1, keyframes = [{ at = 0, scale = 20 }, "
    "{ at = 10, scale = 40, curve = 'ease' }, { at = 15, scale = 40, curve = 'ease' }, "
    "{ at = 25, scale = 60 }] }\n"
    '[[cues]]\nname = "Start"\nsource = "grey"\n[[cues]]\nname = "Pair"\nsource = "one"\nat = 10\n'
    'transition = { kind = "mix", length = 4 }\n[[cues]]\nname = "Other"\nsource = "in"\nat = 60\n'
)


def test_a_box_that_moves_in_an_effect_has_its_pictures(folder):
    story = story_frames(sheet_of(folder, MOVING, 100))
    told = {head: one.frame for one in story for head in one.heads}
    assert told["Effect one, Box begins to move"] == 10
    assert told["Effect one, Box is in"] == 14  # when the effect itself is fully there
    assert told["Effect one, Box rests"] == 20
    assert told["Effect one, Box moves on"] == 25
    assert told["Effect one, Box arrives"] == 35
    assert told["Sheet of in, Ann is in"] == 60


def test_the_cue_sheet_lists_what_is_done_within(folder):
    sheet = sheet_of(folder, MOVING, 100)
    with Plan(sheet) as plan:
        cues = cue_sheet(sheet, plan)
    rows = list(csv.DictReader(io.StringIO(cue_csv(cues))))
    told = [(row["number"], row["name"], row["in"], row["within"]) for row in rows]
    assert told == [
        ("1", "Start", "00:00:00:00", ""),
        ("2", "Pair", "00:00:00:10", ""),
        ("3", "Other", "00:00:02:10", ""),
        ("4", "grey", "00:00:00:00", "Effect one"),
        ("5", "Box", "00:00:00:00", "Effect one"),
        ("6", "grey", "00:00:00:00", "Sheet of in"),
        ("7", "Ann", "00:00:00:00", "Sheet of in"),
    ]
    moves = "frame 10: middle 50 %, 50 %, size 40 %; rests to frame 15; frame 25: "
    assert moves in rows[4]["placement"]
    assert rows[4]["placement"].endswith("size 60 % (ease)")
    assert cues.inner[0].on_air == ("00:00:00:10 to 00:00:02:10 in Pair",)
    page = cue_page(cues)
    assert "Effect one" in page
    assert "64x36@50, 100 frames at 50 frames a second" in page
    assert "Times count from its own beginning. Two of them" in page


def test_words_for_what_stands_within():
    assert inner_name("effects.two up.") == "Effect two up"
    assert inner_name("b: effects.x.") == "Effect x in sheet of b"
    assert inner_name("b: c: ") == "Sheet of c of b"
    assert subject_name("overlays[2] Name") == "Name"
    assert subject_name("cues[0] lake: evening") == "lake: evening"
    assert subject_name("b: effects.x.cues[1] Y") == 'Y (effect "x", sheet of "b", cue 2)'
    assert subject_name("media/clip.mp4") == "media/clip.mp4"
