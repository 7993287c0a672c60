from fractions import Fraction

import av
import pytest
from media.made import HEIGHT, WIDTH, write_clip
from render.spots import numbers_in, sheet_of

from keyer.errors import (
    InputFileError,
)
from keyer.media.source import open_source
from keyer.render.clip import render_clip


def test_a_truncated_clip_is_one_line(tmp_path):
    path = write_clip(tmp_path / "cut.mp4")
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    with pytest.raises(InputFileError, match=r"cut short|truncated") as caught:
        render_clip(sheet_of(tmp_path, sources={"grey": {"file": path.name}}), tmp_path / "o.mkv")
    assert "\n" not in str(caught.value)
    assert not (tmp_path / "o.mkv").exists()


def test_a_truncated_stream_without_an_index_is_one_line(tmp_path):
    """Matroska is read on until it breaks off."""
    path = write_clip(tmp_path / "cut.mkv", frames=100)
    path.write_bytes(path.read_bytes()[: path.stat().st_size // 2])
    sheet = sheet_of(tmp_path, length=90, sources={"grey": {"file": "cut.mkv"}})
    with pytest.raises(InputFileError, match=r"truncated|cut short") as caught:
        render_clip(sheet, tmp_path / "o.mov")
    assert "\n" not in str(caught.value)
    assert not (tmp_path / "o.mov").exists()


def test_a_clip_without_a_frame_is_one_line(tmp_path):
    """A header that promises pictures, and none."""
    with av.open(str(tmp_path / "empty.mkv"), "w") as container:
        stream = container.add_stream("ffv1", rate=25)
        stream.width, stream.height, stream.pix_fmt = 64, 36, "yuv420p"
        container.start_encoding()
    sheet = sheet_of(tmp_path, sources={"grey": {"file": "empty.mkv"}})
    with pytest.raises(InputFileError, match=r"without a single frame|cannot be opened") as caught:
        render_clip(sheet, tmp_path / "o.mkv")
    assert "\n" not in str(caught.value)


def test_a_clip_that_ends_early_is_held_with_a_notice(tmp_path):
    write_clip(tmp_path / "short.mp4", frames=12)
    sheet = sheet_of(tmp_path, sources={"grey": {"file": "short.mp4"}})
    report = render_clip(sheet, tmp_path / "o.mkv")
    assert numbers_in(tmp_path / "o.mkv") == [*range(12), *[11] * 8]
    assert "ends 8 frames before" in report.notices[-1]


def test_a_clip_of_variable_rate_shows_what_is_due_with_a_notice(tmp_path):
    """Each frame is due for 2 frames of the sheet, but every third for 4: by its stamps."""
    stamps, at = [], 0
    for number in range(30):
        stamps.append(at)
        at += 160 if number % 3 == 2 else 80
    write_clip(tmp_path / "v.mkv", frames=30, stamps=stamps, time_base=Fraction(1, 1000))
    sheet = sheet_of(tmp_path, sources={"grey": {"file": "v.mkv"}})
    report = render_clip(sheet, tmp_path / "o.mov", codec="png")
    clip_rate = open_source(tmp_path / "v.mkv").props.rate
    assert any("variable frame rate" in notice for notice in report.notices)
    expected = []
    for frame in range(20):
        time = 1000 * Fraction(int(Fraction(frame, 25) * clip_rate)) / clip_rate
        expected.append(max(n for n, stamp in enumerate(stamps) if stamp <= time + 1))
    assert numbers_in(tmp_path / "o.mov") == expected


def test_a_clip_that_changes_size_midway_is_one_line(tmp_path):
    """Two streams of H.264 after each other, as a camera that was switched leaves them."""
    parts = []
    for index, size in enumerate([(WIDTH, HEIGHT), (WIDTH * 2, HEIGHT)]):
        parts.append(
            write_clip(
                tmp_path / f"{index}.h264", frames=10, size=size,
                options={"bf": "0", "x264-params": "annexb=1:repeat-headers=1"},
            ).read_bytes()
        )  # fmt: skip
    (tmp_path / "both.h264").write_bytes(b"".join(parts))
    sheet = sheet_of(tmp_path, sources={"grey": {"file": "both.h264"}})
    with pytest.raises(InputFileError, match="changes size") as caught:
        render_clip(sheet, tmp_path / "o.mkv")
    assert "\n" not in str(caught.value)
    assert not (tmp_path / "o.mkv").exists()


def test_a_backing_that_is_not_there_is_one_line(media, tmp_path):
    from keyer.errors import NoBackingError

    sheet = sheet_of(
        media,
        sources={"n": {"file": "n25.mp4"}},
        overlays=[{"source": "n", "in": 5, "key": {"kind": "chroma"}}],
    )
    with pytest.raises(NoBackingError):
        render_clip(sheet, tmp_path / "o.mp4")
    assert not list(tmp_path.iterdir())
