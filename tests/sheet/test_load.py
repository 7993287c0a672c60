import copy
from contextlib import suppress
from fractions import Fraction

import pytest
import tomlkit
from hypothesis import given
from sheet.making import BESIDE, SPOT, docs, documents, line_of

import keyer
from keyer.errors import InputFileError, SheetError
from keyer.kinds.formats import FORMATS
from keyer.sheet.effect import CUT, Keyframe, Pose
from keyer.sheet.load import build_sheet, load_sheet, parse_sheet
from keyer.sheet.source import Bars, Checkerboard, File, Gradient, PlainColour, Ramp


def faults(text, **options):
    """Refusals of a sheet by path."""
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, "spot.toml", **options)
    error = caught.value
    lines = str(error).splitlines()
    count = len(error.faults)
    assert lines[0] == f"spot.toml: {count} fault{'s' if count > 1 else ''}"
    assert lines[1:] == [str(fault) for fault in error.faults]
    return {fault.path: fault for fault in error.faults}


def refused(old, new, path, message, mark=None):
    """Check that one change of the spot is refused, alone, at its path and line."""
    assert old in SPOT
    text = SPOT.replace(old, new)
    found = faults(text)
    assert list(found) == [path], found
    assert message in found[path].message
    if mark is not None:
        assert found[path].line == line_of(text, mark)
    assert "\n" not in found[path].message


def test_the_spot_is_resolved_to_frames():
    sheet = parse_sheet(SPOT, "spot.toml", folder="job")
    assert (sheet.title, sheet.length, sheet.light) == ("Row before breakfast", 250, "video")
    assert sheet.format is FORMATS["1080p25"]
    assert [cue.at for cue in sheet.cues] == [0, 100, 225]
    assert [cue.transition.length for cue in sheet.cues] == [25, 25, 25]
    assert [cue.source for cue in sheet.cues] == ["lake", "jetty", None]
    wipe = sheet.cues[1].transition
    assert (wipe.kind, wipe.pattern) == ("wipe", "clockWipe/clockwiseTwelve")
    assert (wipe.edge.soft, wipe.edge.border, wipe.edge.border_colour) == (3, 1, (1, 0, 0))
    over = sheet.overlays[0]
    assert (over.start, over.stop, over.enter.length, over.leave) == (50, 200, 10, CUT)
    assert (over.key.kind, over.key.hue, over.key.clip_percent) == ("chroma", "green", None)
    assert over.keyframes == (
        Keyframe(0, Pose(30, 50, 80, 1)),
        Keyframe(50, Pose(70, 50, 80, 1)),
    )
    assert str(sheet.sources["lake"].content.path) == "job/media/lake.png"


def test_the_public_name_loads_a_file(tmp_path):
    (tmp_path / "spot.toml").write_text("\ufeff" + SPOT, encoding="utf-8")
    sheet = keyer.load_sheet(tmp_path / "spot.toml")
    assert sheet == parse_sheet(SPOT, folder=tmp_path)
    assert sheet.name == "spot.toml"
    assert sheet.sources["jetty"].content.path == tmp_path / "media/jetty.mp4"


@pytest.mark.parametrize("text", docs(), ids=range(len(docs())))
def test_every_sheet_of_the_reference_page_holds(text):
    assert parse_sheet(text, folder=BESIDE).cues


@given(documents())
def test_any_sheet_written_and_read_is_the_same_sheet(data):
    before = copy.deepcopy(data)
    sheet = build_sheet(data)
    assert data == before
    again = parse_sheet(tomlkit.dumps(data))
    assert again == sheet
    assert again.digest == sheet.digest
    assert parse_sheet(sheet.text) == sheet


