"""What is said to help a key helps that very key: it is tried on the picture before it is said.

The plates are drawn: a disc before green with grain, with one fault in it.
"""

import re
from dataclasses import replace

import numpy as np
import pytest
from plates.proof import KINDS, make
from render.frames import ByKey

from keyer.kinds.picture import RgbPicture
from keyer.measure.coverage import measure_coverage
from keyer.measure.key_trials import TRIED
from keyer.media.files import Files
from keyer.media.write import write_still
from keyer.render.key_trials import changed_key, try_settings
from keyer.render.oneshot import format_of, sheet_of_files
from keyer.render.plan import Plan
from keyer.report.checks.check import check_sheet
from keyer.report.checks.key_checks import judge_key
from keyer.sheet.effect import Key
from keyer.sheet.masks import Mask
from keyer.sheet.sheet import Cue, Overlay

WHITE, GREY, BLACK = (1.0,) * 3, (0.9,) * 3, (0.05,) * 3
GREEN, SKIN, TEAL = (0.12, 0.62, 0.18), (0.62, 0.42, 0.33), (0.197, 0.593, 0.474)
FAST = Key("chroma", acceptance_deg=130.0, clip_percent=4.0, gain=1.1)
PLAIN, FINE = Key("chroma"), Key("chroma", quality="fine")
UNCLIPPED = Key("chroma", clip_percent=0.0, gain=1.2)
LEVEL = Key("luminance", clip_percent=10.0, gain=1.15)
SUBJECT = Mask("ellipse", (50, 53, 40, 53))
AROUND = tuple(
    Mask("rectangle", place)
    for place in ((-5, -5, 110, 25), (-5, 86, 110, 20), (-5, -5, 28, 110), (77, -5, 28, 110))
)


def _colour(rgb):
    return np.array(rgb, np.float32)[:, np.newaxis, np.newaxis]


