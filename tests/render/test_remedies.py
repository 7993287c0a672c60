"""What is said to help a key helps that very key: each remedy is tried on a plate with the fault.

The plates are drawn: a disc before green with grain, with one fault in it.
"""

from dataclasses import replace

import numpy as np
import pytest
from render.frames import ByKey

from keyer.kinds.picture import RgbPicture
from keyer.kinds.settings import Finish
from keyer.measure.coverage import REMEDIES, judge_coverage, measure_coverage
from keyer.sheet.effect import Key
from keyer.sheet.masks import Mask

WHITE, GREY, BLACK = (1.0,) * 3, (0.9,) * 3, (0.05,) * 3
GREEN, SKIN, LEAF = (0.12, 0.62, 0.18), (0.62, 0.42, 0.33), (0.5, 0.55, 0.3)
FAST, FINE = Key("chroma"), Key("chroma", quality="fine")
LEVEL = Key("luminance", clip_percent=10.0, gain=1.15)
SUBJECT = Mask("ellipse", (50, 53, 40, 53))
AROUND = Mask("rectangle", (-5, -5, 110, 25))


def _colour(rgb):
    return np.array(rgb, np.float32)[:, np.newaxis, np.newaxis]


def _grid(height, pitch):
    """Offsets of 7 x 7 places about the middle of the disc."""
    steps = range(-3 * pitch, 4 * pitch, pitch)
    return [(height * 19 // 36 + y, height * 2 // 3 + x) for y in steps for x in steps]


def _recorded(height, matte, subject=SKIN, backing=GREEN):
    subject, backing = (
        _colour(one) if isinstance(one, tuple) else one for one in (subject, backing)
    )
    grain = np.random.default_rng(1).normal(0, 0.006, (3, height, height * 4 // 3))
    mixed = matte * subject + (1 - matte) * backing + grain
    return RgbPicture((mixed.clip(0, 1) * 255 + 0.5).astype(np.uint8))


def _disc(height, soft=1.0):
    rows, columns = np.mgrid[:height, : height * 4 // 3].astype(np.float32)
    distance = np.hypot(rows - height * 19 / 36, columns - height * 2 / 3)
    return np.clip((0.3 * height - distance) / soft + 0.5, 0, 1)


def _leaves(kind):
    """Small things of nearly the backing's hue on the subject; for a fine key see-through ones."""
    if kind is FINE:
        matte = _disc(720)
        for y, x in _grid(720, 36):
            matte[y : y + 7, x : x + 7] = 0.2
        return _recorded(720, matte)
    subject = _colour(SKIN if kind is FAST else WHITE) * np.ones((1, 360, 480), np.float32)
    for y, x in _grid(360, 18):
        subject[:, y : y + 3, x : x + 3] = _colour(LEAF if kind is FAST else GREY)
    return _recorded(360, _disc(360), subject, GREEN if kind is FAST else BLACK)


def _dust(kind):
    """Dots in a ring about the disc; a fine key drops what lies far from it by itself."""
    matte = _disc(360)
    for angle in np.linspace(0, 2 * np.pi, 24, endpoint=False):
        y, x = round(190 + 140 * np.sin(angle)), round(240 + 140 * np.cos(angle))
        matte[y : y + 2, x : x + 2] = 0.3
    return _of(kind, matte)


def _soft(kind):
    return _of(kind, _disc(360, 14))


def _of(kind, matte):
    if kind is LEVEL:
        return _recorded(360, matte, WHITE, BLACK)
    return _recorded(360, matte)


def _keyed(picture, key):
    return ByKey(key, picture).matte


def _judged(picture, key, measure):
    matte = _keyed(picture, key)
    verdicts = judge_coverage(measure_coverage(matte), matte.shape[0], key.way)
    return next(one for one in verdicts if one.measure == measure)


_HELD, _MASKED = {"hold": (SUBJECT,)}, {"garbage": (AROUND,)}
TRIED = {
    "fast": {
        "holes": {
            "raise the gain": {"gain": 2.5},
            "narrow the acceptance angle": {"acceptance_deg": 60.0},
            "hold it in": _HELD,
        },
        "specks": {"raise the clip": {"clip_percent": 40.0}, "mask off": _MASKED},
        "edge": {"Raise the gain": {"gain": 2.5}},
    },
    "fine": {
        "holes": {
            "raise the gain above 1": {"gain": 3.0},
            "fill holes": {"finish": Finish(fill_holes=100)},
            "hold the place in": _HELD,
        },
        "specks": {
            "raise the clip": {"clip_percent": 40.0},
            "drop specks": {"finish": Finish(drop_specks=30)},
            "mask off": _MASKED,
        },
        "edge": {"Raise the gain above 1": {"gain": 2.5}},
    },
    "level": {
        "holes": {
            "lower the clip": {"clip_percent": 0.0},
            "raise the gain": {"gain": 2.0},
            "hold the place in": _HELD,
        },
        "specks": {"raise the clip": {"clip_percent": 35.0}, "mask it off": _MASKED},
        "edge": {"Raise the gain": {"gain": 2.5}},
    },
}
_FAULTS = {
    "holes": (_leaves, "coverage.holes"),
    "specks": (_dust, "coverage.specks"),
    "edge": (_soft, "coverage.edge_width"),
}
_CASES = [(key, fault) for key in (FAST, FINE, LEVEL) for fault in _FAULTS]


@pytest.mark.parametrize(("key", "fault"), _CASES, ids=[f"{k.way}-{f}" for k, f in _CASES])
def test_every_setting_that_is_named_helps_this_key(key, fault):
    draw, measure = _FAULTS[fault]
    picture = draw(key)
    before = _judged(picture, key, measure)
    assert before.verdict != "holds"
    for words, changes in TRIED[key.way][fault].items():
        assert words in before.remedy
        assert _judged(picture, replace(key, **changes), measure).value < before.value, words


def test_no_remedy_names_a_setting_that_was_not_tried():
    settings = ("gain", "clip", "acceptance", "hold", " off", "fill holes", "drop specks", "invert")
    for way, remedies in REMEDIES.items():
        for fault, tried in TRIED[way].items():
            named = {word for word in settings if word in remedies[fault]}
            assert named == {word for word in settings if any(word in one for one in tried)}


@pytest.mark.parametrize("key", [FAST, FINE], ids=lambda key: key.quality)
@pytest.mark.parametrize("changes", [{"clip_percent": 5.0}, {"clip_percent": 30.0}, {"gain": 1.5}])
def test_a_clip_or_a_gain_by_hand_leaves_solid_what_is_solid(key, changes):
    """A subject that was solid once stays so: it is never a ghost."""
    picture = _recorded(180, _disc(180))
    plain = measure_coverage(_keyed(picture, key)).solid_percent
    assert plain > 20
    changed = measure_coverage(_keyed(picture, replace(key, **changes))).solid_percent
    assert changed > 0.99 * plain
