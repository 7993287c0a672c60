from pathlib import Path

import pytest

from keyer.errors import SheetError
from keyer.sheet.load import parse_sheet
from keyer.sheet.sound import Sound
from keyer.sheet.source import Clear, File

SPOT = """\
version = 1
[sheet]
format = "1080p25"
length = "4s"
[sources.nothing]
clear = true
[[cues]]
source = "nothing"
"""


def sheet(text):
    return parse_sheet(SPOT + text, folder="job")


def test_a_sound_is_resolved_to_frames_of_the_sheet():
    found = sheet(
        '[[sound]]\nfile = "voice.wav"\nat = "00:00:01:05"\nin = "2s"\nout = 60\nlevel = -3.5\n'
        'fade_in = 5\nfade_out = 3\nname = "Voice"\nnote = "take 2"\n[[sound]]\nfile = "bed.mp3"\n'
    )
    assert found.sounds == (
        Sound(0, File(Path("job/voice.wav")), 30, 50, 60, -3.5, 5, 3, "Voice", "take 2"),
        Sound(1, File(Path("job/bed.mp3"))),
    )
    assert found.sounds[1].end is None


def test_a_source_can_be_nothing():
    assert sheet("").sources["nothing"].content == Clear()


def test_sound_is_part_of_what_a_sheet_says():
    one, other = (sheet(f'[[sound]]\nfile = "a.wav"\nlevel = {level}\n') for level in (0, 1))
    assert len({sheet("").digest, one.digest, other.digest}) == 3


@pytest.mark.parametrize(
    ("keys", "fault"),
    [
        ("", r"sound\[0\], line 9: needs a file, or a source that shows another sheet"),
        ('file = " "', "must name a file"),
        ('file = "a.wav"\nat = "4s"', r"sound\[0\]\.at.*must lie within the sheet, frames 0 to 99"),
        ('file = "a.wav"\nin = 9\nout = 9', r"sound\[0\]\.out.*must come after its in"),
        ('file = "a.wav"\nout = 10\nfade_in = 8\nfade_out = 3', "fades of 8 and 3 frames do not"),
        ('file = "a.wav"\nlevel = 30', r"sound\[0\]\.level.*\[-80, 20\]"),
        ('file = "a.wav"\nlevel = nan', r"sound\[0\]\.level"),
        ('file = "a.wav"\nfade_in = "0.5"', r"sound\[0\]\.fade_in.*must be a time"),
        ('file = "a.wav"\nat = "1.01s"', "must fall on a frame"),
        ('file = "a.wav"\nvolume = 3', r"sound\[0\]\.volume.*unknown key"),
    ],
)
def test_faults(keys, fault):
    with pytest.raises(SheetError, match=fault):
        sheet(f"[[sound]]\n{keys}\n")


def test_nothing_must_be_true():
    with pytest.raises(SheetError, match="must be true"):
        parse_sheet(SPOT.replace("clear = true", "clear = false"))
