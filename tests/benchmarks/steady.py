"""How steady the keys' edges are in time, and how much motion costs them.

    python tests/benchmarks/steady.py [--plates DIR] [--frames N] [--grain PERCENT]

Each plate stands still for N frames with new grain in each, recorded as H.264 4:2:0; told is the
standard deviation of the matte over time where its true value lies between 5 and 95 %, in percent
of full. Then it moves by three pixels a frame, and the matte's error is told over that of the same
frames keyed one by one as stills. Plates are four of the proof set, or those of a folder.
"""

from __future__ import annotations

import argparse
import io
import sys
from collections.abc import Callable, Iterable
from pathlib import Path

import av
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from plates import errors, making
from plates.keys import fast
from plates.proof import KINDS, make
from plates.recorded import plates_in

from keyer.measure.backing import survey_backing
from keyer.measure.plate import backing_surface
from keyer.pixel.keys.fine import fine_key

DRAWN = {"strands", "motion blur", "fine strands, blue", "see-through"}
BITS = 1.0
"""Bits a pixel."""


def recorded(frames: Iterable[np.ndarray]) -> list[np.ndarray]:
    """Through H.264 4:2:0 and back."""
    store = io.BytesIO()
    with av.open(store, "w", format="mp4") as container:
        stream = None
        for planes in frames:
            whole = (255 * planes.transpose(1, 2, 0).clip(0, 1) + 0.5).astype(np.uint8)
            whole = np.ascontiguousarray(
                whole[: whole.shape[0] // 2 * 2, : whole.shape[1] // 2 * 2]
            )
            if stream is None:
                stream = container.add_stream("libx264", rate=25)
                stream.width, stream.height, stream.pix_fmt = (
                    whole.shape[1],
                    whole.shape[0],
                    "yuv420p",
                )
                stream.bit_rate = int(BITS * whole.shape[0] * whole.shape[1] * 25)
            container.mux(stream.encode(av.VideoFrame.from_ndarray(whole, format="rgb24")))
        container.mux(stream.encode())
    store.seek(0)
    with av.open(store) as container:
        pictures = [frame.to_ndarray(format="rgb24") for frame in container.decode(video=0)]
    return [np.ascontiguousarray(p.transpose(2, 0, 1)).astype(np.float32) / 255 for p in pictures]


def as_clip(frames: list[np.ndarray]) -> list[np.ndarray]:
    """Key the frames of a clip finely: what the first was found to be like holds for all."""
    backing, model, mattes = survey_backing(frames[0], "bt709"), None, []
    for frame in frames:
        surface = backing_surface(frame, backing.rgb, "bt709").planes
        noise = backing.noise_percent / 100
        key = fine_key(frame, surface, backing.hue_deg, noise, "bt709", model=model)
        model = key.model
        mattes.append(key.matte)
    return mattes


def as_stills(frames: list[np.ndarray]) -> list[np.ndarray]:
    """Key each frame as if it were alone."""
    return [as_clip([frame])[0] for frame in frames]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("--plates", type=Path)
    parser.add_argument("--frames", type=int, default=25)
    parser.add_argument("--grain", type=float, default=0.8)
    chosen = parser.parse_args()
    plates = (make(kind) for kind in KINDS if kind.name in DRAWN)
    if chosen.plates is not None:
        plates = plates_in(chosen.plates)
    ways: dict[str, Callable[[list[np.ndarray]], list[np.ndarray]]] = {
        "fine": as_clip,
        "fast": lambda frames: [fast(frame)[0] for frame in frames],
    }
    print(f"{'':24}{'fine %':>10}{'fast %':>10}{'moving/still':>14}")
    for plate in plates:
        rng = np.random.default_rng(1)
        still = recorded(
            making.noisy(plate.recorded, chosen.grain / 100, rng) for _ in range(chosen.frames)
        )
        height, width = still[0].shape[1:]
        true = plate.matte[:height, :width]
        edge = (true > 0.05) & (true < 0.95)
        swing = {name: 100 * np.std(way(still), axis=0)[edge].mean() for name, way in ways.items()}
        moves = [3 * index for index in range(min(chosen.frames, 5))]
        moving = recorded(np.roll(plate.recorded, step, 2) for step in moves)
        errors_of = [
            np.mean([
                errors.mse(matte, np.roll(plate.matte, step, 1)[:height, :width])
                for matte, step in zip(way(moving), moves, strict=True)
            ])
            for way in (as_clip, as_stills)
        ]  # fmt: skip
        ratio = errors_of[0] / errors_of[1]
        print(f"{plate.name:24}{swing['fine']:10.2f}{swing['fast']:10.2f}{ratio:14.2f}", flush=True)


if __name__ == "__main__":
    main()
