"""MXF OP1a with VC-3, read back by a reader of its own and by libav."""

from fractions import Fraction

import av
import numpy as np
import pytest
from media.klv import number, read_mxf
from support import reference

from keyer.errors import SettingError
from keyer.kinds.picture import RgbPicture
from keyer.kinds.version import __version__
from keyer.media.clip_write import ClipWriter
from keyer.media.source import open_source
from keyer.pixel.colour.encode_ycc import encode
from keyer.pixel.colour.load import load, store
from keyer.pixel.compose.generate import bars
from keyer.pixel.compose.weave import weave

LEVELS = reference("video_levels")
OP1A = bytes.fromhex("060e2b34040101010d01020101010900")


def written(path, pictures, rate=Fraction(25), timecode="10:00:00:00", **settings):
    first = pictures[0]
    with ClipWriter(
        path, first.width, first.height, rate, timecode=timecode, sound=True, **settings
    ) as clip:
        for picture in pictures:
            clip.write(picture)
            clip.write_sound(np.zeros((2, 1920), np.float32))
    return path


def test_op1a_with_its_pictures_sound_and_timecode(tmp_path):
    path = written(tmp_path / "a.mxf", [bars(320, 180)] * 4, codec="vc3")
    mxf = read_mxf(path.read_bytes())
    # ST 378: item and package complexity 1 are OP1a; bytes 14 and 15 qualify it
    assert (mxf.pattern[:12], mxf.pattern[12:14]) == (OP1A[:12], b"\x01\x01")
    assert (mxf.pictures, mxf.sounds) == (4, 4)
    size = number(mxf.descriptor[0x3209]), number(mxf.descriptor[0x3208])
    assert size == (320, 180)
    assert number(mxf.descriptor[0x320C]) == 0  # full frames
    # ten hours at 25: by hand 10 * 3600 * 25
    assert number(mxf.timecode[0x1501]) == 900_000
    assert (number(mxf.timecode[0x1502]), number(mxf.timecode[0x1503])) == (25, 0)


def test_drop_frame_is_told(tmp_path):
    rate = Fraction(30000, 1001)
    path = written(tmp_path / "a.mxf", [bars(320, 180)], rate, "00:01:00;02", codec="vc3")
    timecode = read_mxf(path.read_bytes()).timecode
    # SMPTE ST 12-1: 00:01:00;02 is the 1800th frame
    assert [number(timecode[tag]) for tag in (0x1501, 0x1502, 0x1503)] == [1800, 30, 1]


def test_every_file_has_an_identity_of_its_own(tmp_path):
    one, other = (written(tmp_path / f"{n}.mxf", [bars(320, 180)], codec="vc3") for n in "ab")
    first, second = (read_mxf(path.read_bytes()).umid for path in (one, other))
    assert len(first) == 32  # SMPTE ST 330
    assert first != second


def test_bars_come_back_with_their_tags(tmp_path):
    """75 % bars within 1 code of 8 bits of the published levels, at the middle of each bar."""
    path = written(tmp_path / "a.mxf", [bars(320, 128)] * 2, codec="vc3")
    source = open_source(path)
    assert (source.props.rate, source.props.frames) == (25, 2)
    assert source.props.matrix == "bt709"
    found = store(load(source.read(1)), np.uint8)[:, 48, 20::40].astype(int)
    rows = [bar for bar in LEVELS["bar"] if bar["standard"] == "bt709" and bar["percent"] == 75]
    np.testing.assert_allclose(found, np.array([bar["rgb8_full"] for bar in rows]).T, atol=1)
    source.close()
    with av.open(str(path)) as container:
        sound = container.streams.audio[0]
        assert (sound.codec_context.name, sound.rate) == ("pcm_s24le", 48_000)
        assert container.metadata["product_name"] == "keyer"
        assert container.metadata["product_version"] == __version__


def coded(level):
    picture = np.full((3, 1080, 1920), level, np.float32)
    return encode(RgbPicture(picture), sampling="422", bits=10, matrix="bt709")


@pytest.mark.parametrize(("name", "codec"), [("a.mxf", "vc3"), ("a.mov", "prores-hq")])
def test_fields_and_their_order_are_told(tmp_path, name, codec):
    dark, light = coded(0.2), coded(0.8)
    frames = [weave(dark, light, "top")] * 2
    path = written(tmp_path / name, frames, codec=codec, fields="top")
    data = path.read_bytes()
    if codec == "vc3":
        descriptor = read_mxf(data).descriptor
        # ST 377-1: separate fields of 540 lines, the first of them dominant
        assert number(descriptor[0x320C]) == 1
        assert number(descriptor[0x3202]) == 540
        assert number(descriptor.get(0x3212, b"\x01")) == 1
    else:
        place = data.index(b"fiel")  # QuickTime: two fields, the top one first and shown first
        assert data[place + 4 : place + 6] == b"\x02\x01"
        frame = data.index(b"icpf")  # RDD 36: interlace_mode 1 is top field first
        assert data[frame + 16] >> 2 & 3 == 1
    with av.open(str(path)) as container:
        for frame in container.decode(video=0):
            assert frame.interlaced_frame
            luma = frame.to_ndarray()[0].astype(int)
            # by hand: 64 + 876 * 0.2 and 64 + 876 * 0.8
            np.testing.assert_allclose(luma[::2], 239, atol=2)
            np.testing.assert_allclose(luma[1::2], 765, atol=2)


@pytest.mark.parametrize(
    ("settings", "says"),
    [
        ({"codec": "vc3", "fields": "top"}, "needs 1920 x 1080 at 25 or 29.97, got 320 x 180"),
        ({"codec": "vc3", "matrix": "bt601"}, "vc3 holds pictures of BT.709 alone"),
        ({"codec": "h264", "fields": "top"}, "needs a codec that holds fields, prores-hq or vc3"),
    ],
)
def test_what_a_codec_cannot_hold_is_refused(tmp_path, settings, says):
    suffix = ".mxf" if settings["codec"] == "vc3" else ".mp4"
    with pytest.raises(SettingError, match=says):
        written(tmp_path / f"a{suffix}", [bars(320, 180)], **settings)
    assert list(tmp_path.iterdir()) == []


def test_what_is_too_small_is_refused(tmp_path):
    with pytest.raises(SettingError, match="vc3 needs at least 256 x 120, got 64 x 32"):
        written(tmp_path / "a.mxf", [bars(64, 32)], codec="vc3")
