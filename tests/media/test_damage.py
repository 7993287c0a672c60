"""Damage that a decoder or a check sum reports is refused with the picture, and never shown.

The decoder's own report, read while it decodes alone in one thread, is the
measure (`hostile.truth`); files are damaged by single bits of a picture's data.
"""

import random
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import av
import numpy as np
import pytest
from hostile.truth import content, decoder_report, shown, silent
from media.made import write_clip
from media.tones import sine, write_sound

from keyer.errors import InputFileError
from keyer.media.decoder import Decoder, _Doubt
from keyer.media.sound import SoundReader
from keyer.media.source import open_source
from keyer.media.whole import gif_is_whole

CLIPS = {
    "h264.mp4": ("libx264", "yuv420p", {"bf": "2", "qp": "20"}),
    "slices.mkv": ("libx264", "yuv420p", {"bf": "2", "qp": "20", "x264-params": "slices=4"}),
    "mpeg2.mpg": ("mpeg2video", "yuv420p", {"b": "2000000", "bf": "2"}),
    "mpeg4.avi": ("mpeg4", "yuv420p", {"b": "2000000"}),
    "ffv1.mkv": ("ffv1", "bgr0", {"level": "3", "slicecrc": "1"}),
    "turn.gif": ("gif", "rgb8", {}),
}
"""At one quantiser: as it looks ahead, that encoder chooses others from one run to the next, on
processors with AVX-512."""
MOST_SEEDS, ENOUGH = 60, 4
"""Which bits hurt a picture depends on every byte of a clip, and so on the encoder's version."""


