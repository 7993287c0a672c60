"""Whether what is said of mattes is right, on plates whose mattes are known.

    python tests/benchmarks/verdicts.py --plates DIR [DIR ...] [--cases]

Every plate of the folders (as for `mattes.py`; `subject.png` beside `matte.png` is the subject's
true colour, for spill) is judged with its true matte, with those of the fast and the fine key, and
with a fault planted in each: holes in what is solid, buttons of a duller paint keyed out, specks in
what is clear, edges softened, light of the backing on the subject's rim. What is true is known from
the true matte: a hole lies two pixels or more inside what is truly solid, a speck as far inside
what is truly clear. Told is how often each verdict holds where nothing is wrong, and does not where
something is; values between two thirds and three halves of a limit may be told either way.
"""

from __future__ import annotations

import argparse
import sys
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from plates.keys import KEYS
from plates.recorded import Recorded, plates_in

from keyer.kinds.arrays import Mask, Plane, Planes
from keyer.measure.against_plate import CLEAR, SOLID, KeyedFrom
from keyer.measure.backing import survey_backing
from keyer.measure.coverage import WIDENED, judge_coverage, measure_coverage
from keyer.measure.plate import backing_surface
from keyer.measure.spill import judge_rim, judge_spill, measure_spill, spill_of
from keyer.pixel.mattes.regions import dilate, erode

OFF = 0.12
"""Error of a matte from which a place of it is wrong."""

PRESENT = 0.05
LIMITS = {"holes": 0.005, "specks": 0.005, "spill": 2.5}
_INSIDE = ("coverage.holes", "coverage.openings")
PLANTED = 0.0015
"""Share of the picture in planted holes or specks."""


def rings(where: Mask, depth: float, rng: np.random.Generator) -> Iterator[tuple[Plane, float]]:
    """Draw discs of 2 to 8 pixels well within a part, until they cover the share planted."""
    inside = cv2.distanceTransform(np.pad(where.view(np.uint8), 1), cv2.DIST_L2, 5)[1:-1, 1:-1]
    rows, columns = np.nonzero(inside > min(depth, 0.9 * float(inside.max())))
    y, x = np.mgrid[: where.shape[0], : where.shape[1]]
    covered = 0.0
    while covered < PLANTED * where.size:
        place, radius = rng.integers(rows.size), rng.uniform(2, 8)
        distance = np.hypot(y - rows[place], x - columns[place])
        yield np.clip(radius - distance + 0.5, 0, 1).astype(np.float32), radius
        covered += np.pi * radius**2


def with_holes(matte: Plane, rng: np.random.Generator) -> Plane:
    """Thin the matte in discs of what is solid."""
    for disc, _ in rings(matte >= SOLID, 10, rng):
        matte = np.minimum(matte, 1 - disc * np.float32(rng.uniform(0.25, 1)))
    return matte


def with_specks(matte: Plane, rng: np.random.Generator) -> Plane:
    """Dust what is clear, 5 % of the height and more from the subject."""
    for disc, _ in rings(matte <= CLEAR, 0.05 * matte.shape[0], rng):
        matte = np.maximum(matte, disc * np.float32(rng.uniform(0.08, 0.9)))
    return matte


def with_buttons(recorded: Planes, backing: Planes, matte: Plane) -> tuple[Planes, Plane]:
    """Paint discs of the backing's hue, but half as pure, on what is solid, and key them out."""
    rng = np.random.default_rng(2)
    paint = 0.5 * backing + 0.25
    for disc, _ in rings(matte >= SOLID, 10, rng):
        recorded, matte = recorded + disc * (paint - recorded), np.minimum(matte, 1 - disc)
    return np.ascontiguousarray(recorded, np.float32), np.ascontiguousarray(matte, np.float32)


def softened(matte: Plane, rng: np.random.Generator) -> Plane:  # as the others
    """Smooth the matte by a Gaussian of 2.5 pixels: an edge is 6 pixels wide at least."""
    return np.asarray(cv2.GaussianBlur(matte, (0, 0), 2.5), np.float32)


def with_spill(colour: Planes, matte: Plane, light: Planes) -> Planes:
    """Add 30 % of the backing's light to the edge and to what is next to it."""
    near = cv2.GaussianBlur((matte < SOLID).astype(np.float32), (0, 0), 4)
    return np.asarray(colour + 0.3 * np.minimum(2 * near, 1) * light, np.float32)


def true_width(matte: Plane) -> float:
    """Width of the edges of a true matte."""
    return measure_coverage(matte).edge_width_px


