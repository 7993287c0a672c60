"""Speed as ratios, all measured side by side in one run.

    python tests/benchmarks/run.py [--json] [--rounds N] [--size 480p --size 1080p ...]

Every round runs each operation once, in turn, so that what else the machine
does falls on all of them alike; the figures are medians over the rounds. 8-bit
pictures; the engine's path has planar pictures in and out, the array functions
rows x columns x channels.
"""

from __future__ import annotations

import argparse
import json
import statistics
import time
from collections.abc import Callable

import cv2
import numpy as np
from PIL import Image

import keyer
from keyer.kinds.settings import Edge, KeySettings
from keyer.library import load_patterns
from keyer.pixel.colour.load import from_array
from keyer.pixel.colour.luma_chroma import hue_axes, hue_of
from keyer.pixel.keys.fast import backing_level, wedge_slope
from keyer.render.between import Mix, Wipe
from keyer.render.effect import Effect
from keyer.render.evaluate import Evaluator
from keyer.render.graph import Layer, Node
from keyer.render.keying import Key
from keyer.render.leaves import given
from keyer.render.sinks.pictures import picture

SIZES = {"480p": (852, 480), "1080p": (1920, 1080), "2160p": (3840, 2160)}
GREEN = (0.12, 0.62, 0.2)
YARDSTICK = "cv2.blendLinear"


def pictures(width: int, height: int) -> tuple[np.ndarray, np.ndarray]:
    """A subject before an uneven green backing, and a background."""
    rng = np.random.default_rng(4)
    y, x = np.mgrid[:height, :width] / height
    backing = np.array(GREEN) * (1 + 0.1 * np.sin(3 * x))[..., None]
    subject = np.stack([0.5 + 0.4 * np.sin(40 * x), 0.4 + 0.2 * np.cos(30 * y), 0.3 + 0 * x], -1)
    inside = (np.hypot(x - width / height / 2, y - 0.5) < 0.35)[..., None]
    plate = np.where(inside, subject, backing) + rng.normal(0, 0.01, (height, width, 3))
    ground = np.stack([x % 1, y, 0.5 + 0 * x], -1) + rng.normal(0, 0.01, (height, width, 3))
    return tuple((np.clip(p, 0, 1) * 255 + 0.5).astype(np.uint8) for p in (plate, ground))


def numpy_key(plate: np.ndarray, ground: np.ndarray, settings: KeySettings) -> np.ndarray:
    """The chroma key as one writes it in plain numpy."""
    axes = hue_axes(settings.hue_deg, "bt709")
    colour = plate.astype(np.float32) / 255
    under = ground.astype(np.float32) / 255
    inside = colour @ axes.along - wedge_slope(settings.acceptance_deg) * np.abs(
        colour @ axes.across
    )
    level = backing_level(settings.backing, settings.hue_deg, settings.acceptance_deg, "bt709")
    signal = 1 - np.maximum(inside, 0) / level
    matte = np.clip((signal - settings.clip_percent / 100) * settings.gain, 0, 1)[..., None]
    fill = np.clip(colour - (1 - matte) * np.array(settings.backing, np.float32), 0, matte)
    spill = np.maximum(fill @ axes.along - wedge_slope(120) * np.abs(fill @ axes.across), 0)
    fill -= settings.spill_percent / 100 * spill[..., None] * axes.unit
    return (np.clip(fill + (1 - matte) * under, 0, 1) * 255 + 0.5).astype(np.uint8)


def numpy_mix(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """A mix as one writes it in plain numpy."""
    mixed = 0.7 * a.astype(np.float32) + 0.3 * b.astype(np.float32)
    return (mixed + 0.5).astype(np.uint8)


def operations(width: int, height: int) -> dict[str, Callable[[], object]]:
    """Everything that is timed, by name."""
    plate, ground = pictures(width, height)
    a, b = from_array(plate), from_array(ground)
    settings = KeySettings(hue_of(GREEN, "bt709"), 120, 12, 1.3, 100, GREEN)
    circle = load_patterns().find("ellipseWipe/circle")
    edge = Edge(soft=1.0, border=2.0, border_soft=0.5, border_colour=(1.0, 0.8, 0.2))
    weight = np.random.default_rng(1).random((height, width), dtype=np.float32)
    rest = 1 - weight
    pil = [Image.fromarray(p) for p in (plate, ground)]
    mask = Image.fromarray((weight * 255).astype(np.uint8))
    target = np.empty_like(plate)
    first, second, evaluator = given(a), given(b), Evaluator()
    wipe = Wipe(first, second, 0.4, circle, keyer.Modifiers(), edge)
    key = Effect(second, (Layer(Key(first, settings)),))
    nested = Effect(wipe, (Layer(Key(first, settings)),))

    def worked(node: Node) -> Callable[[], object]:
        """Nothing but the sources is kept from one picture to the next, as in a clip."""

        def work() -> object:
            ready = evaluator.fetch(node)
            evaluator.forget()
            return picture(node, evaluator, ready=ready)

        return work

    return {
        "engine: key + spill + over": worked(key),
        "engine: soft bordered wipe": worked(wipe),
        "engine: mix": worked(Mix(first, second, 0.3)),
        "engine: key over a wipe": worked(nested),
        "arrays: keyer.chroma_key": lambda: keyer.chroma_key(plate, ground, settings),
        "arrays: keyer.wipe": lambda: keyer.wipe(
            plate, ground, 0.4, "ellipseWipe/circle", soft=1, border=2, border_soft=0.5
        ),
        "arrays: keyer.mix": lambda: keyer.mix(plate, ground, 0.3),
        "numpy: key + spill + over": lambda: numpy_key(plate, ground, settings),
        "numpy: mix": lambda: numpy_mix(plate, ground),
        YARDSTICK: lambda: cv2.blendLinear(plate, ground, weight, rest),
        "cv2.addWeighted": lambda: cv2.addWeighted(plate, 0.7, ground, 0.3, 0),
        "Pillow Image.composite": lambda: Image.composite(pil[0], pil[1], mask),
        "frame copy": lambda: np.copyto(target, plate),
    }


def measure(size: str, rounds: int) -> dict[str, dict[str, float]]:
    """Median milliseconds, and ratio to the yardstick, of every operation."""
    width, height = SIZES[size]
    timed = operations(width, height)
    times: dict[str, list[float]] = {name: [] for name in timed}
    for number in range(rounds + 1):
        for name, run in timed.items():
            start = time.perf_counter()
            run()
            if number:  # the first round warms caches and compiles
                times[name].append(1000 * (time.perf_counter() - start))
    medians = {name: statistics.median(values) for name, values in times.items()}
    return {
        name: {
            "ms": round(value, 3),
            "ratio": round(value / medians[YARDSTICK], 3),
            "ns_per_pixel": round(1e6 * value / (width * height), 3),
        }
        for name, value in medians.items()
    }


def main() -> None:
    """Print the table, or JSON."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--rounds", type=int, default=15)
    parser.add_argument("--size", action="append", choices=SIZES)
    options = parser.parse_args()
    results = {size: measure(size, options.rounds) for size in options.size or SIZES}
    if options.json:
        print(json.dumps(results, indent=2))
        return
    for size, table in results.items():
        print(f"\n{size}  (ratio: to {YARDSTICK})")
        for name, row in table.items():
            ms, ratio, each = row["ms"], row["ratio"], row["ns_per_pixel"]
            print(f"  {name:32} {ms:9.2f} ms {ratio:7.2f} x {each:7.2f} ns/px")


if __name__ == "__main__":
    main()
