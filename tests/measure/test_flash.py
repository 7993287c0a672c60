from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from measured import fine_light
from signals.curves import bt1886_light
from signals.flashes import cells, sized
from support import reference

from keyer.kinds.timing import RATES
from keyer.measure.cells import FINE, WHOLE, light_of, make_grid
from keyer.measure.flash import (
    AREA,
    LONG_SECONDS,
    MOST_A_SECOND,
    Flashing,
    FlashMeter,
    is_long,
    judge_flashing,
)
from keyer.measure.screen import screen_light

FLASH = reference("flash")
GRID = make_grid(1920, 1080)
FIELD = GRID.field_columns * GRID.field_rows
FOUR_THREE = make_grid(1024, 768)
BLACK, WHITE = (0, 0, 0), (255, 255, 255)


def flat(colour, grid=GRID):
    light = light_of(np.array(colour) / 255).astype(np.float32)[:, None, None]
    return np.ascontiguousarray(np.broadcast_to(light, (3, FINE * grid.rows, FINE * grid.columns)))


def patch(rows, columns, colour=WHITE, around=BLACK, grid=GRID, at=(0, 0)):
    """A rectangle of coarse cells of one colour."""
    light = flat(around, grid).copy()
    down, across = slice(at[0], at[0] + rows), slice(at[1], at[1] + columns)
    down, across = (slice(FINE * part.start, FINE * part.stop) for part in (down, across))
    light[:, down, across] = flat(colour, grid)[:, down, across]
    return light


def watch(frames, rate=25, grid=GRID):
    """Readings; the light of a picture is worked out once."""
    meter = FlashMeter(grid, Fraction(rate))
    shown = {}
    for frame in frames:
        shown.setdefault(id(frame), (frame, screen_light(frame)))
    return [meter.add(*shown[id(frame)]) for frame in frames]


def most(readings, kind="general"):
    return max(getattr(reading, kind).flashes for reading in readings)


def worst(readings, kind="general"):
    order = ["holds", "watch", "fails"]
    return max((judge_flashing(getattr(r, kind)) for r in readings), key=order.index)


