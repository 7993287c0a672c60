"""The pattern library and folders that a user adds."""

from dataclasses import replace

import numpy as np
import pytest
import support
from PIL import Image
from wiping import weights

from keyer.errors import InputFileError, KeyerError, SettingError, SheetError
from keyer.kinds.field import Geometry, Modifiers
from keyer.library import load_patterns
from keyer.library.load import library_folder
from keyer.pixel.wipes.fields import FUNCTIONS, build
from keyer.pixel.wipes.fields.functions import check_function

WIPES = support.reference("wipes")["wipe"]


def test_every_pattern_of_the_taxonomy_is_there_and_no_other():
    published = {(w["type"], w["subtype"], w.get("code")) for w in WIPES}
    found = {(p.type, p.subtype, p.code) for p in load_patterns()}
    assert found == published
    assert len(found) == 144
    assert sum(code is not None for _, _, code in found) == 133


@pytest.mark.parametrize("wipe", WIPES, ids=lambda w: f"{w['type']}/{w['subtype']}")
def test_each_is_found_by_every_name(wipe):
    patterns = load_patterns()
    name = f"{wipe['type']}/{wipe['subtype']}"
    pattern = patterns.find(name)
    assert pattern.name == name
    assert patterns.find(name.upper()) is pattern
    if "code" in wipe:
        assert patterns.find(wipe["code"]) is pattern
        assert patterns.find(str(wipe["code"])) is pattern
    if wipe.get("default"):
        assert patterns.find(wipe["type"]) is pattern
        assert patterns.find(f" {wipe['type'].lower()} ") is pattern


def test_every_type_has_one_default():
    kinds = {pattern.type for pattern in load_patterns()}
    assert sorted(p.type for p in load_patterns() if p.default) == sorted(kinds)


@pytest.mark.parametrize(
    ("name", "hint"),
    [
        ("clockWipe/clockwiseTwelf", "clockWipe/clockwiseTwelve"),
        ("barWipe/left", "barWipe/leftToRight"),
        ("heart", "miscShapeWipe/heart"),
        ("irisWipes", "irisWipe"),
        ("210", "211 and 212"),
        ("9999999999999", "codes"),
        ("", "keyer patterns"),
        ("a\nb", "keyer patterns"),
    ],
)
def test_an_unknown_name_is_refused_in_one_line_with_the_nearest(name, hint):
    with pytest.raises(SettingError) as caught:
        load_patterns().find(name)
    assert hint in str(caught.value)
    assert "\n" not in str(caught.value)


def test_families_are_those_of_the_taxonomy():
    patterns = load_patterns()
    assert patterns.families == ("edge", "iris", "clock", "matrix", "move")
    assert {p.type for p in patterns.of_family("Iris")} >= {"starWipe", "ellipseWipe"}
    with pytest.raises(SettingError, match="family must be one of edge, iris"):
        patterns.of_family("round")


def test_the_shipped_parameters_hold():
    for pattern in load_patterns():
        if pattern.effect == "wipe":
            assert check_function(pattern.function, pattern.params) == {}, pattern.name


def test_every_function_is_used():
    used = {pattern.function for pattern in load_patterns()}
    assert set(FUNCTIONS) - used == {"picture"}


def test_the_library_is_found_once():
    assert (library_folder() / "edge.toml").is_file()
    assert load_patterns() is load_patterns()


def test_what_moves_or_mixes_has_no_field():
    for name in ("pushWipe", "slideWipe/fromTop", "fade/fadeToColor"):
        with pytest.raises(SettingError, match="must have a field to wipe with"):
            build(load_patterns().find(name), Geometry(32, 18))
    assert load_patterns().find("pushWipe").params == {"side": "left"}
    assert load_patterns().find("fade").params == {"kind": "mix"}


OWN = """
[[pattern]]
type = "ours"
subtype = "eightPoint"
default = true
summary = "An eight-pointed star"
function = "star"
params = { points = 8, inner = 0.6, first_deg = 0 }
"""


def test_a_users_file_is_a_family(tmp_path):
    (tmp_path / "stars.toml").write_text(OWN)
    patterns = load_patterns([tmp_path])
    assert len(patterns) == 145
    pattern = patterns.find("ours")
    assert pattern.name == "ours/eightPoint"
    assert pattern.family == "stars"
    field = build(pattern, Geometry(64, 36), Modifiers(rotation=10, repeat=(2, 1)))
    assert field.picture.max() <= 1.0
    assert len(load_patterns()) == 144


def spiral(size: int = 64) -> np.ndarray:
    y, x = np.mgrid[:size, : 2 * size] / size - np.array([0.5, 1.0])[:, None, None]
    return (np.arctan2(y, x) / (2 * np.pi) + np.hypot(x, y)) % 1


def test_a_grey_picture_is_a_pattern(tmp_path):
    grey = np.tile(np.linspace(0, 1, 200), (100, 1))
    Image.fromarray((grey * 65535).astype(np.uint16)).save(tmp_path / "ramp.png")
    pattern = load_patterns([tmp_path]).find("own/ramp")
    field = build(pattern, Geometry(160, 90))
    _, of_b = weights(field, 0.25)
    assert of_b.mean() == pytest.approx(0.25, abs=0.01)
    assert of_b[:, 0].min() == 1.0


