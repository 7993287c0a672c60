from fractions import Fraction

import numpy as np
import pytest
from media.made import number_of, numbered, write_clip, write_planes
from support import reference

from keyer.errors import InputFileError, TimeError
from keyer.kinds.picture import YccPicture
from keyer.media.clips import Clip
from keyer.media.source import open_source
from keyer.pixel.colour.load import load, store

BARS = reference("video_levels")["bar"]
ORDER = np.random.default_rng(7).permutation(40)

RATES = [Fraction(rate) for rate in ("24000/1001", "24", "25", "30000/1001", "50", "60000/1001")]


def numbers(source, order):
    return [number_of(load(source.read(int(index)))) for index in order]


@pytest.fixture
def opened():
    """Open sources, and close them at the end."""
    sources = []

    def open_one(path):
        sources.append(open_source(path))
        return sources[-1]

    yield open_one
    for source in sources:
        source.close()


@pytest.mark.parametrize("rate", RATES, ids=str)
@pytest.mark.parametrize("container", ["mp4", "mkv", "ts"])
def test_every_frame_of_every_rate(tmp_path, opened, container, rate):
    """Frame n shows n, in order and out of order, with pictures coded out of order."""
    source = opened(write_clip(tmp_path / f"a.{container}", rate=rate))
    assert source.props.frames == 40
    assert source.props.rate == rate
    assert numbers(source, range(40)) == list(range(40))
    assert numbers(source, ORDER) == ORDER.tolist()


@pytest.mark.parametrize(
    ("name", "codec", "options"),
    [
        ("open.mp4", "libx264", {"x264-params": "open-gop=1:bframes=3:keyint=12"}),
        ("open.mkv", "libx264", {"x264-params": "open-gop=1:bframes=3:keyint=12"}),
        ("a.mpg", "mpeg2video", {"bf": "2"}),
        ("a.ts", "mpeg2video", {"bf": "2"}),
        ("a.avi", "mpeg4", {}),
        ("a.h264", "libx264", {"bf": "2"}),
        ("a.mov", "prores_ks", {}),
    ],
)
def test_every_frame_of_every_kind_of_coding(tmp_path, opened, name, codec, options):
    """Groups that lean on their neighbours, streams without an index or without time stamps."""
    layout = "yuv422p10le" if codec == "prores_ks" else "yuv420p"
    source = opened(write_clip(tmp_path / name, codec=codec, layout=layout, options=options))
    assert numbers(source, range(40)) == list(range(40))
    assert numbers(source, ORDER) == ORDER.tolist()


def test_reading_in_order_does_not_seek(tmp_path, monkeypatch):
    clip = Clip(write_clip(tmp_path / "a.mp4"))
    monkeypatch.setattr(Clip, "_seek", lambda *_: pytest.fail("sought"))
    order = [*range(10), 9, 12, 12, 15]
    assert numbers(clip, order) == order
    clip.close()


def test_times_outside_are_refused(tmp_path, opened):
    source = opened(write_clip(tmp_path / "a.mp4", frames=5))
    for index in (-1, 5):
        with pytest.raises(TimeError, match="frame must be 0 to 4"):
            source.read(index)


def test_a_clip_of_one_frame(tmp_path, opened):
    source = opened(write_clip(tmp_path / "a.mp4", frames=1))
    assert source.props.frames == 1
    assert numbers(source, [0]) == [0]


def test_an_uneven_rate_is_evened_out_and_said(tmp_path, opened):
    """By hand: pictures at 0, 2, 3, 6 of 25 a second hold for 2, 1, 3 and 1 frames."""
    stamps = [0, 2, 3, 6, 7, 8, 9, 10]
    path = write_clip(tmp_path / "a.mp4", frames=8, stamps=stamps, time_base=Fraction(1, 25))
    source = opened(path)
    assert source.props.rate == 25
    assert numbers(source, range(11)) == [0, 0, 1, 2, 2, 2, 3, 4, 5, 6, 7]
    assert "variable frame rate" in " ".join(source.props.notices)
    assert numbers(source, [7, 2, 10, 0]) == [4, 1, 7, 0]


def test_a_stream_that_begins_late_begins_at_its_first_picture(tmp_path, opened):
    stamps = list(range(100, 120))
    path = write_clip(tmp_path / "a.mkv", frames=20, stamps=stamps, time_base=Fraction(1, 25))
    source = opened(path)
    assert numbers(source, range(20)) == list(range(20))


