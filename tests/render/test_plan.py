from fractions import Fraction

import numpy as np
import pytest
from PIL import Image

from keyer.errors import InputFileError, SheetError
from keyer.media.clip_write import ClipWriter
from keyer.pixel.colour.load import from_array, to_array
from keyer.render.plan import Plan
from keyer.render.still import render_still
from keyer.sheet.load import parse_sheet

HEAD = 'version = 1\n[sheet]\nformat = "64x36@25"\nlength = "4s"\n'
PLAIN = HEAD + (
    '[sources.red]\ncolour = "#FF0000"\n[sources.blue]\ncolour = "#0000FF"\n'
    '[[cues]]\nsource = "red"\n'
)


def _colour_at(sheet, frame):
    with Plan(sheet) as plan:
        picture = plan.picture(frame, np.float32)
    return picture.planes[:, 18, 32].tolist()


def test_mixed_frames_are_those_from_the_cue_on():
    """Four mixed frames: (i + 1) / 5 of the way, pure before and after."""
    sheet = parse_sheet(
        PLAIN + '[[cues]]\nsource = "blue"\nat = 10\ntransition = { kind = "mix", length = 4 }\n'
    )
    shares = [_colour_at(sheet, frame)[2] for frame in range(9, 16)]
    np.testing.assert_allclose(shares, [0, 0.2, 0.4, 0.6, 0.8, 1, 1], atol=1e-6)


def test_fade_from_a_colour_and_to_one():
    sheet = parse_sheet(
        HEAD
        + '[sources.red]\ncolour = "#FF0000"\n[[cues]]\nsource = "red"\n'
        + 'transition = { kind = "fade", length = 3, colour = "#00FF00" }\n'
        + '[[cues]]\nat = 50\ntransition = { kind = "fade", length = 3, colour = "#0000FF" }\n'
    )
    np.testing.assert_allclose(_colour_at(sheet, 0), [0.25, 0.75, 0], atol=1e-6)
    np.testing.assert_allclose(_colour_at(sheet, 3), [1, 0, 0], atol=1e-6)
    np.testing.assert_allclose(_colour_at(sheet, 51), [0.5, 0, 0.5], atol=1e-6)
    np.testing.assert_allclose(_colour_at(sheet, 99), [0, 0, 1], atol=1e-6)


def test_every_missing_file_and_unknown_pattern_is_reported_at_once():
    text = HEAD + (
        '[sources.a]\nfile = "gone.png"\n[sources.b]\nfile = "lost.mp4"\n'
        '[[cues]]\nsource = "a"\n[[cues]]\nsource = "b"\nat = "1s"\n'
        'transition = { kind = "wipe", length = 10, pattern = "clokWipe" }\n'
    )
    with pytest.raises(SheetError) as caught:
        Plan(parse_sheet(text, "spot.toml"))
    message = str(caught.value)
    assert "gone.png" in message
    assert "lost.mp4" in message
    assert "cues[1].transition.pattern, line 14" in message
    assert "clockWipe" in message


def test_a_single_missing_file_is_an_input_error():
    text = HEAD + '[sources.a]\nfile = "gone.png"\n[[cues]]\nsource = "a"\n'
    with pytest.raises(InputFileError, match="gone"):
        Plan(parse_sheet(text))


@pytest.fixture
def numbered(tmp_path):
    """A lossless clip of ten frames, frame n of grey 20 n, at 25 frames a second."""
    with ClipWriter(tmp_path / "numbered.mov", 64, 36, Fraction(25), codec="png") as clip:
        for number in range(10):
            clip.write(from_array(np.full((36, 64, 3), 20 * number, np.uint8)))
    return tmp_path


def _clip_sheet(folder, source="", cue="", rate="25"):
    head = HEAD.replace("@25", f"@{rate}")
    text = head + f'[sources.n]\nfile = "numbered.mov"\n{source}\n[[cues]]\nsource = "n"\n{cue}'
    return parse_sheet(text, folder=folder)


def _numbers(sheet, frames):
    with Plan(sheet) as plan:
        pictures = [plan.picture(f, np.float32).planes[0, 0, 0] for f in frames]
    return [round(float(p) * 255 / 20) for p in pictures]


@pytest.mark.parametrize(
    ("source", "expected"),
    [
        ("freeze = true", [0, 1, 8, 9, 9, 9, 9]),
        ("loop = true", [0, 1, 8, 9, 0, 1, 5]),
        ("in = 2\nout = 6\nloop = true", [2, 3, 2, 3, 4, 5, 5]),
        ("speed = 0.5\nfreeze = true", [0, 0, 4, 4, 5, 5, 7]),
        ("speed = 2.0\nfreeze = true", [0, 2, 9, 9, 9, 9, 9]),
        ("at = 5\nfreeze = true", [0, 0, 3, 4, 5, 6, 9]),
    ],
)
def test_clip_time(numbered, source, expected):
    """By hand: in + floor(frame x speed), looped or held between in and out."""
    assert _numbers(_clip_sheet(numbered, source), [0, 1, 8, 9, 10, 11, 15]) == expected


