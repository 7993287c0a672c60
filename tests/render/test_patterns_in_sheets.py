"""Patterns of every effect in sheets: rendered, or refused when the sheet is checked."""

import numpy as np
import pytest
from support import TWIN
from wiping import find, weights

from keyer.errors import InputFileError, OutputError, SettingError, SheetError
from keyer.kinds.field import Geometry, Modifiers
from keyer.kinds.settings import Edge
from keyer.library import load_patterns
from keyer.media.source import open_source
from keyer.media.write import write_still
from keyer.pixel.colour.load import from_array, load, to_array
from keyer.pixel.compose.move import push, slide
from keyer.pixel.wipes.fields import build
from keyer.render.clip import render_clip
from keyer.render.plan import Plan
from keyer.render.recipe import source_files
from keyer.render.still import render_still
from keyer.render.stills import render_files
from keyer.sheet.load import build_sheet, load_sheet, parse_sheet

WIDTH, HEIGHT = 64, 36
MOVES = [pattern.name for pattern in load_patterns().of_family("move")]
DEFAULTS = ["pushWipe", "slideWipe", "fade"]
OURS = (
    '[[pattern]]\ntype = "ours"\nsubtype = "hex"\ndefault = true\nsummary = "A hexagon"\n'
    'function = "polygon"\nparams = { corners = 6, first_deg = 30 }\n'
)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Three pictures of noise, and a folder of patterns."""
    folder = tmp_path_factory.mktemp("spot")
    for seed, name in enumerate(("a", "b", "c")):
        codes = np.random.default_rng(seed).integers(0, 256, (HEIGHT, WIDTH, 3), dtype=np.uint8)
        write_still(folder / f"{name}.png", from_array(codes))
    (folder / "house").mkdir()
    (folder / "house" / "ours.toml").write_text(OURS)
    grey = np.tile(np.linspace(0, 65535, 100).astype(np.uint16), (50, 1))
    write_still(folder / "house" / "ramp.png", from_array(np.dstack([grey] * 3)))
    return folder


def spot(folder, transition=None, *, sheet=None, sources=None, **tables):
    """From a to b in frames 5 to 8, at progress 0.2, 0.4, 0.6 and 0.8."""
    data = {
        "version": 1,
        "sheet": {"format": f"{WIDTH}x{HEIGHT}@25", "length": 20, **(sheet or {})},
        "sources": {name: {"file": f"{name}.png"} for name in "abc"} | (sources or {}),
        "cues": [{"source": "a"}],
        **tables,
    }
    if transition is not None:
        transition = {"kind": "wipe", "length": 4, **transition}
        data["cues"].append({"source": "b", "at": 5, "transition": transition})
    return build_sheet(data, folder=folder)


def planes(folder, name):
    return load(open_source(folder / f"{name}.png").read(0))


def frames(sheet, *numbers):
    with Plan(sheet) as plan:
        return [plan.picture(number, np.float32).planes for number in numbers]


def expected(pattern, a, b, progress, colour=0.0):
    """What a pattern that is no wipe shows, by numpy alone."""
    kind, part = pattern.effect, pattern.params.get("kind")
    if kind in {"push", "slide"}:
        return {"push": push, "slide": slide}[kind](a, b, progress, pattern.params["side"])
    if part == "to colour":
        b = np.full_like(a, colour)
    elif part == "from colour":
        a = np.full_like(b, colour)
    return (1 - progress) * a + progress * b


@pytest.mark.parametrize("name", MOVES + DEFAULTS)
def test_a_cue_may_push_slide_or_fade(folder, name):
    a, b = planes(folder, "a"), planes(folder, "b")
    made = frames(spot(folder, {"pattern": name}), 4, 5, 7, 9)
    pattern = find(name)
    np.testing.assert_array_equal(made[0], a)
    np.testing.assert_allclose(made[1], expected(pattern, a, b, 0.2), atol=TWIN)
    np.testing.assert_allclose(made[2], expected(pattern, a, b, 0.6), atol=TWIN)
    np.testing.assert_array_equal(made[3], b)


@pytest.mark.parametrize("name", ["fade/fadeToColor", "fade/fadeFromColor"])
def test_a_fade_has_its_colour(folder, name):
    made = frames(spot(folder, {"pattern": name, "colour": "#FF0000"}), 7)[0]
    a, b = planes(folder, "a"), planes(folder, "b")
    red = np.array([1.0, 0.0, 0.0])[:, None, None]
    np.testing.assert_allclose(made, expected(find(name), a, b, 0.6, red), atol=TWIN)


@pytest.mark.parametrize("name", ["pushWipe/fromTop", "fade", "barWipe"])
def test_start_and_end_hold_for_every_effect(folder, name):
    """Half of the way, from a quarter to three quarters: at progress 0.2 it is at 0.35."""
    part = {"pattern": name, "start_progress": 0.25, "end_progress": 0.75}
    made = frames(spot(folder, part), 5)[0]
    a, b = planes(folder, "a"), planes(folder, "b")
    if name == "barWipe":
        of_a, of_b = weights(build(find(name), Geometry(WIDTH, HEIGHT)), 0.35)
        np.testing.assert_allclose(made, of_a * a + of_b * b, atol=TWIN)
    else:
        np.testing.assert_allclose(made, expected(find(name), a, b, 0.35), atol=TWIN)


def over(folder, name, change="transition_in", **keys):
    """`c` over `a` from frame 2 to 12, moving in frames 2 to 5 or out in frames 8 to 11."""
    move = {"kind": "wipe", "length": 4, "pattern": name, **keys}
    return spot(folder, overlays=[{"source": "c", "in": 2, "out": 12, change: move}])


@pytest.mark.parametrize("side", ["Left", "Top", "Right", "Bottom"])
def test_an_overlay_slides_in_and_out(folder, side):
    a, c = planes(folder, "a"), planes(folder, "c")
    name = f"slideWipe/from{side}"
    for change, numbers in (("transition_in", (2, 4)), ("transition_out", (11, 9))):
        for number, share in zip(numbers, (0.2, 0.6), strict=True):
            made = frames(over(folder, name, change), number)[0]
            np.testing.assert_allclose(made, slide(a, c, share, side.lower()), atol=TWIN)


def test_an_overlay_is_mixed_in_by_a_crossfade(folder):
    made = frames(over(folder, "fade"), 2)[0]
    mixed = 0.8 * planes(folder, "a") + 0.2 * planes(folder, "c")
    np.testing.assert_allclose(made, mixed, atol=TWIN)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("pushWipe/fromTop", "an overlay has none. Take slideWipe/fromTop"),
        ("fade/fadeToColor", "An overlay fades by fade/crossfade"),
        ("fade/fadeFromColor", "An overlay fades by fade/crossfade"),
    ],
)
@pytest.mark.parametrize("change", ["transition_in", "transition_out"])
def test_what_an_overlay_cannot_do_is_refused(folder, change, name, said):
    with pytest.raises(SheetError, match=said) as caught:
        Plan(over(folder, name, change))
    (fault,) = caught.value.faults
    assert fault.path == f"overlays[0].{change}.pattern"


OF_WIPES = {
    "soft": 2,
    "border": 2,
    "border_soft": 2,
    "border_colour": "#FFC83D",
    "border_ramp": "#FF0000",
    "border_source": "c",
    "reverse": True,
    "position": [40, 50],
    "aspect": 2,
    "rotate": 20,
    "repeat": [2, 1],
    "mirror": True,
    "modulate": {"wave": "saw"},
}


@pytest.mark.parametrize("name", ["pushWipe", "slideWipe/fromTop", "fade", "fade/fadeToColor"])
@pytest.mark.parametrize("key", OF_WIPES)
def test_settings_of_wipes_are_refused_for_other_patterns(folder, name, key):
    value = OF_WIPES[key]
    with pytest.raises(SheetError) as caught:
        Plan(spot(folder, {"pattern": name, key: float(value) if key == "aspect" else value}))
    (fault,) = caught.value.faults
    assert fault.path == f"cues[1].transition.{key}"
    assert f"cannot be used with {find(name).name}" in fault.message
    assert "\n" not in fault.message


def test_all_settings_that_do_not_fit_are_one_fault(folder):
    with pytest.raises(SheetError, match=r"soft: cannot .* \(nor can border, reverse\)") as caught:
        Plan(spot(folder, {"pattern": "pushWipe", "reverse": True, "border": 2, "soft": 1}))
    assert len(caught.value.faults) == 1


def test_a_colour_is_refused_for_a_pattern_that_does_not_fade(folder):
    with pytest.raises(SheetError, match=r"transition\.colour: cannot be used with kind 'wipe'"):
        spot(folder, {"pattern": "barWipe", "colour": "#FF0000"})
    with pytest.raises(SheetError, match=r"transition\.colour: cannot be used with fade/crossfade"):
        Plan(spot(folder, {"pattern": "fade", "colour": "#FF0000"}))


def test_a_house_wipes_line_is_named_where_it_is_used(folder):
    text = (
        f'version = 1\n[sheet]\nformat = "{WIDTH}x{HEIGHT}@25"\nlength = 20\n'
        '[sources]\na = { colour = "#F00" }\n[transitions.h]\nkind = "wipe"\nsoft = 3\n'
        'pattern = "barWipe"\n[[cues]]\nsource = "a"\n[[cues]]\nsource = "a"\nat = 5\n'
        'transition = { use = "h", length = 4, pattern = "pushWipe" }\n'
    )
    with pytest.raises(SheetError, match=r"cues\[1\].transition.soft, line 16: cannot be used"):
        Plan(parse_sheet(text))


def test_a_border_may_show_a_third_source(folder):
    made = frames(spot(folder, {"pattern": "irisWipe", "border": 14, "border_source": "c"}), 7)[0]
    of_a, of_b = weights(build(find("irisWipe"), Geometry(WIDTH, HEIGHT)), 0.6, Edge(border=14))
    parts = (planes(folder, name) for name in "abc")
    mixed = sum(w * p for w, p in zip((of_a, of_b, 1 - of_a - of_b), parts, strict=True))
    np.testing.assert_allclose(made, mixed, atol=1e-5)


def test_a_border_may_run_from_one_colour_to_another(folder):
    ramp = {"border": 60, "border_colour": "#FF0000", "border_ramp": "#0000FF"}
    made = frames(spot(folder, {"pattern": "barWipe", **ramp}), 7)[0]
    middle = round(0.6 * WIDTH)
    assert made[2, 18, middle - 6] > made[2, 18, middle + 6]
    assert made[0, 18, middle - 6] < made[0, 18, middle + 6]
    both = (made[0] + made[2])[18, middle - 6 : middle + 6]
    np.testing.assert_allclose(both, 1.0, atol=1e-6)


def test_a_third_source_must_be_there(folder):
    with pytest.raises(SheetError, match=r"cues\[1\].transition.border_source: no source is"):
        spot(folder, {"pattern": "barWipe", "border": 3, "border_source": "d"})
    gone = {"d": {"file": "gone.png"}}
    sheet = spot(folder, {"pattern": "barWipe", "border": 3, "border_source": "d"}, sources=gone)
    with pytest.raises(InputFileError, match=r"gone\.png"):
        Plan(sheet)


def test_a_third_source_counts_as_shown(folder):
    sheet = spot(folder, {"pattern": "barWipe", "border": 3, "border_source": "c"})
    assert sheet.shown() == {"a", "b", "c"}
    assert set(source_files(sheet)) == {"a.png", "b.png", "c.png"}
    assert spot(folder, {"pattern": "barWipe"}).shown() == {"a", "b"}


# --- patterns of one's own
def test_a_sheet_brings_folders_of_patterns(folder):
    for name in ("ours/hex", "ours", "own/ramp"):
        made = frames(spot(folder, {"pattern": name}, sheet={"patterns": "house"}), 7)[0]
        field = build(load_patterns([folder / "house"]).find(name), Geometry(WIDTH, HEIGHT))
        of_a, of_b = weights(field, 0.6)
        mixed = of_a * planes(folder, "a") + of_b * planes(folder, "b")
        np.testing.assert_allclose(made, mixed, atol=TWIN)


def test_ones_own_take_the_same_modifiers(folder):
    change = {"pattern": "own/ramp", "reverse": True, "repeat": [2, 1], "soft": 3}
    made = frames(spot(folder, change, sheet={"patterns": ["house"]}), 7)[0]
    pattern = load_patterns([folder / "house"]).find("own/ramp")
    field = build(pattern, Geometry(WIDTH, HEIGHT), Modifiers(reverse=True, repeat=(2, 1)))
    of_a, of_b = weights(field, 0.6, Edge(soft=3))
    mixed = of_a * planes(folder, "a") + of_b * planes(folder, "b")
    np.testing.assert_allclose(made, mixed, atol=TWIN)


def test_files_of_patterns_are_named_for_making_a_picture_again(folder):
    sheet = {"patterns": ["house"]}
    assert "house/ours.toml" in source_files(spot(folder, {"pattern": "ours"}, sheet=sheet))
    assert "house/ramp.png" in source_files(spot(folder, {"pattern": "own/ramp"}, sheet=sheet))
    plain = source_files(spot(folder, {"pattern": "barWipe"}, sheet=sheet))
    assert set(plain) == {"a.png", "b.png"}


@pytest.mark.parametrize("name", ["a.png", "house/ramp.png", "house/ours.toml", "spot-text.toml"])
def test_what_a_sheet_is_made_of_is_never_written_over(folder, name):
    text = spot(folder, {"pattern": "ours"}, sheet={"patterns": ["house"]}).text
    (folder / "spot-text.toml").write_text(text)
    before = (folder / name).read_bytes()
    with pytest.raises(OutputError):
        render_files(folder / "spot-text.toml", ["1"], folder / name, show="picture", force=True)
    with pytest.raises((OutputError, SettingError)):
        render_clip(load_sheet(folder / "spot-text.toml"), folder / name, codec="png", force=True)
    assert (folder / name).read_bytes() == before


def test_an_included_sheets_folders_are_found_from_it(folder):
    inner = folder / "inner"
    inner.mkdir(exist_ok=True)
    (inner / "more").mkdir(exist_ok=True)
    (inner / "more" / "ours.toml").write_text(OURS)
    (inner / "house.toml").write_text(
        f'version = 1\n[sheet]\nformat = "{WIDTH}x{HEIGHT}@25"\npatterns = "more"\n'
    )
    (folder / "spot.toml").write_text(
        'version = 1\ninclude = "inner/house.toml"\n[sheet]\nlength = 20\n'
        '[sources]\na = { file = "a.png" }\nb = { file = "b.png" }\n[[cues]]\nsource = "a"\n'
        '[[cues]]\nsource = "b"\nat = 5\n'
        'transition = { kind = "wipe", pattern = "ours", length = 4 }\n'
    )
    sheet = load_sheet(folder / "spot.toml")
    assert [part.written for part in sheet.patterns] == ["inner/more"]
    assert "inner/more/ours.toml" in source_files(sheet)
    assert render_still(sheet, 7).shape == (HEIGHT, WIDTH, 3)


def test_a_bad_folder_is_refused_by_name_and_line_even_if_it_is_not_used(folder, tmp_path):
    (tmp_path / "bad.toml").write_text(OURS.replace("corners = 6", "corners = 2"))
    sheet = spot(folder, sheet={"patterns": [str(tmp_path)]})
    with pytest.raises(SheetError, match=r"bad\.toml: 1 fault\n.*line 7: corners must be"):
        Plan(sheet)
    with pytest.raises(InputFileError, match="must be a folder of patterns"):
        Plan(spot(folder, sheet={"patterns": [str(tmp_path / "none")]}))


def test_a_bad_folder_is_one_fault_among_others(folder, tmp_path):
    (tmp_path / "bad.toml").write_text(OURS.replace("corners = 6", "corners = 2"))
    sheet = spot(
        folder,
        {"pattern": "ours"},
        sheet={"patterns": [str(tmp_path)]},
        sources={"b": {"file": "gone.png"}, "c": {"background": {"look": "own-look"}}},
    )
    with pytest.raises(SheetError) as caught:
        Plan(sheet)
    assert [fault.path for fault in caught.value.faults] == ["sheet.patterns", "sources.b"]
    assert "bad.toml: 1 fault; pattern[0].params.corners, line 7" in str(caught.value)


# --- moving backgrounds
def background(folder, keys=None, **source):
    return spot(
        folder,
        sources={"a": {"background": {"look": "cool-columns", **(keys or {})}, **source}},
    )


def test_a_background_stands_still_without_a_loop(folder):
    first, last = frames(background(folder), 0, 19)
    np.testing.assert_array_equal(first, last)
    assert first.std() > 0.02


def test_a_background_loops_without_a_jump(folder):
    made = frames(background(folder, {"loop": 8}), *range(17))
    for number in range(9):
        np.testing.assert_array_equal(made[number], made[number + 8])
    steps = [np.abs(made[n + 1] - made[n]).mean() for n in range(16)]
    assert min(steps) > 0.001
    assert max(steps) < 3 * min(steps)


def test_a_background_may_be_changed(folder):
    plain = frames(background(folder, {"look": "ember-drift"}), 0)[0]
    for keys in (
        {"colours": ["#102030", "#405060"]},
        {"soft": 10},
        {"seed": 5},
    ):
        other = frames(background(folder, {"look": "ember-drift", **keys}), 0)[0]
        assert np.abs(other - plain).max() > 0.05, keys
        again = frames(background(folder, {"look": "ember-drift", **keys}), 0)[0]
        np.testing.assert_array_equal(other, again)
    drifts = [
        frames(background(folder, {"look": "linen-stripes", "loop": 10, "drift": n}), 3)[0]
        for n in (0, 1)
    ]
    assert np.abs(drifts[1] - drifts[0]).max() > 0.01
    quiet = frames(background(folder, {"look": "linen-stripes", "loop": 10, "drift": 0}), 0)[0]
    np.testing.assert_array_equal(drifts[0], quiet)


def test_a_loop_may_have_a_time_of_its_own(folder):
    made = frames(background(folder, {"loop": 8}, at=3), 3, 0)
    begun = frames(background(folder, {"loop": 8}), 0, 5)
    np.testing.assert_array_equal(made, begun)


@pytest.mark.parametrize(
    ("keys", "source", "path", "said"),
    [
        ({"look": "cool-colums"}, {}, "sources.a", "Did you mean 'cool-columns'"),
        ({"colours": ["#FFF"]}, {}, "sources.a.background.colours", "must be 2 to 8 colours"),
        ({"colours": ["#FFF", "red"]}, {}, "sources.a.background.colours", "#RRGGBB"),
        ({"drift": 30}, {}, "sources.a.background.drift", r"in \[-20, 20\], got 30"),
        ({"soft": 130.0}, {}, "sources.a.background.soft", r"in \[0, 100\], got 130"),
        ({"seed": -1}, {}, "sources.a.background.seed", "got -1"),
        ({"loop": 1}, {}, "sources.a.background.loop", "at least two frames"),
        ({}, {"at": 3}, "sources.a.at", "belongs to clips"),
        ({"loop": 5}, {"loop": True}, "sources.a.loop", "belongs to clips"),
        ({"loop": 5}, {"speed": 2.0}, "sources.a.speed", "belongs to clips"),
    ],
)
def test_what_a_background_cannot_be_is_refused(folder, keys, source, path, said):
    with pytest.raises(SheetError, match=said) as caught:
        Plan(background(folder, keys, **source))
    (fault,) = caught.value.faults
    assert fault.path == path


def test_a_background_of_ones_own(folder, tmp_path):
    (tmp_path / "looks.toml").write_text(
        OURS + '[[background]]\nname = "greens"\nsummary = "Two greens"\npattern = "ours/hex"\n'
        'colours = ["#103020", "#206040"]\nruns = 3\n'
    )
    sheet = spot(
        folder,
        sheet={"patterns": [str(tmp_path)]},
        sources={"a": {"background": {"look": "Greens"}}},
    )
    made = frames(sheet, 0)[0]
    assert made[1].max() == pytest.approx(0x60 / 255, abs=0.01)
    assert [name.rpartition("/")[2] for name in source_files(sheet)] == ["looks.toml"]


# --- clips
@pytest.mark.parametrize(
    "transition",
    [
        {"pattern": "pushWipe/fromTop"},
        {"pattern": "slideWipe/fromRight"},
        {"pattern": "fade/fadeFromColor", "colour": "#FFC83D"},
        {"pattern": "clockWipe", "border": 8, "border_source": "c", "soft": 2},
    ],
)
@pytest.mark.parametrize("light", ["video", "linear"])
def test_a_clip_shows_the_stills(folder, tmp_path, transition, light):
    ground = {"c": {"background": {"look": "ember-drift", "loop": 6}}}
    sheet = spot(folder, transition, sheet={"light": light}, sources=ground)
    render_clip(sheet, tmp_path / "spot.mov", codec="png")
    clip = open_source(tmp_path / "spot.mov")
    for number in (4, 5, 7, 8, 9):
        np.testing.assert_array_equal(to_array(clip.read(number)), render_still(sheet, number))
    clip.close()


def test_a_clip_in_planes_shows_the_stills_too(folder, tmp_path):
    """Away from the seam, where H.264 blurs."""
    sheet = spot(
        folder,
        {"pattern": "pushWipe/fromLeft"},
        sources={"a": {"colour": "#C04020"}, "b": {"colour": "#2040C0"}},
    )
    render_clip(sheet, tmp_path / "spot.mp4")
    clip = open_source(tmp_path / "spot.mp4")
    found = load(clip.read(7))
    clip.close()
    still = load(from_array(render_still(sheet, 7)))
    assert np.abs(found - still)[:, :, :28].max() < 0.03
    assert np.abs(found - still)[:, :, 48:].max() < 0.03


def test_arrays_take_every_pattern():
    import keyer

    a, b, c = (
        np.random.default_rng(seed).integers(0, 256, (HEIGHT, WIDTH, 3), dtype=np.uint8)
        for seed in range(3)
    )
    moved = keyer.wipe(a, b, 0.25, "pushWipe")
    np.testing.assert_array_equal(moved[:, :16], b[:, 48:])
    np.testing.assert_array_equal(moved[:, 16:], a[:, :48])
    faded = keyer.wipe(a, b, 0.5, "fade/fadeToColor", colour="#FFFFFF")
    assert np.abs(faded - (a / 2 + 127.5)).max() <= 0.5
    bordered = keyer.wipe(a, b, 0.5, border=40, border_picture=c)
    np.testing.assert_array_equal(bordered[:, 28:36], c[:, 28:36])
    with pytest.raises(SettingError, match=r"^soft cannot be used with pushWipe/fromLeft"):
        keyer.wipe(a, b, 0.5, "pushWipe", soft=3)