def test_sources_of_every_kind():
    kinds = """
        [sources]
        a = { file = "a.png", fit = "none" }
        b = { colour = "#00FF00" }
        c = { gradient = { first = "#000", second = "#FFF", angle = 0 } }
        d = { bars = 75 }
        e = { ramp = true }
        f = { checkerboard = {} }
        g = { file = "g.mp4", in = 10, out = "2s", at = "1s", speed = 0.1, loop = true }
    """
    sheet = parse_sheet(SPOT.replace("[sources.lake]", kinds + "\n[sources.lake]"), folder="job")
    found = {name: source.content for name, source in sheet.sources.items()}
    assert isinstance(found["a"], File)
    assert found["b"] == PlainColour((0, 1, 0))
    assert found["c"] == Gradient((0, 0, 0), (1, 1, 1), 0)
    assert found["d"] == Bars(75)
    assert found["e"] == Ramp()
    assert isinstance(found["f"], Checkerboard)
    assert sheet.sources["a"].fit == "none"
    clip = sheet.sources["g"]
    assert clip.speed == Fraction(1, 10)
    assert (clip.at, clip.loop, clip.trim) == (25, True, (10, "2s"))


def test_a_fault_of_every_layer_is_reported_at_once():
    text = SPOT
    for old, new in (
        ('title = "Row', 'titl = "Row'),
        ('source = "jetty"', 'source = "jety"'),
        ('"fade", length = 25', '"faed", length = 25'),
        ("border = 1", "border = 900"),
        ('out = "8s"', 'out = "8.01s"'),
        ('hue = "green"', 'hue = "gren"'),
        ("scale = 80", 'scale = "big"'),
        ("position = [30, 50]", "position = [30]"),
        ('file = "media/lake.png"', 'fyle = "media/lake.png"'),
    ):
        assert old in text
        text = text.replace(old, new)
    found = faults(text)
    assert {path: fault.line for path, fault in found.items()} == {
        "sheet.titl": line_of(text, "titl"),
        "sources.lake.fyle": line_of(text, "fyle"),
        "cues[0].transition.kind": line_of(text, "faed"),
        "cues[1].source": line_of(text, "jety"),
        "cues[1].transition.border": line_of(text, "900"),
        "overlays[0].out": line_of(text, "8.01s"),
        "overlays[0].key.hue": line_of(text, "gren"),
        "overlays[0].placement.scale": line_of(text, "big"),
        "overlays[0].placement.keyframes[0].position": line_of(text, "[30]"),
    }
    assert "Did you mean 'title'?" in found["sheet.titl"].message
    assert "Did you mean 'jetty'?" in found["cues[1].source"].message
    assert "Did you mean 'fade'?" in found["cues[0].transition.kind"].message
    assert '"200f" (00:00:08:00)' in found["overlays[0].out"].message
    assert "a list of 2, got a list of 1" in (
        found["overlays[0].placement.keyframes[0].position"].message
    )


