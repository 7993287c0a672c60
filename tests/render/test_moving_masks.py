"""Shapes of garbage and hold-in mattes that move with what they mask."""

import numpy as np
import pytest
from media.made import write_clip

from keyer.errors import SheetError
from keyer.render.plan import Plan
from keyer.render.sinks.pictures import subject
from keyer.sheet.load import build_sheet
from keyer.sheet.masks import Mask, MaskKeyframe

WIDTH, HEIGHT, FRAMES = 160, 90, 10
GREEN, BOTTLE, COAT = (20, 170, 40), (40, 140, 50), (150, 70, 60)


def left_of(number):
    """The bottle goes 8 columns a frame to the right."""
    return 20 + 8 * number


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A green bottle that is carried past a coat, before green."""
    path = tmp_path_factory.mktemp("masks")

    def draw(number, *_):
        frame = np.empty((HEIGHT, WIDTH, 3), np.uint8)
        frame[:] = GREEN
        frame[60:, 60:100] = COAT
        frame[20:50, left_of(number) : left_of(number) + 16] = BOTTLE
        return frame

    write_clip(path / "plate.mkv", frames=FRAMES, draw=draw, size=(WIDTH, HEIGHT))
    return path


def sheet_of(folder, mask, start=0):
    overlay = {"source": "plate", "in": start, "key": {"kind": "chroma", "hold": [mask]}}
    return build_sheet(
        {
            "version": 1,
            "sheet": {"format": f"{WIDTH}x{HEIGHT}@25", "length": FRAMES + start},
            "sources": {"plate": {"file": "plate.mkv"}, "grey": {"colour": "#808080"}},
            "cues": [{"source": "grey"}],
            "overlays": [overlay],
        },
        folder=folder,
    )


def box(number):
    """The bottle in percent."""
    return [100 * left_of(number) / WIDTH, 100 * 20 / HEIGHT, 10.0, 100 * 30 / HEIGHT]


CARRIED = {
    "rectangle": box(0),
    "keyframes": [{"at": 0, "rectangle": box(0)}, {"at": 9, "rectangle": box(9)}],
}


def mattes(sheet, frames):
    with Plan(sheet) as plan:
        overlay = sheet.overlays[0]
        return [subject(plan.subject(overlay, f), plan.evaluator).alpha for f in frames]


@pytest.mark.parametrize("start", [0, 4])
def test_a_green_bottle_is_held_in_through_a_move(folder, start):
    """The keyframes count from where the overlay comes on air."""
    frames = [start + number for number in (0, 3, 9)]
    held = mattes(sheet_of(folder, CARRIED, start), frames)
    stays = mattes(sheet_of(folder, {"rectangle": box(0)}, start), frames)
    for number, one, other in zip((0, 3, 9), held, stays, strict=True):
        inside = np.s_[22:48, left_of(number) + 2 : left_of(number) + 14]
        assert one[inside].min() == 1
        # beside it the chroma of a lossy clip, with a sample for two columns, is a little off
        assert one[22:48, : max(left_of(number) - 2, 0)].max(initial=0) < 0.1
        if number:
            assert other[inside].mean() < 0.5


def test_between_keyframes_every_number_goes_by_the_curve():
    """By hand: ease-in is the square; a quarter of the way at half time."""
    mask = Mask("ellipse", (0.0, 0.0, 10.0, 10.0), 2.0, "", (
        MaskKeyframe(10, (0.0, 0.0, 10.0, 10.0), "ease-in"),
        MaskKeyframe(20, (40.0, 20.0, 30.0, 10.0)),
    ))  # fmt: skip
    assert mask.at(0).numbers == mask.at(10).numbers == (0.0, 0.0, 10.0, 10.0)
    assert mask.at(15).numbers == (10.0, 5.0, 15.0, 10.0)
    assert mask.at(99).numbers == (40.0, 20.0, 30.0, 10.0)
    assert mask.at(15).soft == 2.0


@pytest.mark.parametrize(
    ("keyframes", "said"),
    [
        ([{"at": 0, "ellipse": [1, 1, 1, 1]}], "must have the mask's own shape, rectangle"),
        ([{"at": 5, "rectangle": box(0)}, {"at": 5, "rectangle": box(1)}], "in order of time"),
        ([{"at": 0, "rectangle": [0, 0, -5, 5]}], "must be in"),
    ],
)
def test_keyframes_that_do_not_hold_are_refused_with_their_place(folder, keyframes, said):
    with pytest.raises(SheetError, match=said) as caught:
        sheet_of(folder, {"rectangle": box(0), "keyframes": keyframes})
    assert "overlays[0].key.hold[0].keyframes" in str(caught.value)


def test_a_polygon_keeps_its_corners_and_a_picture_moves_by_itself(folder):
    corners = [[0, 0], [10, 0], [0, 10]]
    with pytest.raises(SheetError, match="must have 3 corners"):
        sheet_of(
            folder,
            {"polygon": corners, "keyframes": [{"at": 0, "polygon": [*corners, [5, 5]]}]},
        )
    with pytest.raises(SheetError, match="a picture moves by itself"):
        sheet_of(folder, {"source": "grey", "keyframes": [{"at": 0, "rectangle": box(0)}]})


def test_a_mask_that_stands_is_worked_out_once(folder):
    with Plan(sheet_of(folder, {"rectangle": box(0)})) as plan:
        first, second = (plan.frame(number).layers[0].node.hold for number in (0, 5))
    assert first.signature == second.signature
    with Plan(sheet_of(folder, CARRIED)) as plan:
        first, second = (plan.frame(number).layers[0].node.hold for number in (0, 5))
    assert first.signature != second.signature