def grained(number, width, height):
    """Blocks that move, with some grain: every codec has something to say in each picture."""
    rng = np.random.default_rng(7)
    blocks = rng.integers(0, 256, (height // 8, width // 8, 3)).repeat(8, 0).repeat(8, 1)
    moved = np.roll(blocks, 2 * number, 1) + rng.integers(-8, 9, blocks.shape)
    return np.clip(moved, 0, 255).astype(np.uint8)


@pytest.fixture(scope="module")
def clips(tmp_path_factory):
    folder = tmp_path_factory.mktemp("damage")
    for name, (codec, layout, options) in CLIPS.items():
        write_clip(
            folder / name, codec=codec, layout=layout, options=options, frames=20, draw=grained
        )
    return folder


def payloads(path: Path) -> list[tuple[int, int]]:
    """Where the data of each picture stands in a file, and how much."""
    data = path.read_bytes()
    found = []
    with av.open(str(path)) as container:
        for packet in container.demux(container.streams.video[0]):
            content = bytes(packet)
            tail = content[-64:]
            if content and tail in data:
                found.append((data.index(tail) + len(tail) - len(content), len(content)))
    return found


def flipped(path: Path, target: Path, seed: int) -> Path:
    """Turn over one bit of one picture's data."""
    rng = random.Random(seed)  # noqa: S311  no secret
    data = bytearray(path.read_bytes())
    at, size = rng.choice(payloads(path))
    data[at + rng.randrange(size)] ^= 1 << rng.randrange(8)
    target.write_bytes(data)
    return target


def hurt_and_reported(good: Path, target: Path) -> Iterator[tuple[int, Path]]:
    """Bits that the decoder misses and says so, while a picture comes out wrong."""
    known = {found for _, found in shown(good, "on")}
    found = 0
    for seed in range(MOST_SEEDS):
        said, wrong = decoder_report(flipped(good, target, seed))
        if said and wrong - known:
            found += 1
            yield seed, target
        if found == ENOUGH:
            return
    msg = f"{found} of {MOST_SEEDS} damaged files are wrong and reported"
    raise AssertionError(msg)


@pytest.mark.parametrize("name", CLIPS)
def test_no_picture_is_wrong_in_silence(clips, tmp_path, name):
    for seed, path in hurt_and_reported(clips / name, tmp_path / name):
        assert silent(path, clips / name) == "", seed


def test_a_reader_that_does_not_listen_is_found_out(clips, tmp_path, monkeypatch):
    """The measure itself: what is decoded with threads, and believed, is seen to be wrong."""
    monkeypatch.setattr(Decoder, "suspect", property(lambda _: False))
    monkeypatch.setattr(Decoder, "_quick", unmarked)
    for name in ("h264.mp4", "mpeg2.mpg"):
        hurt = hurt_and_reported(clips / name, tmp_path / name)
        assert any("in silence" in silent(path, clips / name) for _, path in hurt), name


def unmarked(self):
    """Frames as they are decoded, and no doubt."""
    for frame in self.container.decode(self.stream):
        yield frame, False


def test_a_check_sum_of_a_slice_names_the_picture(clips, tmp_path):
    """Each slice of FFV1 ends in a CRC-32 (RFC 9043, 4.9.3), so every flip is seen."""
    places = payloads(clips / "ffv1.mkv")
    data = bytearray((clips / "ffv1.mkv").read_bytes())
    at, size = places[7]
    data[at + size // 2] ^= 4
    path = tmp_path / "ffv1.mkv"
    path.write_bytes(data)
    source = open_source(path)
    for index in range(7):
        source.read(index)
    with pytest.raises(InputFileError, match=r"ffv1\.mkv is damaged at picture 7\. Copy"):
        source.read(7)
    with pytest.raises(InputFileError, match="damaged at picture 8"):
        source.read(8)  # it builds on the one before
    source.read(12)  # the next that is coded alone (a group of twelve)
    source.close()
    with pytest.raises(InputFileError, match="damaged at picture 8"):
        open_source(path).read(8)  # sought first of all


def test_a_whole_clip_is_never_decoded_twice(clips, monkeypatch):
    opened = []
    begin = Decoder.__init__

    def counted(self, path, *, careful=False):
        opened.append(careful)
        begin(self, path, careful=careful)

    monkeypatch.setattr(Decoder, "__init__", counted)
    assert len(shown(clips / "h264.mp4", "on")) == 20
    assert opened == [False, False]  # to read its index, and to decode


def test_a_report_of_another_clip_does_not_hurt_this_one(clips, tmp_path):
    whole, damaged = clips / "h264.mp4", tmp_path / "ffv1.mkv"
    data = bytearray((clips / "ffv1.mkv").read_bytes())
    at, size = payloads(clips / "ffv1.mkv")[3]
    data[at + size // 2] ^= 4
    damaged.write_bytes(data)
    expected = shown(whole, "on")
    one, other = open_source(whole), open_source(damaged)
    got = []
    for index in range(20):
        if index == 3:
            with pytest.raises(InputFileError):
                other.read(3)
        got.append((index, content(one.read(index))))
    assert got == expected
    one.close()
    other.close()


def test_decoders_that_report_much_are_taken_down_without_waiting_for_ever(clips, tmp_path):
    """The decoder's threads need the interpreter to report; closing must not hold it."""
    data = bytearray((clips / "h264.mp4").read_bytes())
    for at, size in payloads(clips / "h264.mp4")[4:]:
        data[at + size // 3 : at + size // 2] = bytes(size // 2 - size // 3)
    path = tmp_path / "h264.mp4"
    path.write_bytes(data)
    for _ in range(20):
        decoder = Decoder(path)
        for _ in zip(range(3), decoder.pictures, strict=False):
            pass
        decoder.close()


class Packet:
    """What is looked at of a packet."""

    def __init__(self, pts, *, alone=False):
        self.pts, self.is_keyframe = pts, alone


def test_doubt_goes_on_to_the_next_picture_that_is_coded_alone():
    doubt = _Doubt()
    doubt.take(Packet(0, alone=True), reported=False)
    doubt.take(Packet(3), reported=True)
    doubt.take(Packet(1), reported=False)
    doubt.take(Packet(6, alone=True), reported=False)
    doubt.take(Packet(5), reported=False)  # shown before 6, built on what was before it
    doubt.take(Packet(7), reported=False)
    assert [stamp for stamp in range(8) if doubt.covers(stamp)] == [1, 3, 5]


def test_pictures_before_the_first_that_is_coded_alone_do_not_speak_for_those_after_it():
    doubt = _Doubt()
    doubt.take(Packet(6, alone=True), reported=False)
    doubt.take(Packet(5), reported=True)  # what it builds on was never read
    doubt.take(Packet(7), reported=False)
    assert [stamp for stamp in (5, 6, 7) if doubt.covers(stamp)] == [5]


@pytest.mark.parametrize("share", [0.3, 0.5, 0.9, 0.999])
def test_a_gif_cut_off_is_refused(clips, tmp_path, share):
    data = (clips / "turn.gif").read_bytes()
    assert gif_is_whole(data)
    assert gif_is_whole(data + b"\0\0")  # what stands after the end mark is no matter
    path = tmp_path / "cut.gif"
    path.write_bytes(data[: int(len(data) * share)])
    with pytest.raises(InputFileError, match=r"cut\.gif (is|cannot be opened).*(truncated|cut)"):
        open_source(path)


def test_one_far_time_stamp_does_not_make_a_clip_endless(tmp_path):
    stamps = [*range(0, 400, 40), 9_000_000_000]
    path = write_clip(tmp_path / "far.mkv", frames=11, stamps=stamps, time_base=Fraction(1, 1000))
    with pytest.raises(InputFileError, match=r"says that it lasts 2\.5e\+03 hours"):
        open_source(path)


def test_a_check_sum_of_sound(tmp_path):
    """Each frame of FLAC ends in a CRC-16 (RFC 9639, 9.3)."""
    path = write_sound(tmp_path / "tone.flac", sine(0.5), codec="flac")
    data = bytearray(path.read_bytes())
    data[len(data) * 2 // 3] ^= 16
    path.write_bytes(data)
    reader = SoundReader(path)
    with pytest.raises(InputFileError, match=r"after 0\.\d+ s \(its decoder reports damage\)"):
        reader.read(24_000)
    reader.close()
