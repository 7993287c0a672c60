import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from support import reference

from keyer.errors import TimeError
from keyer.kinds.timing import (
    RATES,
    can_drop,
    check_time,
    count_rate,
    eased,
    frames_per_day,
    parse_rate,
    parse_time,
    rate_name,
    timecode,
)

NTSC, NTSC60, PAL = RATES["29.97"], RATES["59.94"], RATES["25"]
PAIRS = [
    (rate, pair["frame"], pair["timecode"])
    for table, rate in (("pair30", NTSC), ("pair60", NTSC60))
    for pair in reference("timecode")[table]
]
ALL_RATES = st.sampled_from(list(RATES.values()))


@pytest.mark.parametrize(("rate", "frame", "label"), PAIRS)
def test_drop_frame_agrees_with_the_reference_both_ways(rate, frame, label):
    assert timecode(frame, rate) == label, "timecode.toml (SMPTE ST 12-1 rule)"
    assert parse_time(label, rate) == frame, "timecode.toml (SMPTE ST 12-1 rule)"


def test_the_worked_example_of_the_rule():
    example = reference("timecode")["rule"]["example"]
    assert parse_time(example["after"], NTSC) == parse_time(example["before"], NTSC) + 1


@pytest.mark.parametrize(("rate", "table"), [(NTSC, "df30"), (NTSC60, "df60")])
def test_a_day_counts_what_the_reference_says(rate, table):
    constants = reference("timecode")["constants"][table]
    assert frames_per_day(rate, drop=True) == constants["frames_per_24_hours"]
    assert frames_per_day(rate, drop=False) == 24 * constants["non_drop_frames_per_hour"]


def test_distances_of_labels_thirty_seconds_apart():
    note = reference("timecode")["spot30_note"]["label"]
    for start, end in (
        ("00:00:00", "00:00:30"),
        ("00:00:45", "00:01:15"),
        ("00:09:45", "00:10:15"),
    ):
        frames = parse_time(f"{end};00", NTSC) - parse_time(f"{start};00", NTSC)
        name = f"from_{start}_00_to_{end}_00".replace(":", "_")
        assert frames == note[name], f"timecode.toml spot30_note.label {name}"


@pytest.mark.parametrize("spot", reference("timecode")["spot30"], ids=lambda spot: spot["rate"])
def test_thirty_seconds_at_every_rate(spot):
    rate = parse_rate(spot["rate"])
    if spot["floor"] == spot["ceil"]:
        assert parse_time("30s", rate) == spot["nearest_whole"]
    else:
        with pytest.raises(TimeError) as caught:
            parse_time("30s", rate)
        assert f'"{spot["floor"]}f"' in str(caught.value)
        assert f'"{spot["ceil"]}f"' in str(caught.value)
    assert parse_time("00:00:30:00", rate) == spot["nominal_count"]


def test_every_frame_of_twenty_minutes_has_its_own_label_in_order():
    for rate in (NTSC, NTSC60):
        labels = [timecode(frame, rate) for frame in range(2 * 17982)]
        assert labels == sorted(set(labels))


@given(ALL_RATES, st.data())
def test_frame_to_timecode_to_frame(rate, data):
    drop = data.draw(st.booleans()) if can_drop(rate) else False
    frame = data.draw(st.integers(0, frames_per_day(rate, drop=drop) - 1))
    assert parse_time(timecode(frame, rate, drop=drop), rate) == frame


@given(ALL_RATES, st.integers(0, 10**7))
def test_the_count_starts_again_after_a_day(rate, frame):
    day = frames_per_day(rate, drop=can_drop(rate))
    assert timecode(frame + day, rate) == timecode(frame, rate)


@given(ALL_RATES, st.integers(0, 2_000_000))
def test_frames_are_frames_however_written(rate, frame):
    assert parse_time(frame, rate) == frame
    assert parse_time(str(frame), rate) == frame
    assert parse_time(f" {frame}f ", rate) == frame
    assert parse_time(float(frame), rate) == frame


@given(ALL_RATES, st.decimals(0, 86000, places=3))
def test_seconds_are_exact_or_refused_with_the_two_frames_beside(rate, seconds):
    exact = Fraction(seconds) * rate
    if exact.denominator == 1:
        assert parse_time(f"{seconds}s", rate) == exact
        return
    with pytest.raises(TimeError) as caught:
        parse_time(f"{seconds}s", rate)
    assert f'"{math.floor(exact)}f"' in str(caught.value)
    assert f'"{math.ceil(exact)}f"' in str(caught.value)


def test_seconds_that_look_inexact_as_floats_are_exact():
    assert parse_time("0.28s", PAL) == 7  # 0.28 * 25 is 7.000000000000001 in floats
    assert parse_time("3.003s", NTSC) == 90
    assert parse_time("2.5 s", RATES["24"]) == 60