def _grid(height, pitch):
    """Offsets of 7 x 7 places about the middle of the disc."""
    steps = range(-3 * pitch, 4 * pitch, pitch)
    return [(height * 19 // 36 + y, height * 2 // 3 + x) for y in steps for x in steps]


def _recorded(height, matte, subject=SKIN, backing=GREEN, noise=0.006):
    subject, backing = (
        _colour(one) if isinstance(one, tuple) else one for one in (subject, backing)
    )
    grain = np.random.default_rng(1).normal(0, noise, (3, height, height * 4 // 3))
    mixed = matte * subject + (1 - matte) * backing + grain
    return RgbPicture((mixed.clip(0, 1) * 255 + 0.5).astype(np.uint8))


def _disc(height, soft=1.0):
    rows, columns = np.mgrid[:height, : height * 4 // 3].astype(np.float32)
    distance = np.hypot(rows - height * 19 / 36, columns - height * 2 / 3)
    return np.clip((0.3 * height - distance) / soft + 0.5, 0, 1)


def _leaves(kind):
    """Small things on the subject, of a hue that a wide wedge takes for the backing's."""
    subject = _colour(SKIN if kind is FAST else WHITE) * np.ones((1, 360, 480), np.float32)
    for y, x in _grid(360, 18):
        subject[:, y : y + 7, x : x + 7] = _colour(TEAL if kind is FAST else GREY)
    return _recorded(360, _disc(360), subject, GREEN if kind is FAST else BLACK)


def _dust(kind):
    """Dots in a ring about the disc; for a key without a clip, grain."""
    if kind is UNCLIPPED:
        return _recorded(360, _disc(360), noise=0.025)
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


def _verdicts(folder, picture, key):
    sheet, overlay = _planned(folder, picture, key)
    with Plan(sheet) as plan:
        return {one.measure: one for one in judge_key(plan, overlay, 0)}


def _planned(folder, picture, key):
    """A sheet whose one overlay is the picture, keyed."""
    write_still(folder / "plate.png", picture, Files(force=True))
    files = {"plate": folder / "plate.png"}
    overlay = Overlay(0, "plate", 0, 2, key)
    video = format_of(files["plate"])
    return sheet_of_files(video, files, (Cue(0, "plate", 0),), (overlay,)), overlay


def _tried(folder, picture, key):
    """Remedies of a key by measure, with what was tried."""
    sheet, overlay = _planned(folder, picture, key)
    verdicts = list(_verdicts(folder, picture, key).values())
    with Plan(sheet) as plan:
        tried = try_settings(plan, overlay, 0, verdicts, "here")
    return {one.measure: one for one in tried}


_SAID = {
    r"gain ([\d.]+)": "gain",
    r"clip ([\d.]+) %": "clip_percent",
    r"acceptance ([\d.]+)°": "acceptance_deg",
    r"holes filled up to ([\d.]+) px": "fill_holes",
    r"specks dropped up to ([\d.]+) px": "drop_specks",
}


def _change_said(remedy):
    """Read the setting that a remedy names, and the value that it promises."""
    said, promised = re.search(r"Tried here: with (.*) it is ([\d.e-]+) ", remedy).groups()
    for words, name in _SAID.items():
        if found := re.fullmatch(words, said):
            return {name: float(found[1])}, float(promised)
    raise AssertionError(said)


_FAULTS = {
    "coverage.holes": _leaves,
    "coverage.specks": _dust,
    "coverage.edge_width": _soft,
}
_CASES = [
    (FAST, "coverage.holes"),
    (UNCLIPPED, "coverage.specks"),
    (FAST, "coverage.edge_width"),
    (FINE, "coverage.edge_width"),
    *((LEVEL, measure) for measure in _FAULTS),
]


@pytest.mark.parametrize(("key", "measure"), _CASES, ids=[f"{k.way}-{m}" for k, m in _CASES])
def test_the_setting_that_is_named_helps_as_much_as_is_said(tmp_path, key, measure):
    picture = _FAULTS[measure](key)
    before = _verdicts(tmp_path, picture, key)[measure]
    assert before.verdict != "holds"
    said = _tried(tmp_path, picture, key)[measure]
    assert (said.value, said.verdict) == (before.value, before.verdict)
    change, promised = _change_said(said.remedy)
    after = _verdicts(tmp_path, picture, changed_key(key, change))[measure]
    assert after.value == pytest.approx(promised, rel=0.06, abs=1e-9)
    assert after.value < 0.9 * before.value


@pytest.mark.parametrize("way", ["fast", "level"])
def test_masks_help_every_key(tmp_path, way):
    key, without = (FAST, UNCLIPPED) if way == "fast" else (LEVEL, LEVEL)
    holes, specks = _leaves(key), _dust(without)
    held = _verdicts(tmp_path, holes, replace(key, hold=(SUBJECT,)))["coverage.holes"]
    assert held.value < _verdicts(tmp_path, holes, key)["coverage.holes"].value
    masked = _verdicts(tmp_path, specks, replace(without, garbage=AROUND))["coverage.specks"]
    assert masked.value < _verdicts(tmp_path, specks, without)["coverage.specks"].value


@pytest.mark.parametrize("key", [FAST, FINE], ids=lambda key: key.quality)
@pytest.mark.parametrize("kind", ["noise", "all at once", "motion and strands, spill"])
def test_remedies_on_plates_with_hair_name_what_helps_or_nothing(tmp_path, kind, key):
    """Where strands cross, more gain can make more holes: then it is not said."""
    plate = make(next(one for one in KINDS if one.name == kind), 270, 360, seed=4)
    codes = (plate.recorded.clip(0, 1) * 255 + 0.5).astype(np.uint8)
    picture = RgbPicture(np.ascontiguousarray(codes))
    before = _verdicts(tmp_path, picture, key)
    for measure, said in _tried(tmp_path, picture, key).items():
        if before[measure].verdict == "holds" or measure not in TRIED:
            assert said == before[measure]
        elif "No setting that was tried" not in said.remedy:
            change, _ = _change_said(said.remedy)
            after = _verdicts(tmp_path, picture, changed_key(key, change))
            assert after[measure].value < 0.9 * before[measure].value


def test_the_findings_of_a_check_name_what_helps(tmp_path):
    sheet, _ = _planned(tmp_path, _leaves(FAST), FAST)
    report = check_sheet(sheet)
    (finding,) = [one for one in report.findings if one.check == "coverage.holes"]
    tried = (
        r"Tried at 00:00:00:00: with (acceptance|gain|clip) [0-9.]+( ?[°%])? it is 0 % of picture\."
    )
    assert re.search(tried, finding.remedy)


@pytest.mark.parametrize("key", [PLAIN, FINE], ids=lambda key: key.quality)
@pytest.mark.parametrize("changes", [{"clip_percent": 5.0}, {"clip_percent": 30.0}, {"gain": 1.5}])
def test_a_clip_or_a_gain_by_hand_leaves_solid_what_is_solid(key, changes):
    """A subject that was solid once stays so: it is never a ghost."""
    picture = _recorded(180, _disc(180))
    plain = measure_coverage(_keyed(picture, key)).solid_percent
    assert plain > 20
    changed = measure_coverage(_keyed(picture, replace(key, **changes))).solid_percent
    assert changed > 0.99 * plain