class Table:
    """How often each verdict is right."""

    def __init__(self, *, cases: bool) -> None:
        self.right: dict[tuple[str, str, bool], list[bool]] = defaultdict(list)
        self._cases = cases

    def add(self, case: str, verdict: str, said: bool, value: float, limit: float) -> None:
        """Take a case: whether an alarm was given, and what is true against its limit."""
        between = 2 / 3 < value / limit < 3 / 2
        right = between or said == (value > limit)
        whose = case.split(":")[1].strip()
        self.right[whose, verdict, value > limit].append(right)
        if self._cases and not right:
            print(f"wrong: {case}, {verdict}: said {said}, true {value:.3f} against {limit:.3f}")

    def show(self) -> None:
        """Print right of all, for each kind of matte and verdict, without and with a fault."""
        verdicts = list(dict.fromkeys(verdict for _, verdict, _ in self.right))
        print(f"{'right of all':24}" + "".join(f"{name:>20}" for name in verdicts))
        for whose in dict.fromkeys(whose for whose, _, _ in self.right):
            for fault in (False, True):
                cells = (self.right.get((whose, name, fault), []) for name in verdicts)
                words = "".join(f"{f'{sum(c)} of {len(c)}' if c else '':>20}" for c in cells)
                print(f"{whose + (', faulty' if fault else ', sound'):24}{words}")
        every = [
            [one for (_, name, _), found in self.right.items() if name == verdict for one in found]
            for verdict in verdicts
        ]
        print(f"{'all, %':24}" + "".join(f"{100 * np.mean(one):20.1f}" for one in every))


FAULTS: dict[str, Callable[[Plane, np.random.Generator], Plane]] = {
    "none": lambda matte, rng: matte,  # noqa: ARG005
    "holes": with_holes,
    "specks": with_specks,
    "softened": softened,
}


def judge_plate(plate: Recorded, subject: Planes | None, where: str, table: Table) -> None:
    """Judge a plate's mattes, with and without faults."""
    backing = survey_backing(plate.recorded, "bt709")
    surface = backing_surface(plate.recorded, backing.rgb, "bt709").planes
    keyed = KeyedFrom(plate.recorded, surface, backing.hue_deg, "bt709")
    true = plate.matte
    within, without = erode(true >= SOLID, 2), erode(true <= CLEAR, 2)
    mattes = {"true": (true, None), **{key: KEYS[key](plate.recorded) for key in ("fast", "fine")}}
    for name, (sound, fill) in mattes.items():
        for fault, plant in FAULTS.items():
            matte = plant(sound, np.random.default_rng(len(plate.name)))
            case = f"{where}/{plate.name}, {fault}: {name}"
            found = measure_coverage(np.ascontiguousarray(matte), keyed)
            said = {
                one.measure.split(".")[1]: one.verdict != "holds"
                for one in judge_coverage(found, matte.shape[0])
            }
            if fault != "softened":
                holes = within & (matte < SOLID) & (true - matte > OFF)
                specks = without & (matte - true > PRESENT)
                for measure, wrong in (("holes", holes), ("specks", specks)):
                    if fault not in ("none", measure):
                        continue
                    alarm = said[measure] or (measure == "holes" and said["openings"])
                    value = 100 * float(wrong.mean())
                    table.add(case, measure, alarm, value, LIMITS[measure])
            lines = max(1.0, matte.shape[0] / 1080)
            limit = max(4.0 * lines, WIDENED * true_width(true))
            table.add(case, "edge width", said["edge_width"], true_width(matte), limit)
        painted, clear = with_buttons(plate.recorded, surface, sound)
        found = measure_coverage(clear, replace(keyed, planes=painted))
        verdicts = judge_coverage(found, clear.shape[0])
        alarm = any(one.verdict != "holds" for one in verdicts if one.measure in _INSIDE)
        table.add(f"{where}/{plate.name}, buttons: {name}", "buttons", alarm, 1.0, LIMITS["holes"])
        colour = subject if fill is None else fill / np.maximum(sound, 1e-3)
        if subject is None or colour is None:
            continue
        for fault in ("none", "spill"):
            tinted = colour if fault == "none" else with_spill(colour, sound, surface)
            tinted, bare = np.ascontiguousarray(tinted), np.ascontiguousarray(sound)
            spill = measure_spill(tinted, bare, backing.hue_deg, "bt709")
            case = f"{where}/{plate.name}, {fault}: {name}"
            left, own = (spill_of(one, backing.hue_deg, "bt709") for one in (tinted, subject))
            more = 100 * (left - own)
            rim = (true > CLEAR) & dilate(true < SOLID, 2)
            for measure, one, values in (
                ("spill", judge_spill(spill), more[true >= 0.5]),
                ("rim", judge_rim(spill), (more * true)[rim]),
            ):
                value = float(np.percentile(values, 95))
                table.add(case, measure, one.verdict != "holds", value, LIMITS["spill"])


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("--plates", type=Path, nargs="+", required=True)
    parser.add_argument("--cases", action="store_true", help="name the cases that are wrong")
    chosen = parser.parse_args()
    table = Table(cases=chosen.cases)
    for folder in chosen.plates:
        for plate in plates_in(folder):
            path = folder / plate.name / "subject.png"
            subject = None
            if path.exists():
                picture = cv2.imread(str(path), cv2.IMREAD_COLOR)[..., ::-1]
                subject = np.ascontiguousarray(picture.transpose(2, 0, 1)).astype(np.float32) / 255
            judge_plate(plate, subject, folder.name, table)
    table.show()


if __name__ == "__main__":
    main()