@pytest.mark.parametrize(
    ("old", "new", "path", "message"),
    [
        ("version = 1", "", "version", "is missing"),
        ("version = 1", "version = 2", "version", "written for a later version"),
        ("version = 1", "version = 0", "version", "must be 1"),
        ("version = 1", 'version = "1"', "version", "must be 1"),
        ("version = 1", "version = true", "version", "must be 1"),
        ('format = "1080p25"', "", "sheet.format", "is missing"),
        ('format = "1080p25"', 'format = "1080p26"', "sheet.format", "1080p25"),
        ('format = "1080p25"', 'format = "1080i25"', "sheet.format", "progressive"),
        ('length = "10s"', "", "sheet.length", "is missing"),
        ('length = "10s"', "length = 0", "sheet.length", "at least one frame"),
        ('length = "10s"', "length = true", "sheet.length", "must be a time"),
        ('length = "10s"', "length = nan", "sheet.length", "whole number of frames"),
        ('length = "10s"', "length = -5", "sheet.length", "negative"),
        ('length = "10s"', 'length = "ten"', "sheet.length", "must be a time"),
        ('length = "10s"', "length = 00:00:10", "sheet.length", "in quotes"),
        ('length = "10s"', 'length = "10s"\nlight = "linera"', "sheet.light", "'linear'?"),
        ('length = "10s"', 'length = "10s"\nstart = "x"', "sheet.start", "must be a time"),
        ('file = "media/lake.png"', "", "sources.lake", "needs one of file, colour"),
        ('file = "media/lake.png"', 'file = " "', "sources.lake.file", "must name a file"),
        ('file = "media/lake.png"', 'bars = 75\nramp = true', "sources.lake.ramp", "one thing"),
        ('file = "media/lake.png"', "bars = 80", "sources.lake.bars", "75 or 100"),
        ('file = "media/lake.png"', "ramp = false", "sources.lake.ramp", "must be true"),
        ('file = "media/lake.png"', 'colour = "red"', "sources.lake.colour", "#RRGGBB"),
        ('file = "media/lake.png"', "bars = 75\nloop = true", "sources.lake.loop",
         "belongs to clips"),
        ('file = "media/lake.png"', "bars = 75\nin = 3", "sources.lake.in", "belongs to clips"),
        ('file = "media/lake.png"', "gradient = {second='#fff'}",
         "sources.lake.gradient.first", "is missing"),
        ('in = "00:00:02:00"', 'in = "later"', "sources.jetty.in", "must be a time"),
        ('in = "00:00:02:00"', "speed = 0", "sources.jetty.speed", "[0.01, 100]"),
        ('in = "00:00:02:00"', "speed = nan", "sources.jetty.speed", "[0.01, 100]"),
        ('in = "00:00:02:00"', "loop = true\nfreeze = true", "sources.jetty.freeze", "either"),
        ('in = "00:00:02:00"', 'fit = "cove"', "sources.jetty.fit", "'cover'?"),
        ("soft = 3", "soft = inf", "transitions.house.soft", "[0, 100]"),
        ("soft = 3", "soft = true", "transitions.house.soft", "must be a number"),
        ("soft = 3", 'colour = "#000"', "transitions.house.colour", "belongs to fade"),
        ("soft = 3", "rotate = 1e9", "transitions.house.rotate", "[-3600, 3600]"),
        ("soft = 3", "position = [50, 400]", "transitions.house.position", "[-50, 150]"),
        ("soft = 3", "position = [1, 2, 3]", "transitions.house.position", "a list of 2"),
        ("soft = 3", "repeat = [0, 1]", "transitions.house.repeat", "[1, 32]"),
        ("soft = 3", "repeat = [1.5, 1]", "transitions.house.repeat[0]", "whole number"),
        ("soft = 3", 'modulate = {wave="sin"}', "transitions.house.modulate.wave", "'sine'?"),
        ("soft = 3", "modulate = {phase=2}", "transitions.house.modulate.phase", "[-1, 1]"),
        ("soft = 3", "end_progress = -1", "transitions.house.end_progress", "[0, 1]"),
        ("soft = 3", "start_progress = 0.6\nend_progress = 0.5",
         "transitions.house.end_progress", "[0.6, 1]"),
        ('pattern = "clockWipe/clockwiseTwelve"', "", "cues[1].transition", "pattern is missing"),
        ('pattern = "clockWipe/clockwiseTwelve"', "pattern = true",
         "transitions.house.pattern", "name or its code"),
        ('use = "house"', 'use = "huose"', "cues[1].transition.use", "'house'?"),
        ('use = "house"', 'use = "house", kind = "mix"', "cues[1].transition.kind", "stay 'wipe'"),
        ('use = "house"', 'use = "house", colour = "#000"',
         "cues[1].transition.colour", "belongs to fade"),
        ('length = "1s", border', "length = 0, border", "cues[1].transition.length",
         "at least one"),
        ('length = "1s", border', "length = 126, border",
         "cues[1].transition.length",
         "126 frames from frame 100 (00:00:04:00) run past the next cue"),
        ('"fade", length = 25', '"mix", length = 25', "cues[0].transition.kind",
         "no picture before"),
        ('"fade", length = 25', '"cut", length = 25', "cues[0].transition.length",
         "cannot be used with"),
        ('kind = "fade", length = 25', "length = 25", "cues[0].transition", "kind is missing"),
        ('kind = "fade", length = "1s"', 'kind = "mix"', "cues[2].transition.kind",
         "without source"),
        ('transition = { kind = "fade", length = "1s" }', "", "cues[2]", "needs a source"),
        ('kind = "fade", length = "1s"', 'kind = "fade", length = "2s"',
         "cues[2].transition.length", "25 frames fit"),
        ('at = "4s"', 'at = "9s"', "cues[1].at", "must come before the next cue"),
        ('at = "9s"', 'at = "10s"', "cues[2].at", "must come before the end of the sheet"),
        ('source = "lake"', "", "cues[0]", "first cue needs a source"),
        ('source = "lake"', 'source = "lake"\nat = 5', "cues[0].at", "must be at 0"),
        ('source = "rower"', "", "overlays[0].source", "is missing"),
        ('source = "rower"', 'source = "row"', "overlays[0].source", "'rower'?"),
        ('in = "2s"', 'in = "8s"', "overlays[0].in", "must come before its out"),
        ('out = "8s"', 'out = "11s"', "overlays[0].out", "past the end of the sheet"),
        ("length = 10", "length = 151", "overlays[0]", "151 frames to come"),
        ('kind = "mix", length = 10', 'kind = "additive"',
         "overlays[0].transition_in.kind", "cut or mix or wipe"),
        ('kind = "chroma"', 'kind = "croma"', "overlays[0].key.kind", "'chroma'?"),
        ('kind = "chroma", ', "", "overlays[0].key", "kind is missing"),
        ('hue = "green"', "hue = 400", "overlays[0].key.hue", "[-360, 360]"),
        ('hue = "green"', "hue = true", "overlays[0].key.hue", "or degrees"),
        ('hue = "green"', "acceptance = 5", "overlays[0].key.acceptance", "[10, 180]"),
        ('hue = "green"', "clip = 96", "overlays[0].key.clip", "[0, 95]"),
        ('hue = "green"', "gain = 0", "overlays[0].key.gain", "[0.1, 50]"),
        ('hue = "green"', "spill = -1", "overlays[0].key.spill", "[0, 100]"),
        ('hue = "green"', "invert = true", "overlays[0].key.invert",
         "belongs to luminance or linear"),
        ('kind = "chroma", hue = "green"', 'kind = "linear", source = "x"',
         "overlays[0].key.source", "no source is called 'x'"),
        ("scale = 80", "scale = 2000", "overlays[0].placement.scale", "[0, 1000]"),
        ("scale = 80", "crop = [60, 0, 40, 0]", "overlays[0].placement.crop", "leaves nothing"),
        ("scale = 80", "crop = [0, 0, 0, 101]", "overlays[0].placement.crop", "[0, 100]"),
        ("scale = 80", "position = [nan, 0]", "overlays[0].placement.position", "[-1000, 1000]"),
        ('at = "2s", position', "at = 0, position",
         "overlays[0].placement.keyframes[1].at", "in order of time"),
        ('at = "2s", position', "at = 151, position",
         "overlays[0].placement.keyframes[1].at", "past the 150 frames"),
        ('at = "2s", position', "opacity = 2, at = 50, position",
         "overlays[0].placement.keyframes[1].opacity", "[0, 1]"),
        ("keyframes = [", "keyframes = [ 3,", "overlays[0].placement.keyframes[0]",
         "must be a table"),
        ("[[overlays]]", "[overlays]", "overlays", "must be a list"),
        ('key = {', 'opacity = 1.5\nkey = {', "overlays[0].opacity", "[0, 1]"),
    ],
)  # fmt: skip
def test_each_fault_is_refused_alone_with_its_path(old, new, path, message):
    refused(old, new, path, message)


