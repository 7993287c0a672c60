"""Layouts of frames: each comes out at its own depth, with its own samples."""

import av
import numpy as np
import pytest
from media.made import numbered, write_clip, write_planes

from keyer.kinds.picture import RgbPicture, YccPicture
from keyer.media.frames import picture_of, read_tags, upright
from keyer.media.source import open_source
from keyer.pixel.colour.load import load, load_alpha

RANDOM = np.random.default_rng(21)


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


def filled(layout, width=16, height=8):
    """A frame of random bytes, and the rows of each plane as they lie in memory."""
    frame = av.VideoFrame(width, height, layout)
    rows = []
    for plane in frame.planes:
        memory = np.frombuffer(memoryview(plane), np.uint8)
        memory[:] = RANDOM.integers(0, 256, memory.size)
        rows.append(memory.reshape(-1, plane.line_size))
    return frame, rows


def taken(frame):
    return picture_of(frame, read_tags("a", av.CodecContext.create("ffv1", "r"), frame))


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


def test_narrow_grey_is_read_as_narrow(tmp_path, opened):
    plane = np.tile(np.array([16, 126, 235, 235], np.uint8), (4, 1))
    path = write_planes(tmp_path / "a.mkv", [plane], layout="gray", color_range=1)
    found = load(opened(path).read(0))
    np.testing.assert_allclose(found[:, 1], [[0, 110 / 219, 1, 1]] * 3, atol=1e-6)


def test_grey_with_alpha():
    frame, (rows,) = filled("ya8")
    picture = taken(frame)
    np.testing.assert_array_equal(picture.planes, np.stack([rows[:8, 0:32:2]] * 3))
    np.testing.assert_array_equal(picture.alpha, rows[:8, 1:32:2])


def test_black_and_white():
    frame, (rows,) = filled("monob")
    bits = np.unpackbits(rows[:8, :2], axis=1)
    np.testing.assert_array_equal(taken(frame).planes[1], bits * 255)


@pytest.mark.parametrize("first", ["cb", "cr"])
def test_chroma_in_one_plane(first):
    """nv12 and nv21: 4:2:0 with Cb and Cr side by side."""
    frame, (luma, chroma) = filled("nv12" if first == "cb" else "nv21")
    picture = taken(frame)
    assert isinstance(picture, YccPicture)
    np.testing.assert_array_equal(picture.luma, luma[:8, :16])
    pair = (picture.cb, picture.cr) if first == "cb" else (picture.cr, picture.cb)
    np.testing.assert_array_equal(pair[0], chroma[:4, 0:16:2])
    np.testing.assert_array_equal(pair[1], chroma[:4, 1:16:2])


def test_samples_in_turn():
    """yuyv422: Y Cb Y Cr."""
    frame, (rows,) = filled("yuyv422")
    picture = taken(frame)
    np.testing.assert_array_equal(picture.luma, rows[:8, 0:32:2])
    np.testing.assert_array_equal(picture.cb, rows[:8, 1:32:4])
    np.testing.assert_array_equal(picture.cr, rows[:8, 3:32:4])


def test_big_endian_and_odd_depths():
    frame, (luma, *_) = filled("yuv422p10be")
    for plane in frame.planes:
        memory = np.frombuffer(memoryview(plane), np.uint8)
        memory[0::2] &= 3
    picture = taken(frame)
    assert picture.bits == 10
    np.testing.assert_array_equal(picture.luma, luma[:8, :32].copy().view(">u2").astype(int))
    frame, _ = filled("yuv420p9le")
    assert taken(frame).bits == 9


@pytest.mark.parametrize("layout", ["yuv411p", "yuv410p", "yuv440p"])
def test_rare_samplings_are_spread(layout):
    """Plain chroma stays plain whatever the sampling."""
    frame, (_, cb, cr) = filled(layout)
    cb[:], cr[:] = 90, 170
    picture = taken(frame)
    assert picture.cb.shape in {(8, 16), (4, 8), (8, 8)}
    assert np.all(picture.cb == 90)
    assert np.all(picture.cr == 170)


@pytest.mark.parametrize("degrees", [90, 180, 270])
def test_upright_turns_counter_clockwise(degrees):
    samples = RANDOM.integers(0, 256, (3, 4, 6)).astype(np.uint8)
    alpha = RANDOM.integers(0, 256, (4, 6)).astype(np.uint8)
    out = upright(RgbPicture(samples, alpha), degrees)
    for plane, before in zip([*out.planes, out.alpha], [*samples, alpha], strict=True):
        np.testing.assert_array_equal(plane, np.rot90(before, degrees // 90))
    assert out.planes.flags.c_contiguous
    assert out.planes.dtype == np.uint8


def test_upright_keeps_the_levels_of_a_clip_picture():
    luma = RANDOM.integers(0, 256, (4, 6)).astype(np.uint8)
    cb, cr = (RANDOM.integers(0, 256, (2, 3)).astype(np.uint8) for _ in range(2))
    picture = YccPicture(luma, cb, cr, 8, full_range=False, matrix="bt601", alpha=luma)
    out = upright(picture, 90)
    np.testing.assert_array_equal(out.planes, np.rot90(load(picture), axes=(1, 2)))
    np.testing.assert_array_equal(out.alpha, np.rot90(load_alpha(picture)))
    assert out.matrix == "bt601"
