"""`keyer wipe` with all that a pattern takes."""

import numpy as np
import pytest
from PIL import Image

from keyer.cli.main import perform
from keyer.cli.wipe import read_wave
from keyer.kinds.field import Modulation


@pytest.fixture
def pictures(tmp_path, monkeypatch):
    """Red A and blue B of 160 x 90 in the working folder."""
    monkeypatch.chdir(tmp_path)
    for name, colour in (("a.png", (200, 30, 30)), ("b.png", (20, 40, 190))):
        Image.new("RGB", (160, 90), colour).save(name)
    return tmp_path


def wiped(*options: str) -> np.ndarray:
    arguments = ["wipe", "a.png", "b.png", "-o", "out.png", "--force", *options]
    assert perform(arguments) == 0
    with Image.open("out.png") as image:
        return np.asarray(image).astype(int)


def blue(picture: np.ndarray) -> float:
    return float((picture[..., 2] > 110).mean())


def test_each_modifier_changes_the_picture(pictures, capsys):
    plain = wiped("--pattern", "barWipe", "--at", "0.4")
    for options in (
        ("--reverse",),
        ("--rotate", "30"),
        ("--repeat", "4,1"),
        ("--modulate", "sine,6,30"),
        ("--soft", "10"),
        ("--border", "6", "--border-colour", "#FFFFFF"),
    ):
        assert np.abs(wiped("--pattern", "barWipe", "--at", "0.4", *options) - plain).max() > 50
        assert blue(wiped("--pattern", "barWipe", "--at", "1", *options)) == 1.0
        assert blue(wiped("--pattern", "barWipe", "--at", "0", *options)) == 0.0


def test_aspect_position_and_mirror(pictures, capsys):
    wide = wiped("--pattern", "ellipseWipe", "--at", "0.3", "--aspect", "3")[..., 2] > 110
    assert wide.any(axis=0).sum() > 2 * wide.any(axis=1).sum()
    corner = wiped("--pattern", "irisWipe", "--at", "0.2", "--position", "0,0")[..., 2] > 110
    assert corner[:10, :10].all()
    assert not corner[60:].any()
    blinds = wiped("--pattern", "barWipe", "--at", "0.4", "--repeat", "2,1", "--mirror")
    np.testing.assert_array_equal(blinds, blinds[:, ::-1])


def test_a_border_may_run_from_one_colour_to_another(pictures, capsys):
    found = wiped(
        *("--pattern", "barWipe", "--at", "0.5", "--border", "40"),
        *("--border-colour", "#000000", "--border-ramp", "#00FF00"),
    )
    row = found[45, 64:96, 1]
    assert row[0] > 200
    assert row[-1] < 60
    assert (np.diff(row) <= 0).all()


def test_a_third_picture_fills_the_border(pictures, capsys):
    Image.new("RGB", (160, 90), (10, 220, 20)).save("c.png")
    third = ("--border-source", "c.png")
    found = wiped("--pattern", "barWipe", "--at", "0.5", "--border", "40", *third)
    assert (found[:, 64:96] == (10, 220, 20)).all()
    assert (found[:, 120:] == (200, 30, 30)).all()
    target = ("-o", "c.png", "--force", "--pattern", "barWipe", *third)
    assert perform(["wipe", "a.png", "b.png", *target]) == 2
    assert "c.png" in capsys.readouterr().err


def test_patterns_may_move_or_fade(pictures, capsys):
    red, blue_ = (200, 30, 30), (20, 40, 190)
    pushed = wiped("--pattern", "pushWipe/fromTop", "--at", "0.5")
    assert (pushed[:45] == blue_).all()
    assert (pushed[45:] == red).all()
    faded = wiped("--pattern", "fade/fadeToColor", "--at", "0.5", "--colour", "#FFFFFF")
    assert np.abs(faded[0, 0] - (np.array(red) + 255) / 2).max() <= 0.5
    assert (wiped("--pattern", "fade/fadeToColor", "--at", "1") == blue_).all()


def test_ones_own_patterns(pictures, capsys):
    (pictures / "mine").mkdir()
    ramp = np.tile(np.linspace(0, 255, 160).astype(np.uint8), (90, 1))
    Image.fromarray(ramp).save("mine/ramp.png")
    found = wiped("--patterns", "mine", "--pattern", "own/ramp", "--at", "0.25", "--soft", "2")
    assert blue(found) == pytest.approx(0.25, abs=0.03)
    turned = wiped("--patterns", "mine", "--pattern", "own/ramp", "--at", "0.25", "--reverse")
    assert turned[45, 159, 2] > 180
    (pictures / "mine" / "bad.toml").write_text('[[pattern]]\ntype = "x"\nfunction = 3\n')
    options = ("-o", "x.png", "--patterns", "mine", "--pattern", "own/ramp")
    assert perform(["wipe", "a.png", "b.png", *options]) == 2
    error = capsys.readouterr().err
    assert "bad.toml" in error
    assert "line 3" in error


@pytest.mark.parametrize(
    ("text", "wave"),
    [
        ("sine,3,20", Modulation("sine", 3, 20)),
        ("noise, 5, 40, 0.25, 7", Modulation("noise", 5, 40, 0.25, seed=7)),
        ("saw,1,2,-0.5", Modulation("saw", 1, 2, -0.5)),
    ],
)
def test_waves_are_read(text, wave):
    assert read_wave(text) == wave


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--modulate", "sine"), "modulate must be WAVE,AMPLITUDE,WAVELENGTH"),
        (("--modulate", "sine,3,20,0,0,0"), "modulate must be WAVE"),
        (("--modulate", "sinus,3,20"), "Did you mean 'sine'?"),
        (("--modulate", "sine,99,20"), "modulation amplitude must be in [0, 50], got 99"),
        (("--repeat", "2"), "repeat must be two numbers"),
        (("--repeat", "1.5,1"), "repeat must be whole numbers"),
        (("--aspect", "0"), "aspect must be in"),
        (("--rotate", "nan"), "rotation must be in"),
        (("--border-ramp", "green"), "border-ramp must be written as #RRGGBB"),
        (("--colour", "red"), "colour must be written as #RRGGBB"),
        (("--colour", "#FF0000"), "colour cannot be used with barWipe/leftToRight"),
        (("--pattern", "pushWipe", "--soft", "2"), "soft cannot be used with pushWipe/fromLeft"),
        (("--pattern", "fade", "--repeat", "2,1"), "repeat cannot be used with fade/crossfade"),
    ],
)
def test_wrong_requests_are_one_line(pictures, capsys, options, said):
    arguments = ["wipe", "a.png", "b.png", "-o", "out.png", "--pattern", "barWipe", *options]
    assert perform(arguments) == 2
    error = capsys.readouterr().err.strip().splitlines()[-1]
    assert said in error
    assert not (pictures / "out.png").exists()
