from fractions import Fraction

import av
import numpy as np
import pytest
from media.made import HEIGHT, WIDTH, number_of
from PIL import Image
from render.spots import FIVE_RATES, SIZE, SUFFIXES, sheet_of

from keyer.errors import (
    SettingError,
)
from keyer.kinds.formats import parse_format, sized_format
from keyer.kinds.timing import RATES
from keyer.media.source import open_source
from keyer.pixel.colour.load import load
from keyer.render.clip import render_clip
from keyer.render.clip_shape import clip_shape
from keyer.sheet.load import build_sheet


# --- size, rate and tags
@pytest.mark.parametrize("rate", FIVE_RATES)
@pytest.mark.parametrize("name", ["a.mp4", "a.mov", "a.mkv"])
def test_timecode_counts_from_the_sheet_s_start(media, tmp_path, rate, name):
    """SMPTE ST 12-1: drop-frame at 29.97 and 59.94, with a semicolon."""
    drop = rate in {"29.97", "59.94"}
    start = "10:00:59;28" if drop else "10:00:59:20"
    sheet = sheet_of(
        media, rate, 10, sheet={"format": f"{SIZE}@{rate}", "length": 10, "start": start}
    )
    report = render_clip(sheet, tmp_path / name, start=4)
    assert report.timecode == sheet.label(4)
    with av.open(str(tmp_path / name)) as container:
        said = [dict(stream.metadata) for stream in container.streams]
    found = {key.lower(): value for part in said for key, value in part.items()}
    assert found["timecode"] == sheet.label(4)


@pytest.mark.parametrize("codec", ["h264", "prores-hq", "prores-4444"])
def test_tags_of_a_wide_625_line_clip(tmp_path, codec):
    """ITU-T H.273: 625-line BT.601 has primaries 5, transfer 6, matrix 5; narrow range is 1."""
    data = {
        "version": 1,
        "sheet": {"format": "576p25-16:9", "length": 3},
        "sources": {"bars": {"bars": 75}},
        "cues": [{"source": "bars"}],
    }
    path = tmp_path / f"a{SUFFIXES[codec]}"
    report = render_clip(build_sheet(data), path, codec=codec)
    assert (report.shape.width, report.shape.height) == (720, 576)
    with av.open(str(path)) as container:
        stream = container.streams.video[0]
        assert stream.sample_aspect_ratio == Fraction(16, 11)
        frame = next(container.decode(stream))
        tags = (frame.color_primaries, frame.color_trc, frame.colorspace, frame.color_range)
        assert tags == (5, 6, 5, 1)


@pytest.mark.parametrize(
    ("video", "name", "settings", "shape"),
    [
        ("1080p25", "a.mp4", {}, ("h264", 1920, 1080, 25)),
        ("1080p25", "a.mov", {}, ("prores-hq", 1920, 1080, 25)),
        ("1080p25", "a.mkv", {}, ("ffv1", 1920, 1080, 25)),
        ("1080p25", "A.MP4", {"scale": 50}, ("h264", 960, 540, 25)),
        ("1080p25", "a.mp4", {"scale": 33}, ("h264", 634, 356, 25)),
        ("1080p25", "a.mov", {"scale": 33, "codec": "png"}, ("png", 634, 356, 25)),
        ("1080p25", "a.gif", {}, ("gif", 640, 360, 25)),
        ("1080p50", "a.gif", {}, ("gif", 640, 360, 50)),
        ("1080p60", "a.gif", {}, ("gif", 640, 360, 30)),
        ("1080p60", "a.webp", {"scale": 10}, ("webp", 192, 108, 60)),
        # by hand: 720 x 16/11 = 1047.3, and 640 of them leave 352 rows
        ("576p25-16:9", "a.gif", {}, ("gif", 640, 352, 25)),
        ("576p25-16:9", "a.webp", {"scale": 100}, ("webp", 1047, 576, 25)),
    ],
)
def test_shapes(tmp_path, video, name, settings, shape):
    found = clip_shape(parse_format(video), tmp_path / name, **settings)
    assert (found.codec, found.width, found.height, found.rate) == shape


@pytest.mark.parametrize(
    ("name", "settings", "finding"),
    [
        ("a.avi", {}, "output must end in .mp4"),
        ("a", {}, "output must end in"),
        ("a.mp4", {"codec": "none"}, "codec must be one of h264"),
        ("a.mp4", {"codec": "gif"}, "must end in .gif"),
        ("a.gif", {"codec": "webp"}, "must end in .webp"),
        ("a.mp4", {"scale": 0}, "scale must be in"),
        ("a.mp4", {"scale": 200}, "scale must be in"),
        ("a.mp4", {"scale": float("nan")}, "scale must be"),
    ],
)
def test_refused_shapes(tmp_path, name, settings, finding):
    with pytest.raises(SettingError, match=finding):
        clip_shape(sized_format(160, 96, Fraction(25)), tmp_path / name, **settings)


def test_a_scaled_clip_is_the_mean_of_its_pixels(media, tmp_path):
    sheet = sheet_of(media, "25", 3, sources={"a": {"file": "deep.png"}}, cues=[{"source": "a"}])
    path = tmp_path / "a.mov"
    render_clip(sheet, path, codec="png", scale=50)
    found = open_source(path).read(1).planes / 65535
    deep = load(open_source(media / "deep.png").read(0))
    means = deep.reshape(3, HEIGHT // 2, 2, WIDTH // 2, 2).mean(axis=(2, 4))
    np.testing.assert_allclose(found, means, atol=1e-4)


# --- animated pictures
@pytest.mark.parametrize("name", ["a.gif", "a.webp"])
@pytest.mark.parametrize("rate", ["25", "59.94"])
def test_an_animated_picture_runs_as_long_as_the_clip(media, tmp_path, name, rate):
    sheet = sheet_of(
        media, rate, 60, sources={"n": {"file": f"n{rate}.mp4"}}, cues=[{"source": "n"}]
    )
    report = render_clip(sheet, tmp_path / name)
    step = 2 if name == "a.gif" and rate == "59.94" else 1
    with Image.open(tmp_path / name) as picture:
        assert picture.n_frames == report.frames == 60 // step
        assert picture.info["loop"] == 0
        times = []
        for index in range(picture.n_frames):
            picture.seek(index)
            array = np.asarray(picture.convert("RGB")).transpose(2, 0, 1) / 255
            assert number_of(array) == index * step
            times.append(picture.info["duration"])
    length = 1000 * 60 / float(RATES[rate])
    assert abs(sum(times) - length) <= 20
    assert min(times) >= (20 if name == "a.gif" else 16)


def test_an_animated_picture_leaves_the_sound_out_and_says_so(media, tmp_path):
    sheet = sheet_of(media, sound=[{"file": "tone.wav"}])
    report = render_clip(sheet, tmp_path / "a.gif")
    assert report.loudness is None
    assert report.notices == ("gif holds no sound; it is left out.",)
