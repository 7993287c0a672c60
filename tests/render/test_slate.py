"""A slate with a clock before a clip: the spot itself stays what it is, to the sample."""

import math

import av
import numpy as np
import pytest
from media.tones import sine, write_sound

from keyer.errors import SettingError
from keyer.media.source import open_source
from keyer.pixel.colour.load import load
from keyer.render.clip import render_clip
from keyer.render.slate import slate_of, slate_pictures
from keyer.sheet.load import build_sheet


def spot(folder=".", form="128x72@25", start="10:00:00:00", sound=()):
    return build_sheet(
        {
            "version": 1,
            "sheet": {"format": form, "length": 10, "start": start, "title": "Trial"},
            "sources": {"a": {"ramp": True}, "b": {"colour": "#803010"}},
            "cues": [
                {"source": "a"},
                {"source": "b", "at": 2, "transition": {"kind": "mix", "length": 6}},
            ],
            "sound": list(sound),
        },
        folder=folder,
    )


@pytest.fixture(scope="module")
def pair(tmp_path_factory):
    """A clip with its slate, and one without, with a tone."""
    folder = tmp_path_factory.mktemp("slate")
    tone = sine(1, level=0.5)
    write_sound(folder / "tone.wav", np.stack([tone, tone]))
    sheet = spot(folder, sound=[{"file": "tone.wav"}])
    reports = [
        render_clip(sheet, folder / name, slate=name == "led.mkv")
        for name in ("plain.mkv", "led.mkv")
    ]
    return folder, reports


def planes_of(path):
    source = open_source(path)
    found = [load(source.read(index)) for index in range(source.props.frames)]
    source.close()
    return found


def test_the_spot_begins_ten_seconds_later_and_is_the_same(pair):
    folder, (plain, led) = pair
    assert (plain.frames, led.frames) == (10, 260)
    assert (plain.timecode, led.timecode) == ("10:00:00:00", "09:59:50:00")
    alone, whole = planes_of(folder / "plain.mkv"), planes_of(folder / "led.mkv")
    for one, other in zip(alone, whole[250:], strict=True):
        np.testing.assert_array_equal(one, other)
    assert all(not frame.any() for frame in whole[175:250])  # three seconds of black
    assert all(frame.any() for frame in whole[:175])
    assert led.loudness == plain.loudness  # the slate is not heard by the meter


def test_sound_is_silent_on_the_slate_and_begins_with_the_spot(pair):
    folder, _ = pair
    with av.open(str(folder / "led.mkv")) as container:
        heard = np.concatenate([f.to_ndarray().ravel()[::2] for f in container.decode(audio=0)])
    assert not heard[: 48_000 * 10].any()
    assert np.abs(heard[48_000 * 10 : 48_000 * 10 + 480]).max() > 0
    assert heard.size == 260 * 1920


def test_the_hand_stands_upright_when_the_spot_begins():
    """Its turn is the time left over a minute: by hand, 15 degrees before the top at 2.5 s.

    The brightest amber of a frame lies along the hand, from the dial's middle outwards.
    """
    sheet = spot(form="640x360@25")
    frames = list(slate_pictures(slate_of(sheet, 0, 10)))
    for index in (0, 50, 125):
        red, _, blue = frames[index].planes
        rows, columns = np.nonzero(red - blue > 0.5)
        x, y = columns.mean() - 640 * 0.74, 360 * 0.46 - rows.mean()
        left = (250 - index) / 25
        assert math.degrees(math.atan2(x, y)) == pytest.approx(-6 * left, abs=1)


def test_the_slate_says_what_follows():
    slate = slate_of(spot(), 2, 8, textless=True)
    assert slate.title == "Trial"
    assert dict(slate.facts) == {
        "Length": "00:00:00:06 (6 frames)", "Starts at": "10:00:00:02",
        "Picture": "128 x 72, 25 frames a second", "Sound": "none",
        "Version": f"{spot().digest[:12]}, textless",
    }  # fmt: skip


def test_a_slate_before_midnight(tmp_path):
    report = render_clip(spot(start=0), tmp_path / "a.mkv", slate=True)
    assert report.timecode == "23:59:50:00"


@pytest.mark.parametrize(
    "form", ["640x360@25", "576p25-4:3", "360x640@25", "200x200@30", "96x54@25"]
)
@pytest.mark.parametrize("name", ["T", "An exceedingly long name " * 8, "x" * 300, "$${title}", ""])
def test_facts_and_dial_keep_off_each_other(form, name):
    """What is written and the dial differ from the ground; a strip between them does not."""
    sheet = build_sheet(
        {
            "version": 1,
            "sheet": {"format": form, "length": 10, "title": name},
            "sources": {"a": {"ramp": True}},
            "cues": [{"source": "a"}],
        }
    )
    frame = next(slate_pictures(slate_of(sheet, 0, 10))).planes
    ground = np.abs(frame - frame[:, :1, :1]).max(axis=0) < 0.03
    height, width = ground.shape
    shape = float(sheet.format.display_aspect)
    assert ground[: round(0.03 * height)].all()
    assert ground[:, : round(0.03 * width)].all()
    assert ground[-round(0.03 * height) :].all()
    if shape >= 1.2:  # by hand: the dial begins 0.27 of the height before 0.74 of the width
        edge = int(width * (0.74 - 0.27 / shape))
        assert ground[:, edge - max(round(0.01 * width), 1) : edge].all()
    else:  # and below 0.6 of the height
        assert ground[round(0.575 * height) : round(0.595 * height)].all()


@pytest.mark.slow
def test_an_interlaced_clip_has_one_too(tmp_path):
    sheet = spot(form="576p50-16:9")
    report = render_clip(sheet, tmp_path / "a.mov", slate=True, interlace=True)
    assert (report.frames, report.timecode) == (255, "09:59:50:00")


def test_what_plays_in_a_loop_has_none(tmp_path):
    with pytest.raises(SettingError, match="gif plays in a loop"):
        render_clip(spot(), tmp_path / "a.gif", slate=True)
    assert list(tmp_path.iterdir()) == []
