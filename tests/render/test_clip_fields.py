"""1080i from a sheet of twice the rate: each picture is woven of two of its frames."""

import av
import pytest

from keyer.errors import SettingError, TimeError
from keyer.render.clip import render_clip
from keyer.sheet.load import build_sheet

GREYS = ["#202020", "#404040", "#606060", "#808080", "#A0A0A0", "#C0C0C0"]


def greys(form="1080p50", **sheet):
    """Frame n shows the n-th grey."""
    return build_sheet(
        {
            "version": 1,
            "sheet": {"format": form, "length": len(GREYS), **sheet},
            "sources": {f"g{n}": {"colour": grey} for n, grey in enumerate(GREYS)},
            "cues": [{"source": f"g{n}", "at": n} for n in range(len(GREYS))],
        }
    )


def fields_of(path):
    """Luma of the first two rows of every picture."""
    with av.open(str(path)) as container:
        return [
            tuple(int(frame.to_ndarray()[0][row, 360]) for row in (0, 1))
            for frame in container.decode(video=0)
        ]


@pytest.mark.parametrize(
    ("form", "name", "rate", "top_first"),
    [("1080p50", "a.mxf", 25, True), ("576p50-16:9", "a.mov", 25, True),
     ("480p59.94-16:9", "b.mov", 30000 / 1001, False)],
)  # fmt: skip
def test_each_picture_has_two_frames_of_the_sheet(tmp_path, form, name, rate, top_first):
    sheet = greys(form, start="10:00:00:00")
    report = render_clip(sheet, tmp_path / name, interlace=True)
    assert (report.frames, report.timecode) == (3, "10:00:00:00")
    assert float(report.shape.rate) == pytest.approx(rate)
    # by hand: grey g of 255 is the code 64 + 876 g / 255
    codes = [64 + 876 * int(grey[1:3], 16) / 255 for grey in GREYS]
    pairs = list(zip(codes[::2], codes[1::2], strict=True))
    expected = pairs if top_first else [pair[::-1] for pair in pairs]
    for found, wanted in zip(fields_of(tmp_path / name), expected, strict=True):
        assert found == pytest.approx(wanted, abs=3)


def test_timecode_counts_pictures(tmp_path):
    sheet = greys(start="10:00:00:48")
    assert render_clip(sheet, tmp_path / "a.mov", interlace=True).timecode == "10:00:00:24"


@pytest.mark.parametrize(
    ("form", "name", "settings", "error", "says"),
    [
        ("1080p25", "a.mxf", {}, SettingError, "needs a sheet of 50, 59.94 or 60"),
        ("1280x720@50", "a.mov", {}, SettingError, "needs a sheet of 1080, 576, 486, 480 lines"),
        ("1080p50", "a.mkv", {}, SettingError, "needs a codec that holds fields"),
        ("576p50-16:9", "a.mxf", {}, SettingError, "needs 1920 x 1080 at 25 or 29.97"),
        ("1080p50", "a.mxf", {"scale": 50}, SettingError, "keeps the sheet's size"),
        ("1080p50", "a.mxf", {"end": 5}, TimeError, "an even number of frames"),
        ("1080p50", "a.mxf", {"start": 1, "end": 5}, TimeError, "an even first frame"),
    ],
)
def test_what_cannot_be_woven_is_refused(tmp_path, form, name, settings, error, says):
    with pytest.raises(error, match=says):
        render_clip(greys(form), tmp_path / name, interlace=True, **settings)
    assert list(tmp_path.iterdir()) == []
