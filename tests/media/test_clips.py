from fractions import Fraction

import av
import numpy as np
import pytest
from media.made import number_of, numbered, write_clip, write_planes
from support import reference

from keyer.errors import InputFileError, TimeError
from keyer.kinds.picture import RgbPicture, YccPicture
from keyer.media.clips import Clip
from keyer.media.source import open_source
from keyer.pixel.load import load, load_alpha, store

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
    plane = np.full((rows, 64), 126, np.uint8)
    chroma = np.full((rows // 2, 32), 100, np.uint8)
    source = opened(write_planes(tmp_path / "a.mkv", [plane, chroma, chroma]))
    assert source.props.matrix == matrix
    assert source.read(0).matrix == matrix
    said = " ".join(source.props.notices)
    assert "does not say its colour matrix" in said
    assert f"BT.{matrix[2:]}" in said
    assert ("pixel aspect" in said) == (rows in {480, 576})


@pytest.mark.parametrize("number", [4, 7, 8, 9, 10])
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


@pytest.mark.parametrize("layout", ["rgb24", "rgba"])
def test_png_frames_come_back_exactly(tmp_path, opened, layout):
    path = write_clip(tmp_path / "a.mov", codec="png", layout=layout, frames=3, options={})
    source = opened(path)
    picture = source.read(1)
    assert isinstance(picture, RgbPicture)
    np.testing.assert_array_equal(picture.planes, np.moveaxis(numbered(1), -1, 0))
    assert source.props.has_alpha == (layout == "rgba")
    if layout == "rgba":
        assert np.all(picture.alpha == 255)


@pytest.mark.parametrize("layout", ["bgr0", "bgra"])
def test_rgb_layouts_keep_their_levels(tmp_path, opened, layout):
    path = write_clip(tmp_path / "a.mkv", codec="ffv1", layout=layout, frames=2, options={})
    picture = opened(path).read(1)
    expected = np.moveaxis(numbered(1), -1, 0) / 255
    np.testing.assert_allclose(load(picture), expected, atol=1e-5)


@pytest.mark.parametrize(
    ("name", "codec", "layout"),
    [("a.mkv", "ffv1", "gbrp16le"), ("a.mkv", "ffv1", "rgb48le"), ("a.mov", "png", "rgb48be")],
)
def test_sixteen_bit_rgb_keeps_every_bit(tmp_path, opened, name, codec, layout):
    samples = np.random.default_rng(3).integers(0, 65536, (3, 16, 32)).astype(np.uint16)
    if layout == "gbrp16le":
        planes = [samples[1], samples[2], samples[0]]
    else:
        packed = np.moveaxis(samples, 0, -1).reshape(16, 96)
        planes = [packed.byteswap() if layout.endswith("be") else packed]
    path = write_planes(tmp_path / name, planes, codec=codec, layout=layout, width=32)
    np.testing.assert_array_equal(opened(path).read(1).planes, samples)


def test_ten_bit_rgb_reaches_white(tmp_path, opened):
    """By hand: code 1023 of 10 bits is 65535 of 16; 512 is 512 x 65535 / 1023 = 32799.6."""
    planes = [np.array([[0, 512, 1023, 1]] * 4, np.uint16)] * 3
    path = write_planes(tmp_path / "a.mkv", planes, layout="gbrp10le")
    picture = opened(path).read(0)
    assert picture.planes[0, 0].tolist() == [0, 32800, 65535, 64]


@pytest.mark.parametrize(
    ("layout", "white"), [("gray", 255), ("gray10le", 1023), ("gray16le", 65535)]
)
def test_grey_clips(tmp_path, opened, layout, white):
    depth = np.uint8 if white == 255 else np.uint16
    plane = np.tile(np.linspace(0, white, 16).round().astype(depth), (16, 1))
    path = write_planes(tmp_path / "a.mkv", [plane], layout=layout)
    found = load(opened(path).read(0))
    np.testing.assert_allclose(found, np.tile(plane / white, (3, 1, 1)), atol=1e-5)


def test_alpha_of_a_clip(tmp_path, opened):
    """Left half clear, right half opaque, through ProRes 4444."""
    luma = np.full((32, 64), 502, np.uint16)
    chroma = np.full((32, 64), 512, np.uint16)
    alpha = np.zeros((32, 64), np.uint16)
    alpha[:, 32:] = 1023
    path = write_planes(
        tmp_path / "a.mov",
        [luma, chroma, chroma, alpha],
        codec="prores_ks",
        layout="yuva444p10le",
        options={"profile": "4444", "alpha_bits": "16"},
        colorspace=1,
    )
    source = opened(path)
    assert source.props.has_alpha
    found = load_alpha(source.read(0))
    np.testing.assert_allclose(found[:, :32], 0, atol=1e-3)
    np.testing.assert_allclose(found[:, 32:], 1, atol=1e-3)


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


# --- bad clips


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
    assert numbers(open_source(path), [39, 5]) == [39, 5]
    data = path.read_bytes()
    path.write_bytes(data[: len(data) * 7 // 10])
    refused(path, capfd, "cut short|truncated")


def test_damaged_in_the_middle(tmp_path, capfd):
    path = write_clip(tmp_path / "a.mp4", draw=noisy, frames=20)
    data = bytearray(path.read_bytes())
    for place in range(len(data) // 3, len(data) // 3 + 600):
        data[place] = 7
    path.write_bytes(data)
    refused(path, capfd, "damaged|cannot be decoded")


def noisy(number, width, height):
    return np.random.default_rng(number).integers(0, 256, (height, width, 3)).astype(np.uint8)


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


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("a.m3u8", "#EXTM3U\n#EXT-X-TARGETDURATION:9\n#EXTINF:9,\nclip.ts\n#EXT-X-ENDLIST\n"),
        ("a.ffconcat", "ffconcat version 1.0\nfile clip.ts\n"),
    ],
)
def test_lists_that_lead_to_other_files_are_not_followed(tmp_path, capfd, name, text):
    write_clip(tmp_path / "clip.ts", frames=3)
    (tmp_path / name).write_text(text)
    refused(tmp_path / name, capfd, "no moving picture|neither")


def test_a_picture_beyond_all_measure(tmp_path, capfd):
    path = tmp_path / "a.y4m"
    path.write_bytes(b"YUV4MPEG2 W100000 H100000 F25:1 C420\nFRAME\n")
    refused(path, capfd, "neither|at most")
