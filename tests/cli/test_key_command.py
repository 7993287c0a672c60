"""`keyer key` with everything that is done by hand."""

import json
import re

import numpy as np
import pytest
from PIL import Image

from keyer.cli.main import perform

SIZE = (192, 108)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    """A plate, its background, a mask and the empty backing, in the working folder."""
    monkeypatch.chdir(tmp_path)
    random = np.random.default_rng(2)

    def save(name, picture):
        grain = random.normal(0, 1.2, picture.shape)
        Image.fromarray((picture + grain).clip(0, 255).astype(np.uint8)).save(name)

    empty = np.empty((SIZE[1], SIZE[0], 3))
    empty[:] = (30, 150, 40)
    plate = empty.copy()
    plate[20:, 70:120] = (190, 130, 100)
    plate[60:80, 85:105] = (110, 200, 60)
    plate[10:, 6:12] = 70
    save("plate.png", plate)
    save("empty.png", empty)
    save("back.png", np.full_like(empty, 128))
    mask = np.zeros_like(empty)
    mask[:, :20] = 255
    Image.fromarray(mask.astype(np.uint8)).save("mask.png")
    return tmp_path


def keyed(capsys, *options):
    command = ["key", "plate.png", "--over", "back.png", "-o", "out.png", "--matte-out", "m.png"]
    code = perform([*command, "--force", "--json", *options])
    printed = capsys.readouterr()
    assert code == 0, printed.err
    with Image.open("m.png") as image:
        return np.asarray(image) / 65535, json.loads(printed.out)


def test_it_keys_finely_unless_fast_is_said(folder, capsys):
    assert keyed(capsys)[1]["quality"] == "fine"
    assert keyed(capsys, "--quality", "fast")[1]["quality"] == "fast"


@pytest.mark.parametrize(
    "mask", ["mask.png", "rectangle:0,0,10,100", "polygon:-5,-5,9,-5,9,105,-5,105:1"]
)
def test_garbage_masks(folder, capsys, mask):
    assert keyed(capsys)[0][40:, 8:10].min() > 0.9
    assert keyed(capsys, "--garbage", mask)[0][:, 5:13].max() == 0


def test_several_hold_in_masks(folder, capsys):
    options = (
        "--hold",
        "ellipse:49.5,65,8,14",
        "--hold",
        "rectangle:90,10,5,5",
        "--quality",
        "fast",
    )
    matte, _ = keyed(capsys, *options)
    assert matte[70, 95] == 1
    assert matte[13, 177] == 1


def test_finishing_and_shadows_change_the_picture(folder, capsys):
    plain, _ = keyed(capsys)
    assert keyed(capsys, "--grow", "2")[0].sum() > plain.sum() + 200
    assert keyed(capsys, "--grow", "-1.5")[0].sum() < plain.sum() - 150
    soft, _ = keyed(capsys, "--feather", "8")
    assert ((soft > 0.05) & (soft < 0.95)).sum() > ((plain > 0.05) & (plain < 0.95)).sum() + 300


def test_a_shadow_on_the_backing_falls_on_the_background(folder, capsys):
    plate = np.array(Image.open("plate.png"))
    plate[60:90, 140:170] = plate[60:90, 140:170] * 0.8
    Image.fromarray(plate).save("plate.png")
    pictures = []
    for options in ((), ("--shadow", "100", "--shadow-soft", "1")):
        keyed(capsys, *options)
        pictures.append(np.asarray(Image.open("out.png")).astype(int))
    without, darker = pictures
    change = (darker - without).mean(2)
    assert change[70:80, 150:160].mean() < -10
    assert abs(change[:30]).max() < 4


def test_a_clean_plate_and_a_picked_area(folder, capsys):
    matte, report = keyed(capsys, "--clean-plate", "empty.png", "--sample", "130,20,40,60")
    assert matte[30:100, 130:].max() < 0.01
    assert any("sample" in reason for reason in report["reasons"])


def test_a_picked_area_follows_the_fit(folder, capsys):
    """The plate is wider than the background: what it shows of the area is looked at."""
    Image.new("RGB", (108, 108), (128, 128, 128)).save("back.png")
    _, report = keyed(capsys, "--sample", "125,20,60,60")
    assert report["backing"]["hue_deg"] == pytest.approx(232, abs=8)
    command = ["key", "plate.png", "--over", "back.png", "-o", "x.png", "--sample", "180,20,10,60"]
    assert perform(command) == 2
    assert "the part of the picture that the output shows" in capsys.readouterr().err