def test_a_table_under_a_wrong_name_is_told_from_both_sides():
    found = faults(SPOT.replace("[sheet]", "[shete]"))
    assert "Did you mean 'sheet'?" in found["shete"].message
    assert "is missing" in found["sheet"].message
    assert list(found) == ["sheet", "shete"]


def test_a_sheet_without_cues_or_with_none_is_refused():
    head = SPOT.partition("[[cues]]")[0]
    assert "is missing" in faults(head)["cues"].message
    assert "at least one" in faults("cues = []\n" + head)["cues"].message
    assert "must be a table" in faults('sheet = "x"\nversion = 1\ncues = []')["sheet"].message


@pytest.mark.parametrize(
    ("text", "line", "message"),
    [
        ("version = 1\nlength = 10s\n", 2, "is not TOML"),
        ("version = 1\nversion = 1\n", 2, "is not TOML"),
        ("version = 1\nx = [1,\n", 3, "is not TOML"),
        ("a = \0", 1, "is not TOML"),
        ("x = " + "9" * 5000, 1, "is not TOML"),
    ],
)
def test_what_is_no_toml_is_refused_by_line(text, line, message):
    with pytest.raises(SheetError) as caught:
        parse_sheet(text, "spot.toml")
    (fault,) = caught.value.faults
    assert fault.line == line
    assert message in fault.message
    assert len(str(caught.value).splitlines()) == 2