def test_clip_at_another_rate(numbered):
    """At 50 frames a second each picture of a 25 clip is due twice."""
    assert _numbers(_clip_sheet(numbered, "freeze = true", rate="50"), [0, 1, 2, 3, 19]) == [
        0,
        0,
        1,
        1,
        9,
    ]


def test_a_clip_that_ends_on_air_is_noted(numbered):
    with Plan(_clip_sheet(numbered)) as plan:
        assert len(plan.notices) == 1
        assert "ends 90 frames before" in plan.notices[0]
    with Plan(_clip_sheet(numbered, "loop = true")) as plan:
        assert plan.notices == []


def test_still_of_a_sheet_is_the_array_of_its_frame(tmp_path):
    picture = np.random.default_rng(1).integers(0, 255, (36, 64, 3), dtype=np.uint8)
    Image.fromarray(picture).save(tmp_path / "a.png")
    sheet = parse_sheet(
        HEAD + '[sources.a]\nfile = "a.png"\n[[cues]]\nsource = "a"\n', folder=tmp_path
    )
    np.testing.assert_array_equal(render_still(sheet, "1s"), picture)
    with Plan(sheet) as plan:
        np.testing.assert_array_equal(to_array(plan.picture(0, np.uint8)), picture)


def test_an_overlay_stands_where_its_keyframes_say():
    """Half size, moving from 25 % to 75 % of the width in 10 frames: at frame 5 in the middle."""
    sheet = parse_sheet(
        PLAIN
        + '[[overlays]]\nsource = "blue"\n[overlays.placement]\nscale = 50\nkeyframes = [\n'
        + "{ at = 0, position = [25, 50] }, { at = 10, position = [75, 50] } ]\n"
    )
    for frame, middle in ((0, 16), (5, 32), (10, 48), (30, 48)):
        with Plan(sheet) as plan:
            blue = plan.picture(frame, np.float32).planes[2, 18] > 0.5
        assert np.flatnonzero(blue).mean() == pytest.approx(middle - 0.5, abs=0.6)
        assert blue.sum() == pytest.approx(32, abs=1)


def test_a_luminance_key_keeps_what_is_bright():
    """A ramp keyed at clip 50 %, gain 4: clear up to the middle, solid from three quarters on."""
    sheet = parse_sheet(
        PLAIN
        + "[sources.ramp]\nramp = true\n[[overlays]]\nsource = 'ramp'\n"
        + "key = { kind = 'luminance', clip = 50.0, gain = 4.0 }\n"
    )
    with Plan(sheet) as plan:
        row = plan.picture(0, np.float32).planes[:, 18]
    np.testing.assert_allclose(row[:, :31], np.array([[1], [0], [0]]) * np.ones((3, 31)), atol=1e-6)
    ramp = row[1, 50:]
    np.testing.assert_allclose(row[:, 50:], np.stack([ramp] * 3), atol=1e-6)


def test_a_linear_key_takes_another_sources_alpha_and_can_be_inverted(tmp_path):
    alpha = np.zeros((36, 64), np.uint8)
    alpha[:, 32:] = 255
    Image.fromarray(np.dstack([np.zeros((36, 64, 3), np.uint8), alpha])).save(tmp_path / "key.png")
    text = (
        PLAIN
        + '[sources.key]\nfile = "key.png"\n[[overlays]]\nsource = "blue"\n'
        + "key = { kind = 'linear', source = 'key', channel = 'alpha', invert = INVERT }\n"
    )
    for invert, side in (("false", 1), ("true", 0)):
        sheet = parse_sheet(text.replace("INVERT", invert), folder=tmp_path)
        with Plan(sheet) as plan:
            blue = plan.picture(0, np.float32).planes[2, 18]
        assert blue[10 + 40 * side] == 1.0
        assert blue[50 - 40 * side] == 0.0


def test_squares_are_square_as_they_are_seen():
    """576 lines in 16:9 (BT.601): 4 squares are 144 rows each, of pixels 16:11 wide 99 columns."""
    sheet = parse_sheet(
        'version = 1\n[sheet]\nformat = "576p25-16:9"\nlength = 2\n[sources.a]\n'
        'checkerboard = { first = "#000000", second = "#FFFFFF", squares = 4 }\n'
        '[[cues]]\nsource = "a"\n'
    )
    with Plan(sheet) as plan:
        row = plan.picture(0, np.float32).planes[0, 36]
    edges = np.flatnonzero(np.abs(np.diff(row)) > 0.5)
    np.testing.assert_allclose(np.diff(edges), 99, atol=1)
