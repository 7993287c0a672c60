"""Keys of a sheet with masks, finishing, shadows, clean plates and picked areas."""

import pytest

from keyer.errors import SheetError
from keyer.kinds.settings import Finish, Shade
from keyer.pixel.mattes.masks import Ellipse, Polygon, Rectangle
from keyer.sheet.load import parse_sheet
from keyer.sheet.masks import Mask

HEAD = (
    'version = 1\n[sheet]\nformat = "200x100@25"\nlength = 10\n'
    '[sources.grey]\ncolour = "#808080"\n[sources.plate]\ncolour = "#00FF00"\n'
    '[[cues]]\nsource = "grey"\n[[overlays]]\nsource = "plate"\n'
)


def key_of(text, tail=""):
    return parse_sheet(f"{HEAD}key = {{ {text} }}\n{tail}", "spot.toml").overlays[0].key


def faults(text, tail=""):
    with pytest.raises(SheetError) as caught:
        key_of(text, tail)
    found = {fault.path: fault.message for fault in caught.value.faults}
    assert all("\n" not in message for message in found.values())
    return found


def test_everything_is_resolved():
    key = key_of(
        'kind = "chroma", quality = "fine", clean_plate = "grey", sample = [5, 10, 20, 30],'
        ' garbage = [{ rectangle = [0, 0, 10, 100], soft = 2 }, { source = "grey" }],'
        " hold = [{ polygon = [[1, 2], [3, 4], [5, 6.5]] }], fill_holes = 12, drop_specks = 3,"
        " grow = -0.5, feather = 2.5, shadow = 80, shadow_soft = 1.5"
    )
    assert key.garbage == (Mask("rectangle", (0, 0, 10, 100), 2), Mask(source="grey"))
    assert key.hold == (Mask("polygon", (1, 2, 3, 4, 5, 6.5)),)
    assert key.finish == Finish(12, 3, -0.5, 2.5)
    assert key.shade == Shade(80, 1.5)
    assert (key.clean_plate, key.sample) == ("grey", (5, 10, 20, 30))
    assert set(key.sources) == {"grey"}
    assert not key.plain


def test_house_settings_hold_where_the_key_has_none():
    key = key_of(
        'use = "studio", grow = 1',
        '[keys.studio]\nkind = "chroma"\ngrow = 3\nfeather = 2\n'
        "garbage = [{ ellipse = [50, 50, 10, 10] }]\n",
    )
    assert key.finish == Finish(grow=1, feather=2)
    assert key.garbage == (Mask("ellipse", (50, 50, 10, 10)),)


def test_a_key_without_them_is_plain():
    assert key_of('kind = "chroma"').plain
    assert key_of('kind = "chroma", shadow_soft = 3').plain  # soft alone is no shadow
    assert not key_of('kind = "luminance", feather = 1').plain


def test_shapes_in_pixels():
    """Of 200 x 100 pixels: a percent is 2 across and 1 down, also for softness."""
    assert Mask("rectangle", (10, 20, 30, 40), 5).drawn(200, 100) == Rectangle(20, 20, 60, 40, 5)
    assert Mask("ellipse", (50, 50, 10, 10)).drawn(200, 100) == Ellipse(100, 50, 20, 10)
    drawn = Mask("polygon", (0, 0, 10, 0, 10, 10)).drawn(200, 100)
    assert drawn == Polygon(((0, 0), (20, 0), (20, 10)))


@pytest.mark.parametrize(
    ("text", "path", "message"),
    [
        ("garbage = [{ soft = 2 }]", "garbage[0]", "one of rectangle, ellipse, polygon, source"),
        (
            'hold = [{ rectangle = [1, 2, 3, 4], source = "grey" }]',
            "hold[0]",
            "got 2 of them",
        ),
        ("hold = [{ rectangle = [1, 2, -3, 4] }]", "hold[0].rectangle", "[0, 1000], got -3"),
        ("hold = [{ polygon = [[1, 2], [3, 4]] }]", "hold[0].polygon", "three corners or more"),
        ("hold = [{ ellipse = [1, 2, 3, 4], soft = 101 }]", "hold[0].soft", "[0, 100]"),
        ('garbage = [{ source = "gray" }]', "garbage[0].source", "Did you mean 'grey'?"),
        ('garbage = [{ source = "grey", soft = 1 }]', "garbage[0].soft", "belongs to a shape"),
        ('quality = "fine", clean_plate = "gray"', "clean_plate", "no source is called 'gray'"),
        ('clean_plate = "grey"', "clean_plate", "needs quality fine"),
        ('quality = "fine", acceptance = 90', "acceptance", "needs quality fast"),
        ('quality = "fine", gain = 0.5', "gain", "must be 1 or more for a fine key, got 0.5"),
        ("sample = [5, 5, 0, 5]", "sample", "must have a width and a height"),
        ("sample = [50, 5, 60, 5]", "sample", "must lie inside the picture"),
        ("sample = [-5, 5, 60, 5]", "sample", "[0, 100], got -5"),
        ("fill_holes = -1", "fill_holes", "got -1"),
        ("drop_specks = nan", "drop_specks", "got nan"),
        ("grow = 300", "grow", "[-256, 256], got 300"),
        ("feather = 513", "feather", "[0, 512]"),
        ("shadow = 201", "shadow", "[0, 200]"),
        ("shadow_soft = 60", "shadow_soft", "[0, 50]"),
    ],
)
def test_what_does_not_hold_is_said_at_its_place(text, path, message):
    found = faults(f'kind = "chroma", {text}')
    assert list(found) == [f"overlays[0].key.{path}"], found
    assert message in found[f"overlays[0].key.{path}"]


@pytest.mark.parametrize("key", ["shadow = 50", 'clean_plate = "grey"', "sample = [1, 2, 3, 4]"])
def test_what_only_a_chroma_key_has(key):
    found = faults(f'kind = "luminance", {key}')
    assert any("belongs to chroma" in message for message in found.values())
