"""A clip rendered in parts and joined is the clip rendered at once."""

import av
import numpy as np
import pytest
from media.tones import sine, write_sound
from render.spots import SUFFIXES, effects, sheet_of

from keyer.errors import InputFileError, OutputError, SettingError
from keyer.media.codecs import CODECS
from keyer.render.clip import render_clip
from keyer.render.clip_job import clip_job
from keyer.render.clip_parts import cut, join, others, render_in_parts, render_part
from keyer.sheet.load import build_sheet

CUT = [name for name, codec in CODECS.items() if codec.group and codec.least == (1, 1)]


def parts_of(sheet, output, count=3, **settings):
    return cut(clip_job(sheet, output, **settings), count)


def packets(path):
    with av.open(str(path)) as clip:
        return [bytes(packet) for packet in clip.demux(clip.streams.video[0]) if packet.size]


@pytest.mark.parametrize("codec", CUT)
def test_parts_joined_are_the_same_file_to_the_byte(media, tmp_path, codec):
    """Rendered in any order; pictures, sound, timecode, tags and times, as they are all in it."""
    sheet = sheet_of(media, "25", 40, **effects(), sound=[{"file": "tone.wav", "at": 2}])
    whole, joined = (tmp_path / f"{name}{SUFFIXES[codec]}" for name in "ab")
    told = render_clip(sheet, whole, codec=codec)
    parts = parts_of(sheet, joined, codec=codec)
    assert [span.start % CODECS[codec].group for span in parts.spans] == [0, 0, 0]
    assert [n for span in parts.spans for n in span] == list(range(40))
    for number in (3, 1, 2):
        render_part(parts, number)
    report = join(parts)
    assert joined.read_bytes() == whole.read_bytes()
    assert (report.frames, report.timecode, report.loudness) == (
        told.frames, told.timecode, told.loudness,
    )  # fmt: skip
    assert sorted(path.name for path in tmp_path.iterdir()) == [whole.name, joined.name]
