from fractions import Fraction
from itertools import pairwise

import av
import numpy as np
import pytest
from media.made import number_of, numbered
from support import planes, reference

from keyer.errors import FrameShapeError, OutputError, SettingError
from keyer.kinds.picture import RgbPicture
from keyer.media.clip_write import ClipWriter
from keyer.media.codecs import CODECS
from keyer.media.files import Files
from keyer.media.source import open_source
from keyer.pixel.colour.encode_ycc import encode
from keyer.pixel.colour.load import from_array, load, load_alpha, store
from keyer.pixel.compose.generate import bars

RATE = Fraction(30000, 1001)
SMALL = [name for name, codec in CODECS.items() if codec.least == (1, 1)]
LEVELS = reference("video_levels")


def write(path, pictures, **settings):
    first = pictures[0]
    with ClipWriter(path, first.width, first.height, RATE, **settings) as clip:
        for picture in pictures:
            clip.write(picture)
    return path


@pytest.mark.parametrize("codec", SMALL)
@pytest.mark.parametrize("matrix", ["bt709", "bt601"])
def test_bars_survive_every_codec_with_their_tags(tmp_path, codec, matrix):
    """75 % bars within 1 code of 8 bits of the published levels, at the middle of each bar."""
    path = tmp_path / f"a{CODECS[codec].suffixes[0]}"
    write(path, [bars(320, 96)] * 4, codec=codec, matrix=matrix)
    source = open_source(path)
    assert source.props.rate == RATE
    assert source.props.frames == 4
    assert source.props.notices == ()
    if CODECS[codec].sampling:
        assert source.props.matrix == matrix
    found = store(load(source.read(2)), np.uint8)[:, 48, 20::40].astype(int)
    rows = [bar for bar in LEVELS["bar"] if bar["standard"] == matrix and bar["percent"] == 75]
    np.testing.assert_allclose(found, np.array([bar["rgb8_full"] for bar in rows]).T, atol=1)
    source.close()


@pytest.mark.parametrize("codec", SMALL)
def test_every_frame_is_there_in_order(tmp_path, codec):
    path = tmp_path / f"a{CODECS[codec].suffixes[-1]}"
    write(path, [from_array(numbered(number)) for number in range(30)], codec=codec)
    source = open_source(path)
    assert [number_of(load(source.read(index))) for index in range(30)] == list(range(30))
    source.close()


@pytest.mark.parametrize("codec", ["ffv1", "png"])
def test_eight_bit_pictures_come_back_exactly(tmp_path, codec):
    picture = from_array(np.random.default_rng(5).integers(0, 256, (33, 47, 3)).astype(np.uint8))
    path = write(tmp_path / f"a{CODECS[codec].suffixes[0]}", [picture] * 2, codec=codec)
    np.testing.assert_array_equal(open_source(path).read(1).planes, picture.planes)


def test_a_writer_of_16_bits_keeps_them(tmp_path):
    deep = np.random.default_rng(3).integers(0, 65_536, (3, 8, 16)).astype(np.uint16)
    for name, codec in (("a.mov", "png"), ("a.mkv", "ffv1")):
        with ClipWriter(tmp_path / name, 16, 8, Fraction(25), codec=codec, deep=True) as writer:
            writer.write(RgbPicture(deep))
        np.testing.assert_array_equal(open_source(tmp_path / name).read(0).planes, deep)


def test_ten_bit_planes_come_back_exactly(tmp_path):
    picture = RgbPicture(planes(3, 32, 48))
    path = write(tmp_path / "a.mkv", [picture], codec="ffv1-yuv")
    found = open_source(path).read(0)
    expected = encode(picture, sampling="422", bits=10, matrix="bt709")
    assert found.bits == 10
    for one, other in (
        (found.luma, expected.luma),
        (found.cb, expected.cb),
        (found.cr, expected.cr),
    ):
        np.testing.assert_array_equal(one, other)


def test_alpha_is_kept_where_there_is_room(tmp_path):
    alpha = np.tile(np.linspace(0, 1, 64, dtype=np.float32), (32, 1))
    path = write(tmp_path / "a.mov", [RgbPicture(planes(1, 32, 64), alpha)], codec="prores-4444")
    source = open_source(path)
    assert source.props.has_alpha
    np.testing.assert_allclose(load_alpha(source.read(0)), alpha, atol=2e-3)


def test_a_picture_as_decoded_can_be_written(tmp_path):
    picture = encode(bars(64, 32), sampling="420", bits=8, matrix="bt601")
    path = write(tmp_path / "a.mov", [picture], codec="png")
    np.testing.assert_array_equal(open_source(path).read(0).planes, store(load(picture), np.uint8))


@pytest.mark.parametrize("codec", ["h264", "prores-hq", "png"])
def test_pixel_aspect_and_tags_for_others_to_read(tmp_path, codec):
    """H.273 tables 2 to 4: 625-line BT.601 has primaries 5, transfer 6 and matrix 5."""
    path = tmp_path / "a.mov"
    picture = bars(720, 576)
    write(path, [picture] * 2, codec=codec, matrix="bt601", pixel_aspect=Fraction(16, 11))
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        assert stream.sample_aspect_ratio == Fraction(16, 11)
        assert stream.average_rate == RATE
        frame = next(container.decode(stream))
        if codec != "png":
            tags = (frame.color_primaries, frame.color_trc, frame.colorspace, frame.color_range)
            assert tags == (5, 6, 5, 1)


