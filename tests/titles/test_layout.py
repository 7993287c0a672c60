"""Boxes: size, place, neighbours, safe area."""

import pytest

from keyer.titles.design import Design
from keyer.titles.ink import Canvas
from keyer.titles.layout import lay_out

CANVAS = Canvas(1000, 1000)  # one percent is ten display pixels
TEXT = {"text": "${name}", "style": "s"}


def design(*boxes, safe="none", **more):
    return Design.model_validate(
        {
            "name": "Trial",
            "safe": safe,
            "fields": {"name": {"example": "Hx"}, "role": {"default": ""}},
            "styles": {"s": {"size": 10.0}},
            "boxes": list(boxes),
        }
        | more
    )


def areas(made, values=None, canvas=CANVAS):
    laid = lay_out(made, made.values(values or {"name": "Hx"}), canvas)
    assert not laid.faults
    return {b.box.id: (b.area.left, b.area.top, b.area.right, b.area.bottom) for b in laid.boxes}


@pytest.mark.parametrize(
    ("place", "corner"),
    [
        ("top left", (20, 30)),
        ("top", (420, 30)),
        ("top right", (780, 30)),
        ("left", (20, 480)),
        ("centre", (420, 480)),
        ("right", (780, 480)),
        ("bottom left", (20, 870)),
        ("bottom", (420, 870)),
        ("bottom right", (780, 870)),
    ],
)
def test_places_of_the_safe_area(place, corner):
    """By hand: a box of 200 x 100, hung 20 pixels inwards across and 30 down."""
    box = {"id": "a", "place": place, "x": 2, "y": 3, "width": 20, "height": 10, "panel": {}}
    left, top, right, bottom = areas(design(box))["a"]
    assert (left, top) == corner
    assert (right - left, bottom - top) == (200, 100)


def test_safe_area_of_the_format():
    box = {"id": "a", "place": "top left", "width": 20, "height": 10, "panel": {}}
    # tolerances.toml safe.st2046_1: 90 %; safe.legacy: 80 %
    assert areas(design(box, safe="st2046-1"))["a"][:2] == (50, 50)
    assert areas(design(box, safe="legacy"))["a"][:2] == (100, 100)


def test_box_is_as_large_as_its_text_and_padding():
    box = {"id": "a", "place": "top left", "padding": [3, 5], "texts": [TEXT], "panel": {}}
    made = design(box)
    laid = lay_out(made, {"name": "Hx", "role": ""}, CANVAS).boxes[0]
    line = laid.lines[0]
    assert laid.area.width == pytest.approx(line.line.width + 100, abs=1)
    assert line.x == 50
    # by hand: padding, then a capital of 0.656 x 100 pixels down to the baseline
    assert line.baseline == pytest.approx(30 + 65.6, abs=0.5)
    assert laid.area.bottom == pytest.approx(line.baseline + 30, abs=1)


@pytest.mark.parametrize(
    ("side", "expected"),
    [
        ("above", (100, 160)),
        ("below", (100, 340)),
        ("left_of", (60, 200)),
        ("right_of", (340, 200)),
    ],
)
def test_neighbours(side, expected):
    first = {"id": "a", "place": "top left", "x": 10, "y": 20, "width": 20, "height": 10}
    second = {"id": "b", side: "a", "gap": 2, "panel": {}}
    second |= {"width": 2, "height": 2}
    if side == "below":
        second["gap"] = 4
    if side == "right_of":
        second["gap"] = 4
    left, top, _, _ = areas(design(first | {"panel": {}}, second))["b"]
    assert (left, top) == expected


def test_height_shared_with_a_box_that_comes_later():
    bar = {"id": "bar", "place": "bottom left", "width": 1, "height": "words", "panel": {}}
    words = {"id": "words", "right_of": "bar", "padding": 2, "texts": [TEXT], "panel": {}}
    found = areas(design(bar, words))
    assert found["bar"][1] == found["words"][1]
    assert found["bar"][3] == found["words"][3] == 1000


def test_box_whose_texts_are_empty_leaves_no_gap():
    role = {"id": "role", "place": "bottom left", "texts": [{"text": "${role}", "style": "s"}]}
    name = {"id": "name", "above": "role", "gap": 5, "texts": [TEXT], "panel": {}}
    found = areas(design(role, name))
    assert list(found) == ["name"]
    assert found["name"][3] == 1000


@pytest.mark.parametrize(("align", "share"), [("left", 0), ("centre", 0.5), ("right", 1)])
def test_alignment(align, share):
    box = {"id": "a", "place": "top left", "width": 80, "align": align, "texts": [TEXT]}
    line = lay_out(design(box), {"name": "Hx", "role": ""}, CANVAS).boxes[0].lines[0]
    assert line.x == pytest.approx(share * (800 - line.line.width))


def test_pixel_aspect_keeps_shown_sizes():
    box = {"id": "a", "place": "bottom right", "width": 20, "height": 10, "panel": {}}
    wide = Canvas(704, 576, 12 / 11)
    left, top, right, bottom = areas(design(box), canvas=wide)["a"]
    assert right == pytest.approx(704 * 12 / 11)
    assert right - left == pytest.approx(0.2 * 576, abs=0.6)  # snapped to whole pixels
    assert (bottom, top) == (576, pytest.approx(576 * 0.9, abs=0.5))


def test_faults_name_the_box_and_notes_tell_of_shrinking():
    shrink = TEXT | {"fit": "shrink", "smallest": 8.0}
    box = {"id": "a", "place": "top left", "width": 30, "texts": [shrink]}
    laid = lay_out(design(box), {"name": "Hxxxxxx", "role": ""}, CANVAS)
    assert not laid.faults
    assert laid.notes[0].startswith("box 'a': text shrunk to ")
    laid = lay_out(design(box), {"name": "H" * 40, "role": ""}, CANVAS)
    assert laid.faults[0].startswith("box 'a': ")
