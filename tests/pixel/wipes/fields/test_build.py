"""Laying a pattern out: place, jumps, swing, parameters, pictures."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from wiping import find, share, weights

from keyer.errors import SettingError
from keyer.kinds.field import NO_JUMP, Geometry, Modifiers, Modulation, Pattern
from keyer.pixel.wipes.fields import build
from keyer.pixel.wipes.fields.functions import check_function
from keyer.pixel.wipes.fields.jumps import jump_planes, pack_jumps
from keyer.pixel.wipes.fields.picture import sampled
from keyer.pixel.wipes.fields.place import into_pattern, into_tile, is_placed, reach_of
from keyer.pixel.wipes.fields.swing import HUB, swing_of

WIDE = Geometry(160, 90)


def places(*xy):
    return tuple(np.asarray([[value]], np.float32) for value in xy)


def test_position_moves_the_middle():
    """By hand: 25 % of the width is half of the left half."""
    change = Modifiers(position=(25, 75))
    x, y = into_pattern(*places(-0.45, 0.25), 0.9, 0.5, change)
    assert (float(x[0, 0]), float(y[0, 0])) == pytest.approx((0, 0), abs=1e-6)


def test_rotation_is_clockwise():
    """What stands at twelve o'clock stands at three after a quarter turn."""
    x, y = into_pattern(*places(0.3, 0.0), 0.9, 0.5, Modifiers(rotation=90))
    assert (float(x[0, 0]), float(y[0, 0])) == pytest.approx((0, -0.3), abs=1e-6)


def test_aspect_keeps_the_area():
    x, y = into_pattern(*places(0.4, 0.1), 0.9, 0.5, Modifiers(aspect=4))
    assert (float(x[0, 0]), float(y[0, 0])) == pytest.approx((0.2, 0.2), abs=1e-6)


def test_repetitions_fold_into_one():
    change = Modifiers(repeat=(2, 1))
    for x in (0.2, 0.2 + 16 / 18):
        u, _ = into_tile(*places(x, 0.5), WIDE, change)
        assert float(u[0, 0]) == pytest.approx(0.2 - 4 / 9, abs=1e-6)
    mirrored, _ = into_tile(*places(16 / 9 - 0.2, 0.5), WIDE, Modifiers(repeat=(2, 1), mirror=True))
    assert float(mirrored[0, 0]) == pytest.approx(0.2 - 4 / 9, abs=1e-5)


def test_the_outermost_repetition_goes_on_outside():
    u, _ = into_tile(*places(-0.1, 0.5), WIDE, Modifiers(repeat=(4, 1)))
    assert float(u[0, 0]) == pytest.approx(-0.1 - 2 / 9, abs=1e-6)


def test_only_what_moves_the_pattern_counts_as_placed():
    assert not is_placed(Modifiers(repeat=(3, 2), rotation=720, reverse=True))
    for change in (Modifiers(position=(50, 49)), Modifiers(aspect=1.1), Modifiers(rotation=1)):
        assert is_placed(change)


def test_a_grid_turned_by_a_quarter_swaps_its_sides():
    assert reach_of(0.9, 0.5, Modifiers(rotation=90)) == pytest.approx((0.5, 0.9), abs=1e-6)


@given(
    st.sampled_from(["barWipe", "ellipseWipe", "starWipe", "miscShapeWipe"]),
    st.floats(-50, 150),
    st.floats(-50, 150),
    st.floats(0, 360),
)
def test_a_pattern_that_is_moved_still_runs_from_the_start_to_the_end(name, x, y, rotation):
    field = build(find(name), Geometry(64, 36), Modifiers(position=(x, y), rotation=rotation))
    assert field.picture.min() < 0.12
    assert field.picture.max() > 0.9


def test_reverse_runs_the_other_way():
    """SMIL test suite, interop2: barWipe with direction=reverse runs from right to left."""
    _, of_b = weights(build(find("barWipe"), WIDE, Modifiers(reverse=True)), 0.25)
    assert of_b[:, 130:].min() == 1.0
    assert of_b[:, :110].max() == 0.0


def test_position_of_a_bar_does_not_leave_a_part_out():
    moved = build(find("barWipe"), WIDE, Modifiers(position=(80, 50)))
    assert share(moved, 0.5) == pytest.approx(0.5, abs=0.01)


def test_the_clocks_start_is_found_between_the_pixels():
    """Its hand starts upright through the middle: half way between columns 79 and 80."""
    field = build(find("clockWipe"), WIDE)
    rows = slice(field.margin_y, field.margin_y + 44)
    across, _ = jump_planes(field.jumps, field.values.shape)
    marks = across[rows, field.margin_x + 79]
    assert np.abs(marks.astype(int) - 127).max() <= 2
    assert (across[rows, field.margin_x + 80] == NO_JUMP).all()
    below = across[field.margin_y + 46 : field.margin_y + 89]
    assert (below[:, field.margin_x :] == NO_JUMP).all()