def test_the_same_clip_gives_the_same_bytes(tmp_path):
    pictures = [from_array(numbered(number)) for number in range(5)]
    for codec in SMALL:
        kind = CODECS[codec]
        one, other = (tmp_path / f"{name}-{codec}{kind.suffixes[0]}" for name in "ab")
        assert write(one, pictures, codec=codec).read_bytes() == (
            write(other, pictures, codec=codec).read_bytes()
        )


def test_the_bytes_of_h264_do_not_depend_on_the_processor(tmp_path, monkeypatch):
    """Those of the encoder's code for any processor are the measure, with pictures that make it
    look ahead: of moving blocks with grain."""
    blocks = np.random.default_rng(7).integers(0, 256, (12, 20, 3)).repeat(8, 0).repeat(8, 1)
    grain = np.random.default_rng(8).integers(-8, 9, (24, *blocks.shape))
    moved = [np.roll(blocks, 2 * n, 1) + grain[n] for n in range(24)]
    pictures = [from_array(np.clip(one, 0, 255).astype(np.uint8)) for one in moved]
    made = [write(tmp_path / f"{n}.mp4", pictures).read_bytes() for n in range(3)]
    plain = {**CODECS["h264"].options, "x264-params": "asm=0"}
    monkeypatch.setattr("keyer.media.clip_write.encoder_options", lambda _: plain)
    assert {*made, write(tmp_path / "plain.mp4", pictures).read_bytes()} == {made[0]}


def test_time_stamps_are_even(tmp_path):
    path = write(tmp_path / "a.mp4", [from_array(numbered(number)) for number in range(20)])
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        stamps = sorted(packet.pts for packet in container.demux(stream) if packet.pts is not None)
        steps = {(later - sooner) * stream.time_base for sooner, later in pairwise(stamps)}
    assert steps == {1 / RATE}


# --- whole or not at all


def test_a_failure_leaves_nothing(tmp_path):
    path = tmp_path / "a.mp4"

    def fail():
        with ClipWriter(path, 160, 96, RATE) as clip:
            clip.write(from_array(numbered(1)))
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        fail()
    assert not list(tmp_path.iterdir())


def test_a_clip_without_a_picture_is_refused(tmp_path):
    with (
        pytest.raises(OutputError, match="without a picture"),
        ClipWriter(tmp_path / "a.mp4", 160, 96, RATE),
    ):
        pass
    assert not list(tmp_path.iterdir())


def test_a_picture_of_another_size_is_refused(tmp_path):
    with pytest.raises(FrameShapeError, match="160 x 96, got 8 x 8"):
        write(tmp_path / "a.mp4", [from_array(numbered(1)), bars(8, 8)])
    assert not list(tmp_path.iterdir())


def test_an_existing_clip_is_kept(tmp_path):
    path = tmp_path / "a.mp4"
    path.write_bytes(b"precious")
    with pytest.raises(OutputError, match="exists"):
        write(path, [bars(64, 32)])
    assert path.read_bytes() == b"precious"
    with pytest.raises(OutputError, match="is an input"):
        write(path, [bars(64, 32)], files=Files([path], force=True))
    write(path, [bars(64, 32)], files=Files(force=True))
    assert open_source(path).props.frames == 1


@pytest.mark.parametrize(
    ("name", "size", "settings", "finding"),
    [
        ("a.mp4", (64, 32), {"codec": "none"}, "codec must be one of h264"),
        ("a.mp4", (64, 32), {"codec": "ffv1"}, r"must end in \.mkv"),
        ("a.gif", (64, 32), {}, r"must end in \.mp4"),
        ("a.mp4", (63, 32), {}, "even size"),
        ("a.mp4", (64, 31), {}, "even size"),
        ("a.mov", (63, 32), {"codec": "prores-hq"}, "even size"),
        ("a.mkv", (64, 32), {"codec": "ffv1", "pixel_aspect": Fraction(12, 11)}, "pixel aspect"),
    ],
)
def test_what_a_codec_cannot_hold(tmp_path, name, size, settings, finding):
    with pytest.raises(SettingError, match=finding):
        write(tmp_path / name, [bars(*size)], **settings)
    assert not list(tmp_path.iterdir())


def test_an_encoder_that_is_not_installed(tmp_path, monkeypatch):
    def missing(*_):
        name = "libx264"
        raise av.codec.codec.UnknownCodecError(name)

    monkeypatch.setattr(av.codec, "Codec", missing)
    with pytest.raises(SettingError, match="installation of PyAV lacks libx264"):
        write(tmp_path / "a.mp4", [bars(64, 32)])


def test_nothing_is_said_on_the_terminal(tmp_path, capfd):
    for codec, kind in CODECS.items():
        picture = bars(max(kind.least[0], 64), max(kind.least[1], 32))
        write(tmp_path / f"{codec}{kind.suffixes[0]}", [picture] * 3, codec=codec)
    captured = capfd.readouterr()
    assert (captured.out, captured.err) == ("", "")
