"""Edit lists, read back by a reader of the standard's own rules."""

import pytest
from media.made import write_clip
from report.cue_sheets.edl import frames, read_edl
from report.made_spot import write_spot
from support import reference

from keyer.cli.main import perform
from keyer.errors import SettingError
from keyer.render.plan import Plan
from keyer.report.cue_sheets.cues import cue_sheet
from keyer.report.cue_sheets.edit_list import edit_list
from keyer.sheet.load import build_sheet

WIPES = reference("wipes")


def listed(sheet, count=25):
    with Plan(sheet) as plan:
        return read_edl(edit_list(cue_sheet(sheet, plan), plan).encode("ascii"), count)


def plain(cues, rate="25", length=200, folder=".", sources=(), **sheet):
    colours = {
        "a": {"colour": "#203040"},
        "b": {"colour": "#405060"},
        "night": {"colour": "#000000"},
    }
    return build_sheet(
        {
            "version": 1,
            "sheet": {"format": f"64x36@{rate}", "length": length, **sheet},
            "sources": {**colours, **dict(sources)},
            "cues": cues,
        },
        folder=folder,
    )


def shown(found):
    return [(one.number, one.reel, one.edit, one.length, one.record) for one in found.statements]


def test_a_spot_of_cuts_a_fade_and_a_wipe(tmp_path, capfd):
    out = tmp_path / "x.edl"
    assert perform(["cues", str(write_spot(tmp_path / "spot")), "-o", str(out)]) == 0
    found = read_edl(out.read_bytes(), 25)
    assert (found.title, found.drop) == ("Row before breakfast", False)
    assert shown(found) == [
        (1, "AX", "C", 0, (0, 0)),  # a fade up from the colour #102030
        (1, "LAKE", "D", 10, (0, 25)),
        (2, "LAKE", "C", 0, (25, 25)),
        (2, "JETTY", "W201", 20, (25, 75)),  # SMIL clockWipe/clockwiseTwelve
        (3, "LAKE", "C", 0, (75, 100)),
    ]
    assert "REEL AX IS COLOUR: #102030" in found.notes
    assert "OVER IT 00:00:02:00 TO 00:00:03:00: rower, rower" in found.notes
    assert "Soft edge 2 %, Border 3 % #FFC83D" in found.notes
    assert perform(["cues", "none.toml", "-o", str(tmp_path / "x.txt")]) == 2
    assert ".html, .csv or .edl" in capfd.readouterr().err


def test_wipes_are_told_by_the_codes_of_the_standard():
    """Every pattern with a code of SMPTE 258M is told by it, as the W3C's table has it."""
    codes = {}
    for row in WIPES["wipe"]:
        if row.get("code"):
            codes[f"{row['type']}/{row['subtype']}"] = int(row["code"])
    chosen = list(codes.items())[::9]
    cues = [{"source": "a"}]
    for number, (pattern, _) in enumerate(chosen):
        move = {"kind": "wipe", "pattern": pattern, "length": 5}
        cues.append({"source": "ba"[number % 2], "at": 10 * (number + 1), "transition": move})
    found = listed(plain(cues, length=10 * len(cues)))
    told = [one.edit for one in found.statements if one.edit.startswith("W")]
    assert len(chosen) > 8
    assert told == [f"W{code:03d}" for _, code in chosen]


def test_drop_frame_numbers_are_those_of_the_clock():
    cues = [{"source": "a"}, {"source": "b", "at": 900}]
    sheet = plain(cues, "29.97", 1900, start="00:00:30;00")
    found = listed(sheet, 30)
    assert found.drop
    # by hand: 900 frames after 00:00:30;00 is 00:01:00;02, the 1800th frame of the day
    assert found.statements[1].record == (1800, 2800)
    text = edit_list_text(sheet)
    assert "00:01:00;02" in text
    assert "00:01:00;00" not in text
    still = plain(cues, "29.97", 1900, start="00:00:30:00")
    assert not listed(still, 30).drop


