"""Interlaced clips: deinterlaced on reading, to frames or to fields, in their own order."""

from fractions import Fraction

import av
import numpy as np
import pytest
from media.made import write_clip

import keyer
from keyer.kinds.formats import parse_format
from keyer.media.source import open_source
from keyer.pixel.colour.load import load
from keyer.render.sources import OpenSource
from keyer.sheet.source import File, Source

STEP, WIDE, WIDTH, HEIGHT = 4, 30, 160, 96
"""Columns that the bar goes from field to field, and its width."""


def bar(field):
    row = np.full((WIDTH, 3), 40, np.uint8)
    row[10 + STEP * field : 10 + STEP * field + WIDE] = 220
    return row


def draw(order):
    def frame(number, width, height):
        picture = np.empty((height, width, 3), np.uint8)
        first, second = (0, 1) if order == "tff" else (1, 0)
        picture[first::2], picture[second::2] = bar(2 * number), bar(2 * number + 1)
        return picture

    return frame


def write(path, order, codec, layout, frames, options):
    """Write a clip whose frames say which of their fields comes first."""
    graph = av.filter.Graph()
    source = graph.add_buffer(width=WIDTH, height=HEIGHT, format=layout, time_base=Fraction(1, 25))
    marked, sink = graph.add("setfield", order), graph.add("buffersink")
    source.link_to(marked)
    marked.link_to(sink)
    graph.configure()
    with av.open(str(path), "w") as container:
        stream = container.add_stream(codec, rate=25, options=options)
        stream.width, stream.height, stream.pix_fmt = WIDTH, HEIGHT, layout
        for number in range(frames):
            frame = av.VideoFrame.from_ndarray(draw(order)(number, WIDTH, HEIGHT), format="rgb24")
            frame = frame.reformat(format=layout, interpolation="POINT")  # keeps fields apart
            frame.pts, frame.time_base = number, Fraction(1, 25)
            graph.vpush(frame)
            container.mux(stream.encode(graph.vpull()))
        container.mux(stream.encode())
    return path


@pytest.fixture(scope="module", params=["tff", "bff"])
def clip(request, tmp_path_factory):
    path = tmp_path_factory.mktemp("fields") / f"{request.param}.mp4"
    options = {"x264-params": "interlaced=1:crf=8:bframes=2"}
    return write(path, request.param, "libx264", "yuv420p", 12, options)


def place_of(planes):
    """Where the bar begins, and how ragged its edges are."""
    level = planes[1, 20:-20]
    columns = (level > 0.5).sum(1)
    start = (level > 0.5).argmax(1)
    assert abs(float(columns.mean()) - WIDE) < 2
    return float(start.mean()), float(np.ptp(start))


def test_a_picture_a_frame_is_no_comb(clip):
    source = open_source(clip)
    assert (source.props.rate, source.props.frames) == (25, 12)
    for number in (0, 3, 7, 11):
        start, ragged = place_of(load(source.read(number)))
        assert start == pytest.approx(10 + STEP * 2 * number, abs=1)  # of the first field
        assert ragged <= 2
    assert "deinterlaced to one picture a frame" in " ".join(source.props.notices)
    source.close()


def test_fields_at_double_rate_come_in_their_order(clip):
    source = open_source(clip, Fraction(50))
    assert (source.props.rate, source.props.frames, source.props.fields) == (50, 24, 2)
    starts = [place_of(load(source.read(number)))[0] for number in range(1, 23)]
    np.testing.assert_allclose(starts, 10 + STEP * np.arange(1, 23), atol=1)
    source.close()


@pytest.mark.parametrize("at", [None, Fraction(50)])
def test_a_picture_is_the_same_wherever_reading_began(clip, at):
    through = open_source(clip, at)
    count = through.props.frames
    expected = [load(through.read(number)) for number in range(count)]
    for number in (count - 1, 0, count // 2, count // 2 - 1, 5, 6, 1):
        sought = open_source(clip, at)
        np.testing.assert_array_equal(load(sought.read(number)), expected[number])
        sought.close()
        np.testing.assert_array_equal(load(through.read(number)), expected[number])
    through.close()


@pytest.mark.parametrize(("rate", "step"), [("50", STEP), ("25", 2 * STEP)])
def test_the_sheets_rate_says_which(clip, rate, step, tmp_path):
    """In and out are times of the file's own frames either way."""
    sheet = tmp_path / "sheet.toml"
    sheet.write_text(
        f'''
version = 1
[sheet]
format = "{WIDTH}x{HEIGHT}@{rate}"
length = "4f"
[sources.clip]
file = "{clip}"
in = "00:00:00:02"
out = "00:00:00:10"
[[cues]]
source = "clip"
''',
        encoding="utf-8",
    )
    starts = []
    for number in range(4):
        still = keyer.render_still(keyer.load_sheet(sheet), number)
        starts.append(place_of(still.transpose(2, 0, 1) / 255)[0])
    np.testing.assert_allclose(starts, 10 + 4 * STEP + step * np.arange(4), atol=1)


def test_a_progressive_clip_keeps_its_rate(tmp_path):
    source = open_source(write_clip(tmp_path / "a.mp4", frames=3), Fraction(50))
    assert (source.props.rate, source.props.fields) == (25, 1)
    assert "interlaced" not in " ".join(source.props.notices)
    source.close()


def test_ten_bits_of_an_interlaced_clip_are_kept(tmp_path):
    options = {"flags": "+ilme+ildct"}
    path = write(tmp_path / "deep.mov", "tff", "prores_ks", "yuv422p10le", 3, options)
    source = open_source(path)
    assert source.props.bits == 10
    assert "deinterlaced" in " ".join(source.props.notices)
    assert source.read(1).bits == 10
    source.close()


def test_a_frame_and_a_field_of_one_number_are_told_apart(clip):
    """A picture that is kept for a sheet of 25 frames is none of a sheet of 50."""
    names = []
    for rate in ("25", "50"):
        on_air = OpenSource(Source("clip", File(clip)), parse_format(f"{WIDTH}x{HEIGHT}@{rate}"))
        names.append(on_air.node(2).signature)
        on_air.close()
    assert names[0] != names[1]
