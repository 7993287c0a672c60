"""A clip rendered in parts and joined is the clip rendered at once."""

import av
import pytest
from render.spots import SUFFIXES, effects, sheet_of

from keyer.errors import InputFileError, OutputError, SettingError
from keyer.media.clip_write import ClipWriter
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


def greys(length, form, **sheet):
    """Frame n shows the n-th of 64 greys."""
    return build_sheet(
        {
            "version": 1,
            "sheet": {"format": form, "length": length, **sheet},
            "sources": {f"g{n}": {"colour": f"#{4 * n:02x}{4 * n:02x}{4 * n:02x}"}
                        for n in range(length)},
            "cues": [{"source": f"g{n}", "at": n} for n in range(length)],
        }
    )  # fmt: skip


def decoded(path):
    with av.open(str(path)) as clip:
        return [
            (frame.to_ndarray().tobytes(), frame.pts, frame.interlaced_frame)
            for frame in clip.decode(video=0)
        ]


def facts(path):
    """What an independent reader says of a clip."""
    with av.open(str(path)) as clip:
        stream = clip.streams.video[0]
        code = stream.codec_context
        frame = next(clip.decode(video=0))
        return (
            clip.metadata.get("timecode", stream.metadata.get("timecode")), stream.average_rate,
            stream.frames, clip.duration, code.pix_fmt, code.profile, code.color_primaries,
            code.color_trc, code.colorspace, code.color_range, stream.sample_aspect_ratio,
            frame.interlaced_frame, frame.height, [s.type for s in clip.streams],
        )  # fmt: skip


@pytest.mark.parametrize(
    ("form", "name", "settings"),
    [
        ("720p25", "a.mxf", {}),
        ("576p50-16:9", "a.mov", {"interlace": True}),
        ("128x72@25", "a.mov", {"slate": True, "codec": "png"}),
    ],
)
def test_parts_for_air(tmp_path, form, name, settings):
    """VC-3 in MXF (whose identity is new each time), fields, and a slate that is cut through."""
    sheet = greys(6, form, start="10:00:00:00")
    whole = tmp_path / f"whole-{name}"
    render_clip(sheet, whole, **settings)
    parts = parts_of(sheet, tmp_path / name, 3, **settings)
    report = render_in_parts(parts)
    assert packets(report.output) == packets(whole)
    assert decoded(report.output) == decoded(whole)
    assert facts(report.output) == facts(whole)
    assert facts(whole)[0] == report.timecode
    if name == "a.mov":
        assert report.output.read_bytes() == whole.read_bytes()


def test_what_is_there_is_not_rendered_again(tmp_path):
    sheet = greys(12, "32x16@25")
    parts = parts_of(sheet, tmp_path / "a.mov", 4, codec="png")
    render_part(parts, 2)
    before = parts.path(2).stat().st_mtime_ns
    assert parts.missing() == [1, 3, 4]
    assert render_part(parts, 2) == (f"{parts.path(2)} is there already.",)
    told = []
    assert parts.path(2).stat().st_mtime_ns == before
    render_in_parts(parts, progress=lambda *pair: told.append(pair))
    assert told == [(n, 12) for n in range(4, 13)]


def test_a_part_that_fails_leaves_nothing_and_the_others_stay(tmp_path, monkeypatch):
    sheet = greys(12, "32x16@25")
    parts = parts_of(sheet, tmp_path / "a.mov", 3, codec="png")
    real, count = ClipWriter.write, []

    def write(self, picture):
        count.append(picture)
        if len(count) > 5:
            msg = "the disk is full."
            raise OutputError(msg)
        real(self, picture)

    with monkeypatch.context() as broken:
        broken.setattr(ClipWriter, "write", write)
        with pytest.raises(OutputError, match="full"):
            render_in_parts(parts)
        assert sorted(path.name for path in parts.folder.iterdir()) == [
            parts.path(1).name,
            parts.digest(1).name,
        ]
        with pytest.raises(OutputError, match=r"parts 2, 3 of 3 are not in .* Render them first"):
            join(parts)
        parts.path(1).unlink()
        parts.digest(1).unlink()
        with pytest.raises(OutputError, match="full"):
            render_in_parts(parts)
        assert not list(tmp_path.iterdir())
    assert render_in_parts(parts).frames == 12


def test_a_part_that_is_damaged_is_named_and_no_clip_appears(tmp_path):
    parts = parts_of(greys(12, "32x16@25"), tmp_path / "a.mov", 2, codec="png")
    for number in (1, 2):
        render_part(parts, number)
    whole = parts.path(2).read_bytes()
    for damaged in (whole[:-40], whole[:-40] + b"x" + whole[-39:]):
        parts.path(2).write_bytes(damaged)
        with pytest.raises(InputFileError, match=r"part-002-of-002\.mov is damaged: .*Delete it"):
            join(parts)
    assert [path.name for path in tmp_path.iterdir()] == [parts.folder.name]
    parts.path(2).unlink()
    assert render_in_parts(parts).frames == 12


def test_a_part_of_too_few_pictures_is_named(tmp_path):
    """One of three renamed to one of two, its digest with it."""
    sheet, output = greys(12, "32x16@25"), tmp_path / "a.mov"
    two, three = (parts_of(sheet, output, count, codec="png") for count in (2, 3))
    assert two.folder == three.folder
    render_part(two, 1)
    render_part(three, 1)
    three.path(1).replace(two.path(2))
    three.digest(1).replace(two.digest(2))
    with pytest.raises(InputFileError, match="holds 4 pictures instead of 6"):
        join(two)


def test_parts_of_another_state_never_meet(tmp_path):
    """Another length, another file under the same name, another codec: another folder."""
    sheet = greys(12, "32x16@25")
    first = parts_of(sheet, tmp_path / "a.mov", 2, codec="png")
    render_part(first, 1)
    (first.folder / "mine.txt").write_text("kept")
    then = parts_of(greys(13, "32x16@25"), tmp_path / "a.mov", 2, codec="png")
    assert then.missing() == [1, 2]
    assert others(then) == [first.folder]
    assert parts_of(sheet, tmp_path / "a.mov", 2, codec="prores-hq").folder != first.folder
    assert parts_of(sheet, tmp_path / "a.mov", 2, codec="png", end=11).folder != first.folder
    render_in_parts(first)
    assert [path.name for path in first.folder.iterdir()] == ["mine.txt"]


@pytest.mark.parametrize(
    ("name", "count", "says"),
    [
        ("a.mp4", 2, r"parts needs a codec whose pictures stand alone \(ffv1, .*\), got h264\."),
        ("a.webp", 2, "got webp"),
        ("a.mkv", 3, r"parts must be in \[1, 2\] for 20 pictures, got 3\."),
        ("a.mov", 0, r"parts must be in \[1, 20\] for 20 pictures, got 0\."),
    ],
)
def test_what_cannot_be_cut_is_refused(tmp_path, name, count, says):
    with pytest.raises(SettingError, match=says):
        parts_of(greys(20, "32x16@25"), tmp_path / name, count)
    assert not list(tmp_path.iterdir())
