"""What has changed, in words: by who it concerns, with the value before and now."""

import pytest

from keyer.report.versions.changes import sheet_changes
from keyer.sheet.load import parse_sheet

SHEET = """version = 1
[variables]
accent = "#FFC83D"
[sheet]
format = "64x36@25"
length = "4s"
[sources]
a = { colour = "#102030" }
b = { bars = 75 }
[transitions.house]
kind = "wipe"
pattern = 1
length = 10
border = 1.2
border_colour = "${accent}"
[[cues]]
source = "a"
[[cues]]
name = "Second"
source = "b"
at = "1s"
transition = { use = "house" }
[[overlays]]
name = "Box"
source = "b"
in = 10
out = 40
placement = { position = [50, 50], scale = 40 }
"""


def said(*swaps: tuple[str, str]) -> list[str]:
    text = SHEET
    for old, new in swaps:
        assert old in text
        text = text.replace(old, new, 1)
    return [str(change) for change in sheet_changes(parse_sheet(SHEET), parse_sheet(text))]


def test_a_sheet_has_not_changed_from_itself():
    assert said() == []


@pytest.mark.parametrize(
    "swap",
    [
        ('at = "1s"', "at = 25"),
        ('at = "1s"', 'at = "00:00:01:00"'),
        ('"4s"', "100"),
        ("border = 1.2", "border = 1.20"),
        ('"#FFC83D"', '"#ffc83d"'),
        ("in = 10\nout = 40", "out = 40\nin = 10"),
        ('transition = { use = "house" }', 'transition = { use = "house", soft = 0.0 }'),
    ],
)
def test_what_is_merely_written_otherwise_is_no_change(swap):
    assert said(swap) == []


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ('at = "1s"', 'at = "1.2s"', "Shot 2, Second: starts 00:00:01:00 → 00:00:01:05"),
        ("border = 1.2", "border = 1.6", "Shot 2, Second: transition, border 1.2 % → 1.6 %"),
        ("length = 10", "length = 12", "Shot 2, Second: transition, length 10 frames → 12 frames"),
        ('"4s"', '"5s"', "Length 00:00:04:00 → 00:00:05:00"),
        ("scale = 40", "scale = 50", "Overlay 1, Box: placement, scale 40 % → 50 %"),
        ("in = 10", "in = 15", "Overlay 1, Box: in 00:00:00:10 → 00:00:00:15"),
        ("bars = 75", "bars = 100", "Source b: bars 75 % → 100 %"),
        ('"#FFC83D"', '"#112233"', "Shot 2, Second: transition, border colour #FFC83D → #112233"),
        ("out = 40\n", 'out = 40\nkey = { kind = "luminance" }\n', "Overlay 1, Box: key added"),
    ],
)
def test_one_change_is_one_line(old, new, words):
    assert said((old, new)) == [words]


def test_a_title_of_the_spot_is_a_text_and_no_table():
    assert said(('format = "64', 'title = "The lake"\nformat = "64')) == ["Title none → The lake"]


def test_a_row_put_in_is_told_alone():
    new = '[[cues]]\nname = "Between"\nsource = "a"\nat = 10\n[[cues]]\nname = "Second"'
    assert said(('[[cues]]\nname = "Second"', new)) == ["Shot 2, Between: is new, from 00:00:00:10"]


def test_a_row_taken_out_is_told_alone():
    start = SHEET.index("[[overlays]]")
    old, new = parse_sheet(SHEET), parse_sheet(SHEET[:start])
    assert [str(one) for one in sheet_changes(old, new)] == ["Overlay 1, Box: is gone"]


WITH_EFFECT = SHEET.replace(
    "[transitions.house]",
    """c = { effect = "box" }
[effects.box]
length = 20
cues = [{ source = "a", transition = { kind = "fade", length = 5 } }]
[transitions.house]""",
)


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        (
            "length = 5 }",
            "length = 6 }",
            "Effect box, Shot 1, a: transition, length 5 frames → 6 frames",
        ),
        ("length = 20", "length = 25", "Effect box: length 20 frames → 25 frames"),
        ('"4s"\n', '"4s"\nfade_out = { length = "1s" }\n', "Fade out added"),
    ],
)
def test_effects_and_the_whole_fades_are_told(old, new, words):
    changed = parse_sheet(WITH_EFFECT.replace(old, new))
    assert [str(one) for one in sheet_changes(parse_sheet(WITH_EFFECT), changed)] == [words]


def test_a_fade_of_the_whole_is_told_by_its_parts():
    one = SHEET.replace('"4s"\n', '"4s"\nfade_out = { length = "1s" }\n')
    other = SHEET.replace('"4s"\n', '"4s"\nfade_out = { length = 20, colour = "#FFFFFF" }\n')
    found = [str(c) for c in sheet_changes(parse_sheet(one), parse_sheet(other))]
    assert found == ["Fade out, length 25 frames → 20 frames", "Fade out, colour #000000 → #FFFFFF"]


def test_another_sheet_that_says_something_else_is_told(tmp_path):
    (tmp_path / "other.toml").write_text(SHEET, encoding="utf-8")
    outer = SHEET.replace("a = { colour", 'c = { sheet = "other.toml" }\na = { colour')
    before = parse_sheet(outer, folder=tmp_path)
    (tmp_path / "other.toml").write_text(
        SHEET.replace("scale = 40", "scale = 50"), encoding="utf-8"
    )
    after = parse_sheet(outer, folder=tmp_path)
    assert [str(c) for c in sheet_changes(before, after)] == [
        "Source c: other.toml says something else"
    ]


def test_of_a_titles_fields_only_what_changed_is_told():
    fields = '{ name = "Tam", role = "Trues" }'
    title = f't.title = {{ design = "d.toml", fields = {fields} }}\na = {{ colour'
    old = SHEET.replace("a = { colour", title)
    new = old.replace("Tam", "Tem")
    found = [str(c) for c in sheet_changes(parse_sheet(old), parse_sheet(new))]
    assert found == ["Source t: title, name “Tam” → “Tem”"]


def test_what_is_asked_of_sound_is_told_by_its_parts():
    text = (
        'version = 1\n[sheet]\nformat = "64x36@25"\nlength = 100\n'
        "loudness = { target = -24.0 }\n[sources.a]\nramp = true\n"
        '[[cues]]\nsource = "a"\n[[sound]]\nname = "Bed"\nfile = "bed.wav"\n'
        'duck = { under = "Voice", down = "0.2s" }\n'
        '[[sound]]\nname = "Voice"\nfile = "voice.wav"\n'
    )
    new = text.replace("-24.0", "-23.0").replace('"0.2s"', '"0.4s", level = -14.0')
    assert [str(one) for one in sheet_changes(parse_sheet(text), parse_sheet(new))] == [
        "Loudness, target -24 LUFS → -23 LUFS",
        "Sound 1, Bed: duck, down 5 frames → 10 frames",
        "Sound 1, Bed: duck, level -12 dB → -14 dB",
    ]