def _picture(*options):
    command = ["key", "plate.png", "--over", "back.png", "-o", "out.png", "--force", *options]
    assert perform(command) == 0
    with Image.open("out.png") as image:
        return np.asarray(image).astype(int)


@pytest.mark.parametrize(
    "options",
    [
        ("--quality", "fine"),
        ("--quality", "fast"),
        ("--quality", "fine", "--clip", "12.5"),
        ("--quality", "fast", "--clip", "12.5"),
        ("--quality", "fast", "--acceptance", "75"),
    ],
    ids=" ".join,
)
def test_the_settings_that_are_printed_make_the_picture_again(folder, capsys, options):
    """Said by hand, what is printed makes the same picture to a code of 8 bits."""
    first = _picture(*options)
    said = re.search(r"Settings: (.*)\.\n", capsys.readouterr().out)[1]
    names = re.findall(r"([a-z]+) ([\d.]+)", said)
    assert names[0][0] == "hue"
    assert ("acceptance" in dict(names)) == ("fast" in options)
    again = _picture(
        *options[:2], *(word for name, value in names for word in (f"--{name}", value))
    )
    assert np.abs(first - again).max() <= 1


def test_a_clip_by_hand_is_no_ghost(folder, capsys):
    """What the remedy for specks says: the subject stays as solid as it was."""
    plain = keyed(capsys)[1]["coverage"]["solid_percent"]
    assert keyed(capsys, "--clip", "5")[1]["coverage"]["solid_percent"] > 0.99 * plain


@pytest.mark.parametrize(
    "mask",
    [
        "rectangle:45,20,20,70",
        "ellipse:55,55,20,70:3",
        "polygon:45,20,65,20,65,90,45,90",
        "hold.png",
    ],
)
def test_masks_lie_on_the_plate_whatever_is_cut_off(folder, capsys, mask):
    """Of 192 x 108 a square background shows columns 42 to 150; the rest is said to be cut off."""
    drawn = np.zeros((108, 192), np.uint8)
    drawn[22:97, 86:125] = 255
    Image.fromarray(drawn).save("hold.png")
    options = ("--hold", mask, "--quality", "fast")
    whole, report = keyed(capsys, *options)
    assert report["notices"] == []
    Image.new("RGB", (108, 108), (128, 128, 128)).save("back.png")
    part, report = keyed(capsys, *options)
    assert np.abs(part - whole[:, 42:150]).max() < 0.02
    lost = "44 % of the width of its 192 x 108 is cut off, half at either end, to fill 108 x 108."
    names = ["foreground", "hold 0"] if mask == "hold.png" else ["foreground"]
    assert report["notices"] == [f"{name}: {lost}" for name in names]


def test_a_mask_of_another_shape_than_the_plate_is_refused(folder, capsys):
    Image.new("L", (108, 108)).save("square.png")
    for option in ("--garbage", "--hold", "--clean-plate"):
        assert (
            perform(["key", "plate.png", "--over", "back.png", "-o", "x.png", option, "square.png"])
            == 2
        )
        assert (
            "must have the shape of the foreground, 192 x 108, got 108 x 108"
            in capsys.readouterr().err
        )


@pytest.mark.parametrize(
    ("options", "message"),
    [
        (("--hold", "rectangle:1,2,3"), "must be left, top, width and height, got 3 numbers"),
        (("--hold", "polygon:1,2,3,4"), "three corners or more"),
        (("--garbage", "none.png"), "must be a picture file, or SHAPE"),
        (("--garbage", "ellipse:a,b"), "got 'ellipse:a,b'"),
        (("--garbage", "ellipse:1,2,3,4:nan"), "soft must be in [0, 100]"),
        (("--sample", "1,2,3"), "whole pixels"),
        (("--sample", "190,2,30,4"), "must lie inside the picture of 192 x 108"),
        (("--clean-plate", "empty.png", "--quality", "fast"), "needs quality fine"),
        (("--acceptance", "90"), "acceptance needs quality fast"),
        (("--gain", "0.9"), "gain must be 1 or more for a fine key, got 0.9"),
        (("--grow", "nan"), "grow must be in [-256, 256]"),
        (("--fill-holes", "-2"), "fill-holes must be in"),
        (("--shadow", "300"), "shadow must be in [0, 200]"),
    ],
)
def test_what_does_not_hold_is_one_line(folder, capsys, options, message):
    assert perform(["key", "plate.png", "--over", "back.png", "-o", "out.png", *options]) == 2
    error = capsys.readouterr().err
    assert message in error
    assert error.count("\n") == 1
    assert not (folder / "out.png").exists()