def test_deep_nesting_is_refused():
    with pytest.raises(SheetError, match="nested too deeply"):
        parse_sheet("x = " + "[" * 20_000 + "]" * 20_000)


def test_values_of_any_wrong_kind_are_refused_and_never_crash():
    values = ["1", '"x"', "true", "nan", "inf", "[]", "[[1]]", "{}", "{a=1}", "07:32:00", "-1"]
    for row in SPOT.splitlines():
        key, equals, _ = row.partition(" = ")
        if not equals or row.startswith("#") or key.lstrip().startswith("{"):
            continue
        for value in values:
            text = SPOT.replace(row, f"{key} = {value}") if "[" not in row else SPOT
            with suppress(SheetError):
                assert parse_sheet(text).cues


def test_a_bad_format_brings_no_complaints_about_times():
    text = SPOT.replace("1080p25", "1080p26").replace('"4s"', '"4.01s"')
    assert list(faults(text)) == ["sheet.format"]


def test_files_that_are_no_sheets(tmp_path):
    for path, says in (
        (tmp_path / "missing.toml", "no such file"),
        (tmp_path, "not a file, but a folder"),
        (tmp_path / "bad\0name", "cannot be read"),
    ):
        with pytest.raises(InputFileError, match=says) as caught:
            load_sheet(path)
        assert "\n" not in str(caught.value)
    (tmp_path / "picture.toml").write_bytes(b"\x89PNG\r\n\x1a\n")
    with pytest.raises(InputFileError, match="TOML text in UTF-8"):
        load_sheet(tmp_path / "picture.toml")
    (tmp_path / "empty.toml").write_bytes(b"")
    with pytest.raises(SheetError, match="version: is missing"):
        load_sheet(tmp_path / "empty.toml")
    with (tmp_path / "huge.toml").open("wb") as file:
        file.truncate(9_000_000)
    with pytest.raises(InputFileError, match="larger than any"):
        load_sheet(tmp_path / "huge.toml")


def test_plain_data_has_faults_without_lines():
    with pytest.raises(SheetError) as caught:
        build_sheet({"version": 1, "sheet": {"format": "1080p25", "length": 2}, "cues": [{}]})
    assert [str(fault) for fault in caught.value.faults] == [
        "cues[0]: the first cue needs a source."
    ]
