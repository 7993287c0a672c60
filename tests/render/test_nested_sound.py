"""The sound of another sheet that a source shows, where a row of sound names that source."""

import numpy as np
import pytest
from media.tones import counted, sine, write_sound

from keyer.errors import SheetError
from keyer.media.sound import SAMPLE_RATE, SoundReader
from keyer.rehearsal.guide import sound_digest
from keyer.render.clip import render_clip
from keyer.render.inputs import sheet_inputs
from keyer.render.sound import SheetMix, heard_frames, sheet_sound
from keyer.report.checks.check import check_sheet
from keyer.report.cue_sheets.cues import sound_words
from keyer.report.versions.changes import sheet_changes
from keyer.sheet.load import load_sheet, parse_sheet

INNER = """version = 1
[sheet]
format = "48x36@50"
length = "2s"
fade_out = {{ length = "1s" }}
[sources.a]
ramp = true
[[cues]]
source = "a"
[[sound]]
file = "ramp.wav"
at = "0.2s"
level = {level}
"""
HALF = -6.0206
OUTER = """version = 1
[sheet]
format = "64x36@25"
length = "2s"
[sources.bars]
bars = 75
[sources.ramp]
file = "ramp.png"
[sources.part]
effect = "part"
[sources.opener]
sheet = "inner.toml"
in = 20
out = 90
[effects.part]
cues = [{{ source = "bars" }}]
[[cues]]
source = "bars"
[[cues]]
source = "opener"
at = 5
[[sound]]
{sound}
"""
ROW = 'source = "opener"\nat = "Shot 2"\nin = "0.2s"\nlevel = -6.0206'


@pytest.fixture
def folder(tmp_path):
    write_sound(tmp_path / "ramp.wav", [counted(4 * SAMPLE_RATE), -counted(4 * SAMPLE_RATE)])
    (tmp_path / "inner.toml").write_text(INNER.format(level=HALF))
    return tmp_path


def outer(folder, row=ROW):
    return parse_sheet(OUTER.format(sound=row), folder=folder)


def heard(sheet):
    mix = SheetMix(sheet, sheet_sound(sheet)[0])
    try:
        return mix.until(sheet.length)
    finally:
        mix.close()


def test_it_is_heard_from_the_sources_in_to_its_out_as_the_other_sheet_fades(folder):
    """By hand, in seconds of the other sheet: begun at 0.4 + 0.2, a fade from 0.98 to 1.98, cut
    at 1.8; its file begins at 0.2. Two levels of a half are a quarter."""
    found = heard(outer(folder))
    place = np.arange(round(0.6 * SAMPLE_RATE), round(1.8 * SAMPLE_RATE)) / SAMPLE_RATE
    expected = 0.25 * counted(place.size, start=round(0.4 * SAMPLE_RATE))
    expected *= np.clip(1.98 - place, 0, 1)
    at, end = round(0.2 * SAMPLE_RATE), round(0.2 * SAMPLE_RATE) + place.size
    np.testing.assert_allclose(found[0, at:end], expected, atol=1e-5)
    np.testing.assert_array_equal(found[1], -found[0])
    assert not found[:, :at].any()
    assert not found[:, end:].any()
    assert heard_frames(outer(folder)) == [(5, 35)]


def test_a_mix_within_a_mix_does_not_depend_on_how_it_is_read(folder):
    sheet = outer(folder)
    whole, (stretches, _) = heard(sheet), sheet_sound(sheet)
    mix = SheetMix(sheet, stretches, 20_000)
    parts = [mix.read(997) for _ in range(40)]
    mix.close()
    np.testing.assert_array_equal(np.concatenate(parts, axis=1), whole[:, 20_000 : 20_000 + 39_880])


def test_three_sheets_deep(folder):
    (folder / "outer.toml").write_text(OUTER.format(sound=ROW))
    third = OUTER.replace("inner.toml", "outer.toml").replace("in = 20\nout = 90\n", "")
    sheet = parse_sheet(third.format(sound='source = "opener"'), folder=folder)
    np.testing.assert_allclose(heard(sheet), heard(outer(folder)), atol=1e-6)
    assert folder / "ramp.wav" in set(sheet_inputs(sheet))