@pytest.mark.parametrize(
    ("value", "rate", "says"),
    [
        ("2.5s", PAL, '"62f" (00:00:02:12) or "63f" (00:00:02:13)'),
        ("3s", NTSC, '"89f" (00:00:02;29) or "90f" (00:00:03;00)'),
        ("00:01:00;00", NTSC, "'00:01:00;02'"),
        ("00:01:00;03", NTSC60, "'00:01:00;04'"),
        ("00:00:03;00", PAL, "only at 29.97 and 59.94"),
        ("00:00:03;00", RATES["30"], "only at 29.97 and 59.94"),
        ("00:00:03;00", RATES["23.976"], "only at 29.97 and 59.94"),
        ("00:00:00:25", PAL, "end at 24"),
        ("00:00:60:00", PAL, "end at 59"),
        ("00:60:00:00", PAL, "end at 59"),
        ("24:00:00:00", PAL, "end at 23"),
        ("00:00:01:00", Fraction(25, 2), "no timecode"),
        (-1, PAL, "negative"),
        ("-3s", PAL, "negative"),
        (-0.5, PAL, "whole number"),
        (2.5, PAL, "whole number"),
        (math.nan, PAL, "whole number"),
        (math.inf, PAL, "whole number"),
        ("nan", PAL, "must be a time"),
        ("", PAL, "must be a time"),
        ("3 sec", PAL, "must be a time"),
        ("1e3s", PAL, "must be a time"),
        ("٣s", PAL, "must be a time"),
        ("00:00:03", PAL, "must be a time"),
        (True, PAL, "must be a time"),
        (None, PAL, "must be a time"),
        ("90000s", PAL, "24 hours"),
        pytest.param(10**6000, PAL, "24 hours", id="enormous"),
        pytest.param(-(10**6000), PAL, "negative", id="enormously negative"),
        pytest.param("9" * 5000, PAL, "must be a time", id="many digits"),
    ],
)
def test_what_is_no_time_is_refused_in_one_line(value, rate, says):
    with pytest.raises(TimeError) as caught:
        parse_time(value, rate, "at")
    text = str(caught.value)
    assert says in text
    assert text.startswith("at ")
    assert "\n" not in text
    assert len(text) < 220


def test_at_odd_clip_rates_frames_and_seconds_can_be_read():
    assert parse_time("2s", Fraction(25, 2)) == 25
    with pytest.raises(TimeError, match=r'"12f" or "13f"'):
        parse_time("1s", Fraction(25, 2))


def test_a_time_is_checked_before_its_rate_is_known():
    for value in (0, "75f", "2.5s", "00:00:01:59", "00:00:01;28"):
        check_time(value)
    with pytest.raises(TimeError, match="in must be a time"):
        check_time("later", "in")


@pytest.mark.parametrize("name", RATES)
def test_rates_by_name_number_and_fraction(name):
    rate = RATES[name]
    assert parse_rate(name) == parse_rate(float(name)) == parse_rate(rate) == rate
    assert parse_rate(str(rate)) == rate
    assert rate_name(rate) == name


def test_rates_of_broadcast_are_exact():
    assert parse_rate("29.97") == Fraction(30000, 1001)
    assert parse_rate(23.98) == parse_rate("23.976") == Fraction(24000, 1001)
    assert [count_rate(rate) for rate in RATES.values()] == [24, 24, 25, 30, 30, 50, 60, 60]
    assert rate_name(Fraction(25, 2)) == "25/2"


@pytest.mark.parametrize(
    "value", ["26", "", "x", 0, -25, math.nan, math.inf, "25fps", "30000/1000"]
)
def test_other_rates_are_refused_with_the_list(value):
    with pytest.raises(TimeError, match=r"rate must be one of 23\.976, 24, 25"):
        parse_rate(value)


def test_drop_frame_is_refused_where_it_does_not_exist():
    with pytest.raises(TimeError, match="drop must be false"):
        timecode(0, PAL, drop=True)
    with pytest.raises(TimeError, match="negative"):
        timecode(-1, PAL)
    assert timecode(1800, NTSC, drop=False) == "00:01:00:00"


@given(st.sampled_from(["linear", "ease-in", "ease-out", "ease"]), st.floats(0, 1), st.floats(0, 1))
def test_curves_begin_and_end_and_never_turn_back(curve, first, second):
    assert eased(curve, 0.0) == 0.0
    assert eased(curve, 1.0) == 1.0
    low, high = sorted((first, second))
    assert eased(curve, low) <= eased(curve, high) + 1e-12


def test_curves_at_the_middle_and_quarter():
    # by hand from p^2, 1 - (1 - p)^2 and p^2 (3 - 2p)
    assert eased("linear", 0.25) == 0.25
    assert eased("ease-in", 0.25) == 0.0625
    assert eased("ease-out", 0.25) == 0.4375
    assert eased("ease", 0.25) == 0.15625
    assert eased("ease", 0.5) == 0.5
