"""Speed of every pattern as ratios to `cv2.blendLinear`, measured side by side.

    python tests/benchmarks/patterns.py [--rounds N] [PATTERN ...]

For each pattern at 1920 x 1080: laying its field out (cold); with the field at
hand, what it does for a frame, that is, the weights of A and B (held); and the
whole soft bordered frame between two 8-bit pictures through the renderer
(frame). The figures are medians over the rounds, in which the yardstick runs
beside each operation. Last, wipes whose edge a moving wave displaces.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable

import cv2
import numpy as np

from keyer.kinds.field import Field, Geometry, Modifiers, Modulation, Pattern
from keyer.kinds.picture import RgbPicture
from keyer.kinds.settings import Edge
from keyer.library import load_patterns
from keyer.pixel.kernels.bands import run_bands
from keyer.pixel.wipes.fields import build
from keyer.pixel.wipes.wipe_state import wipe_state
from keyer.pixel.wipes.wipe_weights import band_weights
from keyer.render.between import Wipe
from keyer.render.evaluate import Evaluator
from keyer.render.leaves import given
from keyer.render.sinks.pictures import picture as whole_picture

HEIGHT, WIDTH = 1080, 1920
EDGE = Edge(soft=3.0, border=2.0, border_colour=(1.0, 0.8, 0.2))
WAVES = {
    "barWipe": Modulation("sine", 4, 20, speed=1),
    "ellipseWipe": Modulation("noise", 6, 30, speed=0.3),
    "starWipe": Modulation("square", 2, 10, speed=1),
    "clockWipe": Modulation("triangle", 3, 15, speed=1),
}


def picture(seed: int) -> RgbPicture:
    """An 8-bit picture of noise."""
    rng = np.random.default_rng(seed)
    return RgbPicture(rng.integers(0, 256, (3, HEIGHT, WIDTH), dtype=np.uint8))


def weigh(field: Field) -> None:
    """Work out what a pattern shows of A and B at one progress."""
    now = wipe_state(field, EDGE, 0.45)

    def work(top: int, bottom: int) -> None:
        band_weights(now, top, bottom)

    run_bands(HEIGHT, WIDTH, work)


def timed(function: Callable[[], object]) -> float:
    """Milliseconds of one call."""
    start = time.perf_counter()
    function()
    return (time.perf_counter() - start) * 1e3


def ratios(
    operations: dict[str, Callable[[], object]], yardstick: Callable[[], object], rounds: int
) -> dict[str, tuple[float, float]]:
    """Median milliseconds, and median ratio to the yardstick, of each operation."""
    found: dict[str, list[tuple[float, float]]] = {name: [] for name in operations}
    for operation in operations.values():
        operation()
    for _ in range(rounds):
        for name, operation in operations.items():
            unit = timed(yardstick)
            spent = timed(operation)
            found[name].append((spent, spent / unit))
    return {
        name: (statistics.median(a for a, _ in rows), statistics.median(b for _, b in rows))
        for name, rows in found.items()
    }


def rendered(
    a: RgbPicture, b: RgbPicture, pattern: Pattern, modifiers: Modifiers, seconds: float = 0.0
) -> Callable[[], object]:
    """Make the work of one frame, the boundary found anew each time."""
    first, second = given(a), given(b)
    node = Wipe(first, second, 0.45, pattern, modifiers, EDGE, seconds=seconds)

    def work() -> object:
        return whole_picture(node, Evaluator())

    return work


def main() -> None:
    """Measure and print the tables."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("patterns", nargs="*", help="Default: all that wipe.")
    parser.add_argument("--rounds", type=int, default=7)
    arguments = parser.parse_args()
    library = load_patterns()
    a, b = picture(1), picture(2)
    geometry = Geometry(WIDTH, HEIGHT)
    cubes = [np.ascontiguousarray(np.moveaxis(p.planes, 0, 2)) for p in (a, b)]
    weight = np.full((HEIGHT, WIDTH), 0.3, np.float32)

    def yardstick() -> object:
        return cv2.blendLinear(*cubes, weight, 1 - weight)

    chosen = [library.find(name) for name in arguments.patterns] or list(library)
    print("| pattern | cold ms | ratio | held ms | ratio | frame ms | ratio |")
    print("| --- | --- | --- | --- | --- | --- | --- |")
    for pattern in chosen:
        if pattern.effect != "wipe":
            continue
        field = build(pattern, geometry)
        operations = {
            "cold": lambda p=pattern: build(p, geometry),
            "held": lambda f=field: weigh(f),
            "frame": rendered(a, b, pattern, Modifiers()),
        }
        found = ratios(operations, yardstick, arguments.rounds)
        cells = [f"{value:.2f}" for name in operations for value in found[name]]
        print(f"| {pattern.name} | {' | '.join(cells)} |")
    print("\n| moving wave | frame ms | ratio |\n| --- | --- | --- |")
    for name, wave in WAVES.items():
        frame = {"frame": rendered(a, b, library.find(name), Modifiers(modulation=wave), 1.2)}
        spent, ratio = ratios(frame, yardstick, arguments.rounds)["frame"]
        print(f"| {name}, {wave.wave} | {spent:.2f} | {ratio:.2f} |")


if __name__ == "__main__":
    main()