def test_a_clip_of_the_sheet_has_it(folder):
    render_clip(outer(folder), folder / "a.mkv", codec="ffv1")
    reader = SoundReader(folder / "a.mkv")
    found = reader.read(2 * SAMPLE_RATE)
    reader.close()
    np.testing.assert_allclose(found, heard(outer(folder)), atol=2e-7)


def test_music_goes_down_under_it(folder):
    """By hand: heard from 0.2 s on; six frames before that it begins to go down by 12 dB, so at
    the sheet's beginning, one frame later, by 2 dB."""
    write_sound(folder / "ramp.wav", sine(4, level=0.25))
    write_sound(folder / "ones.wav", np.full(2 * SAMPLE_RATE, 0.5, np.float32))
    row = ROW + '\nname = "Opener"\n[[sound]]\nfile = "ones.wav"\nduck = { under = "Opener" }'
    sheet = outer(folder, row)
    music = SheetMix(sheet, sheet_sound(sheet)[0][1:])
    found = music.read(SAMPLE_RATE)[0]
    music.close()
    assert found[0] == pytest.approx(0.5 * 10 ** (-2 / 20), rel=1e-3)
    assert found[SAMPLE_RATE // 2] == pytest.approx(0.5 * 10 ** (-12 / 20), rel=1e-4)


def test_papers_and_verdicts_know_it(folder):
    sheet = outer(folder)
    assert sound_words(sheet, sheet.sounds[0]) == (
        "opener (inner.toml), from 00:00:00:05, -6.0206 dB"
    )
    subjects = {one.subject for one in check_sheet(sheet).findings if one.check == "sound.end"}
    assert subjects == {"sound[0] opener"}


def test_what_the_other_sheet_says_changes_what_is_heard(folder):
    (folder / "outer.toml").write_text(OUTER.format(sound=ROW))
    before = load_sheet(folder / "outer.toml")
    (folder / "inner.toml").write_text(INNER.format(level=-12))
    after = load_sheet(folder / "outer.toml")
    assert before.digest != after.digest
    assert sound_digest(before) != sound_digest(after)
    assert [str(one) for one in sheet_changes(before, after)] == [
        "Source opener: inner.toml says something else"
    ]


@pytest.mark.parametrize(
    ("row", "fault"),
    [
        ('file = "ramp.wav"\nsource = "opener"', r"sound\[0\]\.source.*one sound is one thing"),
        ("level = -3", r"sound\[0\].*needs a file, or a source that shows another sheet"),
        ('source = "opner"', "no source is called 'opner'. Did you mean 'opener'"),
        ('source = "ramp"', "must show another sheet; name the clip of 'ramp' by file"),
        ('source = "part"', "'part' is an effect, which has no sound of its own"),
        ('source = "bars"', "must show another sheet; 'bars' is a picture"),
        ('source = "opener"\n[sources.opener2]\nsheet = "silent.toml"', None),
        (
            'source = "opener2"\n[sources.opener2]\nsheet = "silent.toml"',
            "silent.toml has no sound",
        ),
        (
            'source = "opener2"\n[sources.opener2]\nsheet = "inner.toml"\nspeed = 2',
            "'opener2' runs at speed 2; sound runs at 1",
        ),
    ],
)
def test_faults(folder, row, fault):
    silent = INNER.format(level=0).split("[[sound]]")[0]
    (folder / "silent.toml").write_text(silent)
    if fault is None:
        assert outer(folder, row).sounds
        return
    with pytest.raises(SheetError, match=fault):
        outer(folder, row)


def test_a_sound_of_the_other_sheet_that_is_lost_is_told_where_it_is_wanted(folder):
    (folder / "inner.toml").write_text(INNER.format(level=0) + "in = 300\n")
    with pytest.raises(SheetError, match=r"sound\[0\].*in must lie within the file"):
        sheet_sound(outer(folder))
    (folder / "inner.toml").write_text(INNER.format(level=0))
    with pytest.raises(SheetError, match=r"in must lie within opener \(inner\.toml\), which lasts"):
        sheet_sound(outer(folder, 'source = "opener"\nin = 40'))