def edit_list_text(sheet):
    with Plan(sheet) as plan:
        return edit_list(cue_sheet(sheet, plan), plan)


def test_black_fades_and_what_fades_as_a_whole():
    dip = {"kind": "fade", "length": 11, "colour": "#000000"}
    cues = [{"source": "a"}, {"source": "b", "at": 50, "transition": dip}]
    whole = {"length": 10, "colour": "#000000"}
    found = listed(plain(cues, length=100, fade_in=whole, fade_out=whole))
    assert shown(found) == [
        (1, "BL", "C", 0, (0, 0)), (1, "A", "D", 10, (0, 50)),
        (2, "A", "C", 0, (50, 50)), (2, "BL", "D", 5, (50, 55)),
        (3, "BL", "C", 0, (55, 55)), (3, "B", "D", 6, (55, 90)),
        (4, "B", "C", 0, (90, 90)), (4, "BL", "D", 10, (90, 100)),
    ]  # fmt: skip
    assert [one[1] for one in shown(listed(plain([{"source": "night"}])))] == ["BL"]


def test_reels_are_short_plain_and_not_alike():
    names = ["Früh am See", "frueh-am-see-2", "fruhamsee", "BL", "ax", "湖"]
    sources = {name: {"colour": "#203040"} for name in names}
    cues = [{"source": name, "at": 10 * n} for n, name in enumerate(names)]
    found = listed(plain(cues, sources=sources))
    reels = [one.reel for one in found.statements]
    assert reels == ["FRUHAMSE", "FRUEHAMS", "FRUHAMS2", "BL2", "AX2", "REEL"]
    assert "REEL REEL IS ?: plain colour" in found.notes


def test_source_times_are_those_of_the_file(tmp_path):
    write_clip(tmp_path / "n.mp4", frames=100)
    sources = {
        "n": {"file": "n.mp4", "in": 20},
        "half": {"file": "n.mp4", "in": 10, "speed": 0.5},
    }
    mix = {"kind": "mix", "length": 8}
    cues = [{"source": "n"}, {"source": "half", "at": 30, "transition": mix}]
    found = listed(plain(cues, length=60, folder=tmp_path, sources=sources))
    first, came, taken = found.statements
    assert first.source == (20, 50)
    assert came.source == (50, 50)  # where the first one is when the mix begins
    assert taken.source == (10, 25)  # 30 frames at half speed
    assert found.speeds == {"HALF": 12.5}


@pytest.mark.parametrize(
    ("sheet", "says"),
    [
        (plain([{"source": "a"}], "50"), "at most 30 frames a second, got 50"),
        (
            plain(
                [{"source": "a"},
                 {"source": "b", "at": 10, "transition": {"kind": "mix", "length": 1000}}],
                length=1100,
            ),
            "at most 999 frames of a transition, got 1000",
        ),
    ],
)  # fmt: skip
def test_what_the_form_cannot_say_is_refused(sheet, says):
    with pytest.raises(SettingError, match=says):
        edit_list_text(sheet)


def test_the_reader_refuses_what_the_standard_does():
    """So that the tests above cannot pass by a lenient reader."""
    head, event = b"TITLE: a\r\nFCM: NON-DROP FRAME\r\n", b"001  A        V     C        "
    good = head + event + b"00:00:00:00 00:00:01:00 00:00:00:00 00:00:01:00\r\n"
    read_edl(good, 25)
    for bad in (
        good.replace(b"\r\n", b"\n"),
        good.replace(b"001  A  ", b"001  a  "),
        good.replace(b"00:00:01:00\r", b"00:00:00:25\r"),
        good.replace(b"00:00:01:00\r", b"00:00:01;00\r"),
        good.replace(b"00:00:01:00\r", b"00:00:02:00\r"),
    ):
        with pytest.raises(AssertionError):
            read_edl(bad, 25)
    with pytest.raises(AssertionError, match="left out"):
        frames("00:01:00;01", 30, drop=True)
