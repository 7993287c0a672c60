"""Clips that are broken, or no clips at all: one quiet line each, never a wrong frame."""

import os
import threading

import av
import numpy as np
import pytest
from media.made import noise, number_of, write_clip, write_planes

from keyer.errors import InputFileError
from keyer.media.clips import Clip
from keyer.media.sound import sound_length
from keyer.media.source import open_source
from keyer.pixel.colour.load import load


def read_all(path):
    source = open_source(path)
    try:
        for index in range(source.props.frames):
            source.read(index)
    finally:
        source.close()


def refused(path, capfd, finding):
    """Opening and reading all of it ends in one quiet line that names the file."""
    with pytest.raises(InputFileError, match=finding) as refusal:
        read_all(path)
    assert "\n" not in str(refusal.value)
    assert path.name in str(refusal.value)
    captured = capfd.readouterr()
    assert (captured.out, captured.err) == ("", "")


def remuxed(path, source, **options):
    """Copy a clip's packets into another file."""
    with av.open(str(source)) as old, av.open(str(path), "w", options=options) as new:
        stream = old.streams.video[0]
        copy = new.add_stream_from_template(stream)
        for packet in old.demux(stream):
            if packet.dts is not None:
                packet.stream = copy
                new.mux(packet)
    return path


@pytest.mark.parametrize(
    ("name", "content"),
    [("a.mp4", b""), ("a.mov", b"not a clip\n" * 50), ("a.txt", b"hello\n" * 50)],
)
def test_empty_and_text(tmp_path, capfd, name, content):
    (tmp_path / name).write_bytes(content)
    refused(tmp_path / name, capfd, "empty|neither|no moving picture")


