"""A sheet that comes up out of a colour, or goes to one, as a whole."""

import numpy as np
import pytest
from media.tones import write_sound
from render.spots import CARD, make_media, sheet_of

from keyer.errors import SheetError
from keyer.media.source import open_source
from keyer.render.clip import render_clip
from keyer.render.plan import Plan
from keyer.render.sinks.pictures import picture
from keyer.render.sound import SheetMix, sheet_sound
from keyer.report.checks.check import check_sheet


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    path = tmp_path_factory.mktemp("whole")
    make_media(path)
    return path


def faded(folder, light="video", **fades):
    sheet = {"sheet": {"light": light, **fades}}
    overlays = [{"source": "card"}, {"source": "plate", "key": {"kind": "chroma"}}]
    sources = {"a": {"file": "n25.mp4"}, "card": {"title": CARD}, "plate": {"file": "plate.mp4"}}
    return sheet_of(folder, sources=sources, cues=[{"source": "a"}], overlays=overlays, **sheet)


def shown(sheet, number):
    with Plan(sheet) as plan:
        return plan.picture(number, np.float32).planes


FADES = {"fade_in": {"length": 4, "colour": "#0000FF"}, "fade_out": {"length": 5}}


@pytest.mark.parametrize(("number", "gone"), [(0, 1.0), (1, 0.75), (3, 0.25), (4, 0.0), (14, 0.0),
                                              (15, 0.2), (18, 0.8), (19, 1.0)])  # fmt: skip
def test_everything_goes_alike(folder, number, gone):
    """By hand: four frames in, 0/4 there at first; five out, 5/5 gone at last."""
    colour = np.array((0.0, 0.0, 1.0) if number < 4 else (0.0, 0.0, 0.0))[:, None, None]
    whole = shown(faded(folder), number)
    found = shown(faded(folder, **FADES), number)
    np.testing.assert_allclose(found, (1 - gone) * whole + gone * colour, atol=1e-5)


def test_in_light_light_goes(folder):
    from keyer.pixel.colour.transfer import decode_signal, encode_light

    whole = shown(faded(folder, "linear"), 18).clip(0, 1)
    found = shown(faded(folder, "linear", **FADES), 18)
    np.testing.assert_allclose(found, encode_light(0.2 * decode_signal(whole)), atol=2e-3)


def test_what_was_clear_becomes_the_colour(folder):
    sources = {"nothing": {"clear": True}}
    sheet = sheet_of(folder, sources=sources, cues=[{"source": "nothing"}], sheet=FADES)
    with Plan(sheet) as plan:
        found = picture(plan.frame(16), plan.evaluator, np.float32, alpha=True)
    np.testing.assert_allclose(found.alpha, 0.4, atol=1e-6)


def test_a_clip_goes_too_and_its_copied_codes_with_it(folder, tmp_path):
    render_clip(faded(folder, **FADES), tmp_path / "a.mp4")
    source = open_source(tmp_path / "a.mp4")
    assert source.read(19).luma.max() <= 20
    assert source.read(10).luma.max() > 100
    source.close()


def test_sound_is_as_loud_as_the_picture_is_there(tmp_path):
    """25 frames a second, 1920 samples each; the end of a fade in of four frames at frame 4."""
    write_sound(tmp_path / "ones.wav", np.ones(20 * 1920, np.float32))
    sheet = sheet_of(tmp_path, sheet=FADES, sound=[{"file": "ones.wav"}])
    stretches, _ = sheet_sound(sheet)
    block = SheetMix(sheet, stretches).read(20 * 1920)
    assert block[0, 0] == 0
    assert block[1, 2 * 1920] == pytest.approx(0.5)
    np.testing.assert_array_equal(block[:, 4 * 1920 : 14 * 1920], 1)
    assert block[0, 17 * 1920] == pytest.approx(0.4)
    assert not block[:, 19 * 1920 :].any()
    mix = SheetMix(sheet, stretches)
    parts = [mix.read(5 * 1920) for _ in range(4)]
    np.testing.assert_allclose(np.concatenate(parts, axis=1), block, atol=1e-6)


def test_fades_that_do_not_fit_are_refused(folder):
    with pytest.raises(SheetError, match="fades of 12 and 9 frames do not fit into 20"):
        faded(folder, fade_in={"length": 12}, fade_out={"length": 9})
    with pytest.raises(SheetError, match="must be at least one frame"):
        faded(folder, fade_in={"length": 0})


def ending(folder, out, **fades):
    cues = [{"source": "grey"}, {"at": 12, "transition": {"kind": "fade", "length": 7}}]
    overlays = [{"source": "card", **out}]
    return sheet_of(
        folder, sources={"card": {"title": CARD}}, cues=cues, overlays=overlays, sheet=fades
    )


@pytest.mark.parametrize(
    ("out", "fades", "stays"),
    [
        ({}, {}, True),
        ({"out": 15}, {}, False),
        ({"transition_out": {"kind": "mix", "length": 7}}, {}, False),
        ({}, {"fade_out": {"length": 7}}, False),
    ],
)
def test_the_check_finds_what_stays_on_when_all_else_has_gone(folder, out, fades, stays):
    found = [one.check for one in check_sheet(ending(folder, out, **fades)).findings]
    assert ("overlay.stays" in found) == stays


def test_black_of_a_fade_of_everything_is_meant(folder):
    report = check_sheet(faded(folder, **FADES))
    assert {one.verdict for one in report.findings if one.check == "timing.black"} == {"holds"}
