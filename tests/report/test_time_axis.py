"""Where frames, shots and numbers lie on the axis of a spot."""

from keyer.report.time_axis import TimeAxis, pins_on, shots
from keyer.sheet.load import parse_sheet

SHEET = parse_sheet(
    'version = 1\n[sheet]\nformat = "64x36@25"\nlength = 100\n[sources.a]\nramp = true\n'
    '[[cues]]\nsource = "a"\n'
    '[[cues]]\nsource = "a"\nat = 50\ntransition = { kind = "mix", length = 25 }\n'
)
AXIS = TimeAxis(10.0, 200.0, 100)


def test_shots_begin_are_full_and_end_to_scale():
    # by hand: two units a frame, from 10
    found = [(shot.start, shot.full, shot.stop) for shot in shots(SHEET, AXIS)]
    assert found == [(10, 10, 110), (110, 160, 210)]


def test_numbers_that_would_overlap_are_not_written():
    pins = {1: 0, 2: 1, 3: 4, 4: 99}
    found = list(pins_on(pins, AXIS, lambda _: 6.0, 1.0))
    # middles by hand: 11, 13, 19; the last is moved to end with the axis, at 210
    assert found == [(1, 11.0, True), (2, 13.0, False), (3, 19.0, True), (4, 207.0, True)]