@pytest.mark.parametrize("name", ["a.mp4", "a.mkv", "a.avi"])
def test_truncated(tmp_path, capfd, name):
    codec = "mpeg4" if name.endswith("avi") else "libx264"
    path = write_clip(tmp_path / name, codec=codec, options={})
    data = path.read_bytes()
    path.write_bytes(data[: len(data) * 6 // 10])
    refused(path, capfd, "cut short|truncated")


@pytest.mark.parametrize("flags", ["+faststart", "+frag_keyframe+empty_moov"])
def test_truncated_with_its_index_at_the_front(tmp_path, capfd, flags):
    whole = write_clip(tmp_path / "whole.mp4")
    path = remuxed(tmp_path / "a.mp4", whole, movflags=flags)
    read_all(path)
    data = path.read_bytes()
    path.write_bytes(data[: len(data) * 7 // 10])
    refused(path, capfd, "cut short|truncated")


def test_damaged_in_the_middle(tmp_path, capfd):
    """In five places: the decoder's threads may hand a single picture on before they mark it."""
    path = write_clip(tmp_path / "a.mp4", draw=noise, frames=20)
    data = bytearray(path.read_bytes())
    for part in range(2, 7):
        data[len(data) * part // 10 : len(data) * part // 10 + 600] = bytes([7]) * 600
    path.write_bytes(data)
    refused(path, capfd, "damaged|cannot be decoded")


def test_a_change_of_size(tmp_path, capfd):
    first = write_clip(tmp_path / "1.h264", frames=20).read_bytes()
    second = write_clip(tmp_path / "2.h264", frames=20, size=(320, 192)).read_bytes()
    path = tmp_path / "a.h264"
    path.write_bytes(first + second)
    refused(path, capfd, r"changes size: picture 20 is 320 x 192, the first is 160 x 96")


def test_no_frames(tmp_path, capfd):
    path = tmp_path / "a.mkv"
    with av.open(str(path), "w") as container:
        stream = container.add_stream("ffv1", rate=25)
        stream.width, stream.height, stream.pix_fmt = 64, 64, "bgr0"
        container.start_encoding()
    refused(path, capfd, "neither|single frame")


def test_sound_without_picture(tmp_path, capfd):
    path = tmp_path / "a.wav"
    with av.open(str(path), "w") as container:
        stream = container.add_stream("pcm_s16le", rate=48000)
        frame = av.AudioFrame.from_ndarray(
            np.zeros((1, 480), np.int16), format="s16", layout="mono"
        )
        frame.rate = 48000
        container.mux(stream.encode(frame))
    refused(path, capfd, "no moving picture")


LISTS = {
    "m3u8": "#EXTM3U\n#EXT-X-TARGETDURATION:9\n#EXTINF:9,\nclip.ts\n#EXT-X-ENDLIST\n",
    "ffconcat": "ffconcat version 1.0\nfile clip.ts\n",
    "mpd": '<?xml version="1.0"?><MPD xmlns="urn:mpeg:dash:schema:mpd:2011" type="static" '
    'mediaPresentationDuration="PT1S"><Period><AdaptationSet mimeType="video/mp2t">'
    '<Representation id="1" bandwidth="1"><BaseURL>clip.ts</BaseURL></Representation>'
    "</AdaptationSet></Period></MPD>",
    "sdp": "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\n"
    "m=video 5004 RTP/AVP 96\n",
    "txt": "just some words\n" * 30,
}


@pytest.mark.parametrize("named", ["as it is", "as a clip"])
@pytest.mark.parametrize("kind", LISTS)
def test_lists_that_lead_to_other_files_are_not_followed(tmp_path, capfd, kind, named):
    """What they lead to is a named pipe here, which lets a writer in once it is opened."""
    os.mkfifo(tmp_path / "clip.ts")
    opened = []

    def listen():
        os.close(os.open(tmp_path / "clip.ts", os.O_WRONLY))
        opened.append(True)

    writer = threading.Thread(target=listen)
    writer.start()
    path = tmp_path / (f"a.{kind}" if named == "as it is" else "a.mp4")
    path.write_text(LISTS[kind])
    try:
        refused(path, capfd, "neither")
        with pytest.raises(InputFileError, match="cannot be opened as sound"):
            sound_length(path)
        assert not opened
    finally:  # let the writer go
        handle = os.open(tmp_path / "clip.ts", os.O_RDONLY | os.O_NONBLOCK)
        writer.join()
        os.close(handle)


def test_a_picture_beyond_all_measure(tmp_path, capfd):
    path = tmp_path / "a.y4m"
    path.write_bytes(b"YUV4MPEG2 W100000 H100000 F25:1 C420\nFRAME\n")
    refused(path, capfd, "neither|at most")


def test_a_way_of_coding_that_is_not_known(tmp_path, capfd):
    path = write_clip(tmp_path / "a.mkv", codec="ffv1", layout="bgr0", frames=2, options={})
    path.write_bytes(path.read_bytes().replace(b"V_FFV1", b"V_XXXX"))
    refused(path, capfd, "cannot decode")


def test_not_one_picture_can_be_decoded(tmp_path, capfd):
    path = write_clip(tmp_path / "a.avi", codec="ffv1", layout="bgr0", frames=2, options={})
    data = bytearray(path.read_bytes())
    start = data.index(b"movi") + 4
    for chunk in (data.index(b"00dc", start), data.rindex(b"00dc", 0, data.index(b"idx1"))):
        size = int.from_bytes(data[chunk + 4 : chunk + 8], "little")
        data[chunk + 8 : chunk + 8 + size] = bytes(size)
    path.write_bytes(data)
    refused(path, capfd, "cannot be decoded|not one can be decoded|damaged")


def test_a_picture_that_is_missing_is_named_and_the_others_can_be_read(tmp_path):
    """One packet is replaced by filler (ITU-T H.264, 7.3.2.7), from which no picture comes."""
    whole = write_clip(tmp_path / "whole.mkv", options={"bf": "0", "g": "1"}, frames=12)
    path = tmp_path / "a.mkv"
    with av.open(str(whole)) as old, av.open(str(path), "w") as new:
        stream = old.streams.video[0]
        copy = new.add_stream_from_template(stream)
        for count, packet in enumerate(old.demux(stream)):
            if packet.size == 0:
                continue
            kept = packet
            if count == 5:
                kept = av.Packet(b"\0\0\0\2\x0c\x80")
                kept.pts, kept.dts, kept.time_base = packet.pts, packet.dts, packet.time_base
                kept.is_keyframe = True
            kept.stream = copy
            new.mux(kept)
    source = open_source(path)
    with pytest.raises(InputFileError, match="cannot be decoded up to picture 5"):
        source.read(5)
    assert [number_of(load(source.read(index))) for index in (4, 6, 11, 0)] == [4, 6, 11, 0]
    source.close()


def test_a_picture_that_never_comes(tmp_path, monkeypatch):
    """As if the decoder passed over it in silence, however far back it starts."""
    source = open_source(write_clip(tmp_path / "a.mp4"))
    monkeypatch.setattr(Clip, "_find", lambda *_: None)
    with pytest.raises(InputFileError, match="has no picture 30, though it says that it has 40"):
        source.read(30)
    source.close()


def test_rows_and_columns_beyond_the_limit(tmp_path, capfd):
    plane = np.full((16, 16400), 126, np.uint8)
    chroma = np.full((8, 8200), 128, np.uint8)
    path = write_planes(tmp_path / "a.mkv", [plane, chroma, chroma], colorspace=1)
    refused(path, capfd, "at most 16384")


def test_pictures_larger_than_any_frame_are_refused_before_one_is_decoded(tmp_path, capfd):
    path = tmp_path / "a.y4m"
    path.write_bytes(b"YUV4MPEG2 W9000 H9000 F25:1 C420\nFRAME\n" + bytes(64))
    refused(path, capfd, "is 9000 x 9000; a clip's pictures must have at most 67108864 pixels")