def test_a_seam_is_found_between_the_pixels():
    """Three blinds in 160 columns: seams at 53.33 and 106.67, past the centres of 52 and 106."""
    field = build(find("barWipe"), WIDE, Modifiers(repeat=(3, 1)))
    across, _ = jump_planes(field.jumps, field.values.shape)
    marks = across[field.margin_y + 10, field.margin_x : field.margin_x + 160]
    found = [(int(c), marks[c] / 254) for c in np.flatnonzero(marks != NO_JUMP)]
    assert [c for c, _ in found] == [52, 106]
    assert [part for _, part in found] == pytest.approx([53.333 - 52.5, 106.667 - 106.5], abs=0.02)


def test_continuous_fields_have_no_jumps():
    for name in ("starWipe", "ellipseWipe", "fanWipe/centerTop"):
        assert build(find(name), WIDE).jumps is None


def test_swing_is_amplitude_times_slope():
    """By hand: a slope of 1/100 a column and amplitude 5 rows make 0.05; columns count double."""
    values = np.tile(np.arange(50) / 100, (20, 1)).astype(np.float32)
    np.testing.assert_allclose(swing_of(values, None, 5, 1.0, turns=False), 0.05, atol=1e-6)
    np.testing.assert_allclose(swing_of(values, None, 5, 2.0, turns=False), 0.025, atol=1e-6)


def test_swing_does_not_see_a_jump():
    values = np.tile(np.where(np.arange(20) < 9, 0.9, 0.0), (4, 1)) + np.arange(20) / 100
    values = values.astype(np.float32)
    across = np.arange(4), np.full(4, 8), np.full(4, 100, np.uint8)
    none = np.empty(0, np.int64), np.empty(0, np.int64), np.empty(0, np.uint8)
    jumps = pack_jumps(across, none, values.shape)
    found = swing_of(values, jumps, 5, 1.0, turns=False)
    np.testing.assert_allclose(found, 0.05, atol=1e-5)


def test_swing_is_held_back_about_a_pivot():
    field = build(find("clockWipe"), WIDE, Modifiers(modulation=Modulation("sine", 10, 20)))
    assert field.swing.max() == pytest.approx(HUB)


def test_a_picture_is_read_with_straight_lines_between_samples():
    grey = np.float32([[0.0, 1.0], [0.5, 0.25]])
    middle = sampled(*places(0.0, 0.0), 1.0, 0.5, grey=grey)
    assert float(middle[0, 0]) == pytest.approx(grey.mean())
    corner = sampled(*places(-3.0, -3.0), 1.0, 0.5, grey=grey)
    assert float(corner[0, 0]) == 0.0


def test_a_picture_is_a_pattern_like_any():
    grey = np.tile(np.linspace(0, 1, 100, dtype=np.float32), (50, 1))
    pattern = Pattern("own", "ramp", None, "own", "ramp", "picture", picture=grey)
    field = build(pattern, WIDE, Modifiers(reverse=True, repeat=(2, 1)))
    assert field.picture[45, 0] > 0.95
    assert share(field, 0.3) == pytest.approx(0.3, abs=0.02)


@pytest.mark.parametrize(
    ("function", "params", "wrong"),
    [
        ("bar", {"across": 0, "down": 0}, ""),
        ("sweep", {"pivot_x": 0, "pivot_y": 0, "start_deg": 0, "sweep_deg": 0}, ""),
        ("bar", {"across": 2, "down": 0}, "across"),
        ("bar", {"across": True, "down": 0}, "across"),
        ("wedges", {"upright": 1}, "upright"),
        ("vee", {"toward": "north"}, "toward"),
        ("heart", {"size": 2}, "size"),
        ("polygon", {"corners": 2, "first_deg": 0}, "corners"),
    ],
)
def test_wrong_parameters_are_named(function, params, wrong):
    assert list(check_function(function, params)) == [wrong]
    with pytest.raises(SettingError):
        build(Pattern("own", "x", None, "own", "x", function, params), WIDE)


def test_an_unknown_function_is_refused():
    with pytest.raises(SettingError, match=r"function must be one of bar.*Did you mean 'star'"):
        check_function("stra", {})


@pytest.mark.parametrize(
    ("settings", "named"),
    [
        ({"position": (200, 50)}, r"position must be in \[-50, 150\], got 200"),
        ({"aspect": 0}, r"aspect must be in \[0.1, 10\]"),
        ({"rotation": float("nan")}, "rotation must be in"),
        ({"repeat": (0, 1)}, r"repeat must be in \[1, 32\]"),
        ({"repeat": (1.5, 1)}, "repeat must be whole numbers"),
        ({"start": 0.6, "end": 0.5}, "end must be in .* may not lie before start"),
    ],
)
def test_limits_of_modifiers_are_stated(settings, named):
    with pytest.raises(SettingError, match=named):
        Modifiers(**settings)


@pytest.mark.parametrize(
    "settings", [{"width": 0}, {"height": 20000}, {"pixel_aspect": 0}, {"pixel_aspect": 11}]
)
def test_limits_of_a_raster_are_stated(settings):
    with pytest.raises(SettingError, match=next(iter(settings))):
        Geometry(**{"width": 10, "height": 10, **settings})
