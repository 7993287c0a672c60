"""How true the keys are, on plates whose matte is known.

    python tests/benchmarks/mattes.py [--json] [--seed N] [--height ROWS] [--save DIR]
        [--plates DIR]

Plates are made anew from pictures that scikit-image carries (`tests/plates`):
strands, motion blur, see-through parts, uneven light, noise, spill of four
kinds, 4:2:0, H.264 at two bit rates, before green, blue and off-green backings.
Every key runs with nothing but its defaults. Matte errors are those of the
matting literature over all pixels (SAD, gradient and connectivity divided by
1000, as the literature prints them); the composite is measured against the
true one as PSNR and mean CIEDE2000.

With `--plates` the plates of a folder are measured instead: DIR/*/fg.png or fg.jpg, bg.png,
matte.png and truth.png, the composite mixed in coded values. Beside the keys stands the ceiling:
the true matte and backing with the colour that the plate itself has.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Iterable
from pathlib import Path

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from plates import errors
from plates.keys import KEYS, Keyed
from plates.making import Plate
from plates.proof import KINDS, make
from plates.recorded import Recorded, ceiling, plates_in

COLUMNS = ("mse_1e3", "sad", "gradient", "connectivity", "psnr_db", "ciede2000")


def judged(plate: Plate | Recorded, keyed: Keyed) -> dict[str, float]:
    """All measures of one key on one plate."""
    matte, fill = keyed
    picture = fill + (1 - matte) * plate.behind
    return {
        "mse_1e3": 1e3 * errors.mse(matte, plate.matte),
        "sad": errors.sad(matte, plate.matte) / 1000,
        "gradient": errors.gradient(matte, plate.matte) / 1000,
        "connectivity": errors.connectivity(matte, plate.matte) / 1000,
        "psnr_db": errors.psnr(picture, plate.composite),
        "ciede2000": errors.ciede2000(picture, plate.composite),
    }


def board(plate: Plate | Recorded, keyed: Keyed) -> np.ndarray:
    """Plate, true matte, matte and error; true composite, composite and error, as 8-bit BGR."""
    matte, fill = keyed
    picture = fill + (1 - matte) * plate.behind
    grey = [
        np.stack([plane] * 3) for plane in (plate.matte, matte, 3 * np.abs(matte - plate.matte))
    ]
    top = np.concatenate([plate.recorded, *grey], 2)
    error = 4 * np.abs(picture - plate.composite)
    blank = np.zeros_like(error)
    whole = np.concatenate([top, np.concatenate([plate.composite, picture, error, blank], 2)], 1)
    return (255 * np.clip(whole, 0, 1)[::-1].transpose(1, 2, 0) + 0.5).astype(np.uint8)


def measured(
    plates: Iterable[Plate | Recorded], save: Path | None
) -> dict[str, dict[str, dict[str, float]]]:
    """Every key on every plate; of plates from a folder the ceiling too."""
    table: dict[str, dict[str, dict[str, float]]] = {}
    for plate in plates:
        rows = table[plate.name] = {}
        for name, key in KEYS.items():
            start = time.perf_counter()
            keyed = key(plate.recorded)
            seconds = time.perf_counter() - start
            rows[name] = {**judged(plate, keyed), "ms": 1e3 * seconds}
            if save is not None:
                file = f"{plate.name}-{name}.png".replace(" ", "_").replace(":", "")
                cv2.imwrite(str(save / file), board(plate, keyed))
        if isinstance(plate, Recorded):
            rows["ceiling"] = {**judged(plate, ceiling(plate)), "ms": 0.0}
    return table


def means(table: dict[str, dict[str, dict[str, float]]]) -> dict[str, dict[str, float]]:
    """Mean over all plates of each key's measures."""
    names = next(iter(table.values()))
    return {
        name: {
            column: float(np.mean([row[name][column] for row in table.values()]))
            for column in (*COLUMNS, "ms")
        }
        for name in names
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--height", type=int, default=360)
    parser.add_argument("--save", type=Path, help="folder for a board of every plate and key")
    parser.add_argument("--plates", type=Path, help="folder of plates with their mattes")
    chosen = parser.parse_args()
    if chosen.save is not None:
        chosen.save.mkdir(parents=True, exist_ok=True)
    KEYS["fine"](make(KINDS[0], 96, 128).recorded)  # compiles the kernels
    size = chosen.height, chosen.height * 4 // 3
    drawn = (make(kind, *size, chosen.seed) for kind in KINDS)
    table = measured(drawn if chosen.plates is None else plates_in(chosen.plates), chosen.save)
    mean = means(table)
    if chosen.json:
        print(json.dumps({"plates": table, "mean": mean}))
        return
    header = "".join(f"{column:>13}" for column in COLUMNS)
    print(" " * 12 + header)
    for title, row in [*table.items(), ("mean of all", mean)]:
        print(title)
        for name, measures in row.items():
            cells = "".join(f"{measures[column]:13.3f}" for column in COLUMNS)
            print(f"  {name:10}{cells}")


if __name__ == "__main__":
    main()