def test_eight_bits_make_nearly_as_even_an_edge_as_sixteen(tmp_path):
    """A slanting ramp in 256 steps, drawn four times as large, within half a sample of it.

    A step is longer than a sample here; left as they are, steps stray further.
    """
    y, x = np.mgrid[:90, :160]
    ramp = (x + 1.3 * y) / (159 + 1.3 * 89)
    codes = (ramp * 255 + 0.5).astype(np.uint8)
    Image.fromarray(codes).save(tmp_path / "coarse.png")
    Image.fromarray((ramp * 65535).astype(np.uint16)).save(tmp_path / "fine.png")
    patterns = load_patterns([tmp_path])
    raw = replace(patterns.find("own/coarse"), picture=codes.astype(np.float32) / 255)

    def edge(pattern, progress):
        return weights(build(pattern, Geometry(640, 360)), progress)[1].sum(axis=1)

    strays = {"smoothed": 0.0, "raw": 0.0}
    for progress in (0.3, 0.5, 0.71):
        fine = edge(patterns.find("own/fine"), progress)
        for name, pattern in (("smoothed", patterns.find("own/coarse")), ("raw", raw)):
            stray = float(np.abs(edge(pattern, progress) - fine).max())
            strays[name] = max(strays[name], stray)
    assert strays["smoothed"] < 2.0
    assert strays["raw"] > 2.5


def test_a_picture_may_be_named_by_a_file(tmp_path):
    Image.fromarray((spiral() * 255).astype(np.uint8)).save(tmp_path / "swirl.png")
    (tmp_path / "more.toml").write_text(
        '[[pattern]]\ntype = "ours"\nsubtype = "swirl"\n'
        'summary = "A swirl"\npicture = "swirl.png"\n'
    )
    patterns = load_patterns([tmp_path])
    assert [p.name for p in patterns][144:] == ["ours/swirl"]
    assert patterns.find("ours/swirl").family == "more"


@pytest.mark.parametrize(
    ("change", "line", "message"),
    [
        (("points = 8", "points = 0"), 8, r"points must be in \[2, 32\], got 0"),
        (("points = 8", "points = 8.5"), 8, "points must be a whole number"),
        (("points = 8, ", ""), 8, "points is missing"),
        (("points = 8", "points = 8, teeth = 3"), 8, "teeth is no parameter.*points, inner"),
        (('"star"', '"sTar"'), 7, "function must be one of bar.*Did you mean 'star'"),
        (('type = "ours"', 'type = "our own"'), 3, "must be a word of letters"),
        (('type = "ours"', 'typ = "ours"'), 3, "unknown key.*Did you mean 'type'"),
        (('"eightPoint"', "8"), 4, "must be text in quotes"),
        (('subtype = "eightPoint"\n', ""), 2, "subtype.*is missing"),
        (("default = true", "default = true\ncode = 999"), 6, "codes belong to the standard"),
        (("default = true", 'effect = "push"'), 5, "must be 'wipe'"),
        (("inner = 0.6", "inner = nan"), 8, r"inner must be in \[0.05, 1\]"),
        (("[[pattern]]", "[[pattern]"), 2, "is not TOML"),
        (('function = "star"', 'picture = "none.png"\nfunction = "star"'), 2, "either a function"),
        (
            ('type = "ours"\nsubtype = "eightPoint"', 'type = "starWipe"\nsubtype = "fivePoint"'),
            4,
            "exists already",
        ),
    ],
)
def test_a_bad_file_is_refused_by_name_and_line(tmp_path, change, line, message):
    (tmp_path / "stars.toml").write_text(OWN.replace(*change))
    with pytest.raises(SheetError, match=message) as caught:
        load_patterns([tmp_path])
    assert str(caught.value).startswith("stars.toml")
    assert f"line {line}" in str(caught.value)


def test_a_picture_outside_the_folder_is_refused(tmp_path):
    folder = tmp_path / "mine"
    folder.mkdir()
    Image.fromarray((spiral() * 255).astype(np.uint8)).save(tmp_path / "swirl.png")
    text = OWN.partition("function")[0]
    for name in ("../swirl.png", str(tmp_path / "swirl.png"), "none.png"):
        (folder / "more.toml").write_text(f"{text}picture = {name!r}\n")
        with pytest.raises(SheetError, match=r"line 7: must be a picture in the same folder"):
            load_patterns([folder])


@pytest.mark.parametrize(
    ("name", "make", "message"),
    [
        ("flat.png", lambda: np.full((9, 9), 7, np.uint8), "one grey all over"),
        ("red.png", lambda: np.tile(np.uint8([200, 0, 0]), (9, 9, 1)), "must be a grey picture"),
        ("two words.png", lambda: (spiral(8) * 255).astype(np.uint8), "Rename it"),
    ],
)
def test_a_bad_picture_is_refused_by_name(tmp_path, name, make, message):
    Image.fromarray(make()).save(tmp_path / name)
    with pytest.raises(InputFileError, match=message) as caught:
        load_patterns([tmp_path])
    assert name in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("content", [b"", b"no picture", b"\x89PNG\r\n\x1a\n" + bytes(40)])
def test_a_broken_picture_is_refused_by_name(tmp_path, content):
    (tmp_path / "broken.png").write_bytes(content)
    with pytest.raises(InputFileError, match=r"broken\.png"):
        load_patterns([tmp_path])


def test_a_missing_folder_is_refused(tmp_path):
    with pytest.raises(InputFileError, match="must be a folder of patterns"):
        load_patterns([tmp_path / "none"])


@pytest.mark.parametrize("text", ["", "pattern = 3", "pattern = [1]", "[pattern]", "a = 1", "\x00"])
def test_nonsense_is_refused_as_a_wrong_request(tmp_path, text):
    (tmp_path / "x.toml").write_text(text)
    with pytest.raises(KeyerError) as caught:
        load_patterns([tmp_path])
    assert caught.value.exit_code in {2, 3}
