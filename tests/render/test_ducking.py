"""Music under a voice: in the mix of a sheet, in what is said of it, in what is refused."""

import re
from pathlib import Path

import numpy as np
import pytest
from media.tones import sine, write_sound

from keyer.errors import SheetError
from keyer.media.sound import SAMPLE_RATE
from keyer.render.sound import SheetMix, duck_words, heard_frames, sheet_sound, sound_wave
from keyer.sheet.load import parse_sheet

HEAD = """version = 1
[sheet]
format = "64x36@25"
length = "6s"
[sources.a]
ramp = true
[[cues]]
source = "a"
[[sound]]
name = "Bed"
file = "bed.wav"
level = -6.0206
duck = {{ {duck} }}
[[sound]]
name = "Voice"
file = "voice.wav"
at = "1s"
"""
UNDER = 'under = "Voice", level = -12.0412, down = "0.2s", up = "0.4s"'


@pytest.fixture
def folder(tmp_path):
    write_sound(tmp_path / "bed.wav", np.full(6 * SAMPLE_RATE, 0.5, np.float32))
    voice = np.zeros(3 * SAMPLE_RATE, np.float32)
    voice[SAMPLE_RATE : 2 * SAMPLE_RATE] = sine(1, level=0.25)
    write_sound(tmp_path / "voice.wav", voice)
    return tmp_path


def sheet_of(folder, duck=UNDER, more=""):
    return parse_sheet(HEAD.format(duck=duck) + more, folder=folder)


def bed(sheet):
    stretches, _ = sheet_sound(sheet)
    mix = SheetMix(sheet, stretches[:1])
    block = mix.read(6 * SAMPLE_RATE)
    mix.close()
    return block[0]


def test_music_is_down_while_the_voice_speaks(folder):
    """By hand: half of a half, and a quarter of that from 2 to 3 s, where the voice is heard."""
    found = bed(sheet_of(folder))
    rate = SAMPLE_RATE
    assert np.allclose(found[: round(1.79 * rate)], 0.25, atol=1e-4)
    assert np.allclose(found[2 * rate : 3 * rate], 0.0625, atol=1e-4)
    assert np.allclose(found[round(3.41 * rate) :], 0.25, atol=1e-4)
    assert found[round(1.9 * rate)] == pytest.approx(0.125, rel=0.01)


def test_it_is_told(folder):
    sheet = sheet_of(folder)
    stretches, _ = sheet_sound(sheet)
    (said,) = duck_words(sheet, stretches)
    assert said == ("sound[0] Bed: 12.0412 dB lower under Voice, from 00:00:02:00 to 00:00:03:00.")
    assert heard_frames(sheet) == [(0, 150), (25, 100)]


def test_a_voice_that_is_not_heard_is_told(folder):
    write_sound(folder / "voice.wav", np.zeros(SAMPLE_RATE, np.float32))
    sheet = sheet_of(folder)
    stretches, _ = sheet_sound(sheet)
    (said,) = duck_words(sheet, stretches)
    assert "Voice is not heard" in said
    assert np.allclose(bed(sheet), 0.25, atol=1e-4)


def test_two_sounds_of_one_name_are_both_given_way_to(folder):
    more = '[[sound]]\nname = "Voice"\nfile = "voice.wav"\nat = "3s"\n'
    sheet = sheet_of(folder, UNDER + ', pause = "0.4s"', more)
    stretches, _ = sheet_sound(sheet)
    assert stretches[0].ducking.spans == (
        (2 * SAMPLE_RATE, 3 * SAMPLE_RATE),
        (4 * SAMPLE_RATE, 5 * SAMPLE_RATE),
    )
    longer = sheet_of(folder, UNDER + ', pause = "2s"', more)
    assert sheet_sound(longer)[0][0].ducking.spans == ((2 * SAMPLE_RATE, 5 * SAMPLE_RATE),)


def test_the_wave_shows_it(folder):
    wave = sound_wave(sheet_of(folder), 0, 60)
    assert wave[5] == pytest.approx(0.25, abs=0.002)
    assert wave[25] == pytest.approx(0.062, abs=0.002)
    mixed = sound_wave(sheet_of(folder), None, 60)
    assert mixed[25] == pytest.approx(0.0625 + 0.25, abs=0.005)


def test_defaults_are_parts_of_a_second(folder):
    duck = sheet_of(folder, 'under = "Voice"').sounds[0].duck
    # by hand: a quarter of 25, rounded to even, three and four times
    assert (duck.level_db, duck.down, duck.up, duck.pause) == (-12, 6, 18, 24)


@pytest.mark.parametrize(
    ("duck", "says"),
    [
        ('under = "Vioce"', "Is it 'Voice'|Voice"),
        ('under = "Bed"', "another sound than its own"),
        ('under = "Voice", level = 3.0', "level"),
        ('under = "Voice", down = "soon"', "must be a time"),
    ],
)
def test_what_it_cannot_be(folder, duck, says):
    with pytest.raises(SheetError, match=says):
        sheet_of(folder, duck)


def test_the_example_of_the_docs_is_heard(tmp_path):
    page = (Path(__file__).parents[2] / "docs" / "sound.md").read_text(encoding="utf-8")
    (example,) = (one for one in re.findall(r"```toml\n(.*?)```", page, re.DOTALL) if "duck" in one)
    (tmp_path / "sound").mkdir()
    write_sound(tmp_path / "sound" / "bed.wav", sine(6, level=0.1))
    voice = np.zeros(4 * SAMPLE_RATE, np.float32)
    voice[SAMPLE_RATE : 2 * SAMPLE_RATE] = sine(1)
    write_sound(tmp_path / "sound" / "voice.wav", voice)
    sheet = parse_sheet(HEAD.partition("[[sound]]")[0] + example, folder=tmp_path)
    stretches, _ = sheet_sound(sheet)
    (said,) = duck_words(sheet, stretches)
    assert said.startswith("sound[0] Bed: 14 dB lower under Voice, from 00:00:02:00 to 00:00:03:00")