def square(on, off, period, count):
    """`count` frames that go on for half of each period."""
    return [on if i % period < period // 2 else off for i in range(count)]


def transitions_twin(values, rate):
    """Most transitions within any one second, counted over all windows of a second."""
    turns = [i for i in range(1, len(values)) if values[i] != values[i - 1]]
    return max((sum(0 <= j - i < rate for j in turns) for i in turns), default=0)


def test_limits_are_the_published_ones():
    assert FLASH["wcag"]["rate"]["max_general_flashes_per_second"] == MOST_A_SECOND
    assert FLASH["wcag"]["rate"]["max_red_flashes_per_second"] == MOST_A_SECOND
    assert FLASH["bt1702"]["rate"]["max_flashes_per_second"] == MOST_A_SECOND
    assert FLASH["wcag"]["area"]["fraction_of_10_degree_field"] == AREA
    assert FLASH["bt1702"]["area"]["screen_fraction"] == AREA
    assert LONG_SECONDS == 5  # BT.1702, from memory


@pytest.mark.parametrize("count", range(1, 8))
@pytest.mark.parametrize("rate", ["24", "25", "29.97", "50", "59.94"])
def test_a_known_count_of_flashes(rate, count):
    """`count` single white frames, three frames apart, in one second; then nothing."""
    on = {5 + 3 * i for i in range(count)}
    light, dark = flat(WHITE), flat(BLACK)
    frames = [light if i in on else dark for i in range(3 * count + 70)]
    readings = watch(frames, RATES[rate])
    assert most(readings) == most(readings, "general_picture") == count
    assert worst(readings) == ("fails" if count > 3 else "watch" if count == 3 else "holds")
    assert readings[-1].general.flashes == 0  # a second later it is over


@pytest.mark.parametrize("rate", RATES)
@pytest.mark.parametrize("period", [2, 3, 5, 8, 9, 10, 16, 20, 21])
def test_steady_flashing_at_every_rate(rate, period):
    values = square(1, 0, period, 150)
    light, dark = flat(WHITE), flat(BLACK)
    readings = watch([light if value else dark for value in values], RATES[rate])
    assert most(readings) == transitions_twin(values, RATES[rate]) / 2


@pytest.mark.parametrize(
    ("rate", "period"), [("25", 9), ("50", 18), ("29.97", 10), ("30", 10), ("59.94", 20)]
)
def test_flashes_as_far_apart_as_bt1702_allows_hold(rate, period):
    """360 ms at 25 and 50 frames a second, 334 ms (10 of 30, 20 of 60 frames) at the others."""
    spacing = FLASH["bt1702"]["spacing"]
    limit = spacing["milliseconds_50hz" if rate in {"25", "50"} else "milliseconds_60hz"]
    assert 1000 * period / RATES[rate] == pytest.approx(limit, abs=0.7)
    apart = watch(square(flat(WHITE), flat(BLACK), period, 150), RATES[rate])
    assert most(apart) <= 3
    nearer = watch(square(flat(WHITE), flat(BLACK), period - 2, 150), RATES[rate])
    assert worst(nearer) == "fails"


@pytest.mark.parametrize("row", FLASH["transition"], ids=lambda r: f"{r['a']}{r['b']}")
def test_worked_transitions_flash_or_do_not(row):
    readings = watch(square(flat(row["a"]), flat(row["b"]), 4, 40))
    assert (worst(readings) == "fails") == row["general_flash_half"], row["source"]
    red = row["red_flash_half_classic"] or row.get("red_flash_half_new", False)
    assert (worst(readings, "red") == "fails") == red, row["source"]
    assert (worst(readings, "red_picture") == "fails") == red
    # BT.1702 by the light of a screen: ITU-R BT.1886, white of 200 cd/m2
    low, high = sorted(
        200 * np.dot([0.2126, 0.7152, 0.0722], bt1886_light(np.array(row[key]) / 255))
        for key in ("a", "b")
    )
    expected = high - low >= 20 and low < 160
    assert (worst(readings, "general_picture") == "fails") == expected, (low, high)


@pytest.mark.parametrize(
    ("rows", "columns", "verdict"),
    [(22, 21, "watch"), (22, 22, "fails"), (15, 31, "watch"), (16, 30, "fails"), (15, 15, "holds")],
)
def test_area_of_a_ten_degree_field(rows, columns, verdict):
    """On 1024 x 768: 21824 pixels may flash; a cell is 46.8 of them, 466.3 cells are the limit."""
    limit = FLASH["wcag"]["area_pixels"]["max_pixels"]
    pixels = rows * columns * 1024 * 768 / (FOUR_THREE.rows * FOUR_THREE.columns)
    assert (pixels > limit) == (verdict == "fails")
    on = patch(rows, columns, grid=FOUR_THREE, at=(30, 100))
    readings = watch(square(on, flat(BLACK, FOUR_THREE), 4, 40), grid=FOUR_THREE)
    assert worst(readings) == verdict
    assert worst(readings, "general_picture") == "holds"


def test_area_of_the_picture():
    """A quarter of the columns may flash by BT.1702, not by WCAG."""
    quarter = GRID.columns // 4  # 37 of 150
    for columns, verdict in ((quarter, "watch"), (quarter + 1, "fails")):
        readings = watch(square(patch(GRID.rows, columns), flat(BLACK), 4, 40))
        assert worst(readings, "general_picture") == verdict
        assert worst(readings) == "fails"


def test_area_counts_only_within_one_field():
    """Four patches, one in each corner, each under the limit, together over it."""
    corners = flat(BLACK).copy()
    for rows in (slice(0, 45), slice(-45, None)):
        for columns in (slice(0, 60), slice(-60, None)):
            corners[:, rows, columns] = 1
    assert 0.25 * FIELD < 4 * 15 * 20
    readings = watch(square(corners, flat(BLACK), 4, 40))
    assert most(readings) == 0
    assert worst(readings) == "watch"
    share = max(reading.general.share for reading in readings)
    assert share == pytest.approx(15 * 20 / FIELD, rel=0.005)


def test_place_of_the_flashing_field():
    readings = watch(square(patch(40, 50, at=(40, 100)), flat(BLACK), 4, 40))
    place = readings[-1].general.place
    assert 60 < place.left + place.width <= 100
    assert place.top + place.height > 60
    assert (place.width, place.height) == (33.3, 44.0)  # 50 of 150 columns, 37 of 84 rows


def test_parts_that_take_turns_count_together():
    """Left and right halves flash in turn: each twice a second, the field between four times."""
    left, right = patch(84, 75), patch(84, 75, at=(0, 75))
    order = [left, right, left, right]
    frames = [flat(BLACK)] * 3
    for on in order:
        frames += [on] * 3 + [flat(BLACK)] * 3
    readings = watch(frames)
    assert most(readings) == 4
    assert worst(readings) == "fails"
    place = next(r for r in readings if r.general.flashes == 4).general.place
    assert place.left < 50 < place.left + place.width


def test_a_coarse_checkerboard_that_reverses_counts():
    """Its field stays as bright as it is; every cell of it flashes."""
    y, x = np.mgrid[: FINE * GRID.rows, : FINE * GRID.columns]
    board = ((y // 6 + x // 6) % 2).astype(np.float32)
    first = np.ascontiguousarray(np.broadcast_to(board, (3, *board.shape)))
    assert worst(watch(square(first, 1 - first, 4, 40))) == "fails"


@pytest.mark.parametrize(("side", "verdict"), [(2, "holds"), (6, "holds"), (16, "fails")])
def test_only_a_fine_balanced_pattern_is_excepted(side, verdict):
    """Squares under 0.1 degree: 6.4 pixels of a picture of 1920, 30 degrees wide."""
    degrees = FLASH["wcag"]["exception"]["square_below_deg"]
    assert (side * 30 / 1920 < degrees) == (verdict == "holds")
    y, x = np.mgrid[:540, :1920]
    board = np.repeat(((y // side + x // side) % 2).astype(np.float32)[None], 3, axis=0)
    grid = make_grid(1920, 540)
    first, second = (fine_light(p, grid) for p in (board, 1 - board))
    assert worst(watch(square(first, second, 4, 40), grid=grid)) == verdict


def test_noise_does_not_flash():
    rng = np.random.default_rng(1)
    grid = make_grid(1280, 360)
    frames = [fine_light(rng.random((3, 360, 1280), np.float32), grid) for _ in range(12)]
    readings = watch(frames, grid=grid)
    assert most(readings) == most(readings, "general_picture") == 0
    assert worst(readings) == "holds"


def test_a_bordered_wipe_is_one_flash():
    """A white border, half a field wide, runs over black in ten frames."""
    frames = [flat(BLACK)]
    frames += [patch(84, 25, at=(0, 15 * i)) for i in range(9)]
    frames += [flat(BLACK)] * 30
    assert most(watch(frames)) == 1


def test_cuts_between_bright_and_dark_count_as_halves():
    frames = [flat(WHITE), flat(BLACK)]
    frames = [frames[1 - i // 6 % 2] for i in range(30)]
    assert most(watch(frames)) == 2  # by hand: cuts at 6, 12, 18 and 24, within one second


def check_limit(seed):
    """Shapes just over and just under a quarter of the picture, at any depth."""
    rng = np.random.default_rng(seed)
    dark = rng.uniform(0, 0.79)
    light = dark + rng.uniform(0.1, min(1 - dark, 0.3))
    for share, fails in ((0.2503, True), (0.2445, False)):
        mask = sized(rng, share)
        if mask is None:
            continue
        on = (dark + cells(mask) * (light - dark)).astype(np.float32)
        off = np.full_like(on, dark)
        frames = [np.repeat(value[np.newaxis], 3, axis=0) for value in (on, off)]
        meter = FlashMeter(GRID, Fraction(25))
        # a grey's light is handed over as it is, so that both limits are of the same size
        found = [meter.add(frames[i % 2], frames[i % 2][0]) for i in range(12)]
        assert (worst(found, "general_picture") == "fails") == fails, (seed, mask.mean())
        assert worst(found, "general_picture") != "holds"


@pytest.mark.parametrize("seed", range(12))
def test_just_over_a_quarter_of_the_picture_never_holds(seed):
    check_limit(seed)


@pytest.mark.slow
@pytest.mark.parametrize("first", range(0, 300, 50))
def test_many_shapes_just_over_a_quarter_of_the_picture(first):
    for seed in range(first, first + 50):
        check_limit(seed)


@pytest.mark.parametrize(("period", "seconds", "long"), [
    (12, 5.5, True), (12, 4.5, False), (25, 6.2, True), (25, 4.0, False), (60, 12, False),
])  # fmt: skip
def test_flashing_for_more_than_five_seconds(period, seconds, long):
    """At one flash a second or more; at one in 2.4 seconds there is rest in between."""
    light, dark = flat(WHITE), flat(BLACK)
    count = round(25 * seconds)
    readings = watch([dark] * 5 + square(light, dark, period, count) + [dark] * 30)
    assert any(is_long(r.general_picture, Fraction(25)) for r in readings) == long
    judged = {judge_flashing(r.general_picture, Fraction(25)) for r in readings}
    assert ("watch" in judged) == long
    assert {judge_flashing(r.general) for r in readings} == {"holds"}  # WCAG has no such rule


def test_a_small_part_is_told_by_how_fast_it_flashes():
    """14 % of the picture at 6.25 flashes a second: no flashes over a quarter of it."""
    readings = watch(square(patch(GRID.rows, 21), flat(BLACK), 4, 40))
    last = readings[-1].general_picture
    assert (last.flashes, last.faster) == (0, 6)  # 12 turns in 25 frames
    assert 0.125 < last.share < 0.16
    assert judge_flashing(last) == "watch"


def test_the_very_array_says_that_nothing_has_changed():
    frames = square(flat(WHITE), flat(BLACK), 6, 40)
    copies = [frame.copy() for frame in frames]
    assert watch(frames)[-1] == watch(copies)[-1]


@pytest.mark.parametrize(("flashes", "share", "verdict"), [
    (0, 0.0, "holds"), (2.5, 0.1, "holds"), (2.5, 0.13, "watch"), (3, 0.0, "watch"),
    (3.5, 0.0, "fails"),
])  # fmt: skip
def test_verdicts(flashes, share, verdict):
    assert judge_flashing(Flashing(flashes, share, WHOLE)) == verdict


def test_memory_does_not_grow():
    def size(thing, seen):
        if isinstance(thing, np.ndarray):
            return thing.nbytes
        if isinstance(thing, list):
            return sum(size(part, seen) for part in thing)
        if id(thing) in seen or not hasattr(thing, "__dict__"):
            return 0
        seen.add(id(thing))
        return sum(size(value, seen) for value in vars(thing).values())

    meter = FlashMeter(GRID, Fraction(25))
    frames = [(frame, screen_light(frame)) for frame in square(flat(WHITE), flat(BLACK), 4, 4)]
    sizes = []
    for i in range(80):
        meter.add(*frames[i % 4])
        sizes.append(size(meter, set()))
    assert sizes[5] == sizes[-1] < 20_000_000


@given(st.lists(st.integers(0, 3), min_size=2, max_size=60), st.sampled_from(sorted(RATES)))
def test_counts_are_bounded_and_rest_is_still(levels, rate):
    grid = make_grid(48, 27)
    flats = [flat((85 * level,) * 3, grid) for level in range(4)]
    frames = [flats[level] for level in levels]
    readings = watch(frames + [frames[-1]] * 61, RATES[rate], grid)
    assert most(readings) <= min(len(levels), 61) / 2
    assert readings[-1].general.flashes == 0