@pytest.mark.parametrize("code", ["bt709", "bt601"])
@pytest.mark.parametrize(
    ("bits", "layout", "codec", "suffix"),
    [
        (8, "yuv420p", "ffv1", "mkv"),
        (8, "yuv420p", "libx264", "mp4"),
        (10, "yuv422p10le", "ffv1", "mkv"),
        (10, "yuv444p10le", "ffv1", "mkv"),
    ],
)
def test_bars_by_their_tag(tmp_path, opened, code, bits, layout, codec, suffix):
    """75 % bars of video_levels.toml [[bar]] within a code of 8 bits; not so by the other tag."""
    rows = [bar for bar in BARS if bar["standard"] == code and bar["percent"] == 75]
    codes = np.repeat(np.array([bar[f"ycbcr{bits}"] for bar in rows]), 16, axis=0).T
    depth = np.uint8 if bits == 8 else np.uint16
    step = 1 if "444" in layout else 2
    chroma_rows = 24 if "420" in layout else 48
    planes = [np.tile(codes[0], (48, 1)).astype(depth)]
    planes += [np.tile(plane[::step], (chroma_rows, 1)).astype(depth) for plane in codes[1:]]
    options = {"qp": "0"} if codec == "libx264" else {}
    expected = np.array([bar["rgb8_full"] for bar in rows]).T
    tags = {"bt709": 1, "bt601": 6}
    for tag, number in tags.items():
        path = write_planes(
            tmp_path / f"{tag}.{suffix}",
            planes,
            codec=codec,
            layout=layout,
            options=options,
            colorspace=number,
            color_range=1,
        )
        source = opened(path)
        assert source.props.matrix == tag
        assert source.props.notices == ()
        found = store(load(source.read(1)), np.uint8)[:, 24, 8::16].astype(int)
        if tag == code:
            np.testing.assert_allclose(found, expected, atol=1)
        else:
            assert np.abs(found - expected).max() > 4


@pytest.mark.parametrize(
    ("rows", "matrix"),
    [(96, "bt601"), (480, "bt601"), (576, "bt601"), (578, "bt709"), (720, "bt709")],
)
def test_a_silent_stream_is_taken_by_its_rows_and_that_is_said(tmp_path, opened, rows, matrix):
    plane = np.full((rows, 720), 126, np.uint8)
    chroma = np.full((rows // 2, 360), 100, np.uint8)
    source = opened(write_planes(tmp_path / "a.mkv", [plane, chroma, chroma]))
    assert source.props.matrix == matrix
    assert source.read(0).matrix == matrix
    said = " ".join(source.props.notices)
    assert "does not say its colour matrix" in said
    assert f"BT.{matrix[2:]}" in said
    assert ("pixel aspect" in said) == (rows in {480, 576})


@pytest.mark.parametrize("number", [4, 7, 8, 10])
def test_other_matrices_are_refused(tmp_path, number):
    plane = np.full((32, 32), 126, np.uint8)
    chroma = np.full((16, 16), 100, np.uint8)
    path = write_planes(tmp_path / "a.mkv", [plane, chroma, chroma], colorspace=number)
    with pytest.raises(InputFileError, match=r"matrix of .*convert it"):
        open_source(path)


def test_full_range_is_read_as_such(tmp_path, opened):
    plane = np.tile(np.arange(0, 256, 2, dtype=np.uint8), (32, 1))
    chroma = np.full((16, 64), 128, np.uint8)
    path = write_planes(tmp_path / "a.mkv", [plane] + [chroma] * 2, colorspace=1, color_range=2)
    picture = opened(path).read(0)
    assert picture.full_range
    np.testing.assert_allclose(load(picture)[0, 0], np.arange(0, 256, 2) / 255, atol=1e-6)


def test_motion_jpeg_is_full_range_and_sited_between_columns(tmp_path, opened):
    path = write_clip(
        tmp_path / "a.avi", codec="mjpeg", layout="yuvj420p", frames=3, options={"q": "2"}
    )
    source = opened(path)
    picture = source.read(2)
    assert picture.full_range
    assert not picture.left_sited
    assert number_of(load(picture)) == 2


@pytest.mark.parametrize("rotation", [90, 180, -90])
def test_a_turned_clip_stands_upright(tmp_path, opened, rotation):
    """The stripes of frame 1 are light on the left; turned 90 counter-clockwise, at the bottom."""
    source = opened(write_clip(tmp_path / "a.mp4", frames=3, rotation=rotation))
    light = load(source.read(1))[1] > 0.5
    expected = np.rot90(numbered(1)[..., 0] > 128, rotation // 90)
    assert light.shape == expected.shape == (source.props.height, source.props.width)
    assert np.mean(light == expected) > 0.98


def test_pixel_aspect(tmp_path, opened):
    path = write_clip(tmp_path / "a.mp4", frames=2, sample_aspect_ratio=Fraction(16, 11))
    assert opened(path).props.pixel_aspect == Fraction(16, 11)


def test_the_planes_are_the_decoders_own(tmp_path, opened):
    picture = opened(write_clip(tmp_path / "a.mp4", frames=2, size=(320, 96))).read(0)
    assert isinstance(picture, YccPicture)
    assert picture.luma.dtype == np.uint8
    assert picture.luma.flags.c_contiguous
    assert picture.luma.flags.writeable  # a kernel is compiled anew for arrays that are not
    assert picture.cb.shape == (48, 160)


def test_pictures_outlive_the_next_read(tmp_path, opened):
    source = opened(write_clip(tmp_path / "a.mp4"))
    kept = [source.read(index) for index in range(20)]
    assert [number_of(load(picture)) for picture in kept] == list(range(20))
