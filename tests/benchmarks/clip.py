"""A clip with effects against the same clip without: time, and memory by length.

    python tests/benchmarks/clip.py [--seconds 30] [--rounds 3] [--json]
    python tests/benchmarks/clip.py --memory

The sheet is 1080p25: a key over a base, one bordered wipe, a lower third. It is
measured side by side, round by round, with

- `no effect`: the same frames of the same sources decoded, and the same
  pictures (taken ready from a file) coded with the same settings;
- `copy`: the finished clip decoded and coded again.

Processor time is that of all threads; on a machine that does other things it
tells more than the clock does.
"""

from __future__ import annotations

import argparse
import json
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import ExitStack
from fractions import Fraction
from pathlib import Path

import av
import cv2
import numpy as np

from keyer.kinds.picture import RgbPicture, YccPicture
from keyer.media.clip_write import ClipWriter
from keyer.media.files import Files
from keyer.pixel.colour.load import from_array
from keyer.render.clip import render_clip
from keyer.sheet.load import build_sheet
from keyer.sheet.sheet import Sheet

WIDTH, HEIGHT, RATE = 1920, 1080, Fraction(25)
GREEN = (40, 170, 60)
NOISE = 2.0
"""Standard deviation, in codes of 8 bits, as of a camera at low gain."""

DESIGN = """\
name = "Bar"
[fields.name]
example = "Ann Example"
[styles.name]
size = 6
[[boxes]]
id = "words"
place = "bottom left"
padding = 3
[boxes.panel]
colour = "#0A2A38"
opacity = 0.9
[[boxes.texts]]
text = "${name}"
style = "name"
"""


def texture(seed: int, width: int, height: int) -> np.ndarray:
    """Detail of all sizes, as a lens sees it."""
    random = np.random.default_rng(seed)
    sum_of = np.zeros((height, width, 3), np.float32)
    for size, share in ((400, 0.45), (120, 0.25), (40, 0.15), (10, 0.1), (4, 0.08), (2, 0.05)):
        grain = random.random((height // size + 2, width // size + 2, 3), dtype=np.float32)
        sum_of += share * cv2.resize(grain, (width, height), interpolation=cv2.INTER_CUBIC)
    return (np.clip(sum_of, 0, 1) * 255).astype(np.uint8)


def pan(seed: int, speed: int) -> Callable[[int], np.ndarray]:
    """A camera that pans over a texture and back."""
    wide = texture(seed, WIDTH + 400, HEIGHT)

    def draw(number: int) -> np.ndarray:
        left = abs((number * speed) % 800 - 400)
        return wide[:, left : left + WIDTH]

    return draw


def presenter() -> Callable[[int], np.ndarray]:
    """Somebody who sways before a green backing lit from the middle."""
    mask = np.zeros((900, 700), np.uint8)
    cv2.ellipse(mask, (350, 200), (150, 190), 0, 0, 360, 255, -1)
    cv2.ellipse(mask, (350, 750), (320, 380), 0, 0, 360, 255, -1)
    cover = cv2.GaussianBlur(mask, (5, 5), 0)[..., None].astype(np.uint16)
    subject = texture(7, 700, 900)
    across = np.linspace(-1, 1, WIDTH)[None, :, None]
    lit = np.array(GREEN) * (1 - 0.08 * across**2)
    backing = np.broadcast_to(lit, (HEIGHT, WIDTH, 3)).astype(np.uint8)

    def draw(number: int) -> np.ndarray:
        picture = backing.copy()
        x = 600 + round(200 * np.sin(number / 25))
        y = 150 + round(15 * np.sin(number / 9))
        part = picture[y : y + 900, x : x + 700].astype(np.uint16)
        picture[y : y + 900, x : x + 700] = (part * (255 - cover) + subject * cover) // 255
        return picture

    return draw


def write_sources(folder: Path, frames: int) -> None:
    """Write the three clips and the title design."""
    random = np.random.default_rng(3)
    shape = (HEIGHT, WIDTH, 1)
    noise = [np.rint(random.normal(0, NOISE, shape)).astype(np.int16) for _ in range(6)]
    for name, draw in (("first", pan(1, 1)), ("second", pan(2, 2)), ("plate", presenter())):
        with ClipWriter(folder / f"{name}.mp4", WIDTH, HEIGHT, RATE) as clip:
            for number in range(frames):
                rough = draw(number).astype(np.int16) + noise[number % 6]
                clip.write(from_array(np.clip(rough, 0, 255).astype(np.uint8)))
    (folder / "bar.toml").write_text(DESIGN, encoding="utf-8")


def spot(folder: Path, frames: int) -> Sheet:
    """A key throughout, a wipe halfway, a lower third for a fifth of the time."""
    house = {"kind": "mix", "length": 12}
    wipe = {"kind": "wipe", "pattern": "ellipseWipe/circle", "length": 25, "soft": 1, "border": 2}
    title = {"design": "bar.toml", "fields": {"name": "Anna Holm"}}
    return build_sheet(
        {
            "version": 1,
            "sheet": {"format": "1080p25", "length": frames},
            "sources": {
                "first": {"file": "first.mp4"},
                "second": {"file": "second.mp4"},
                "plate": {"file": "plate.mp4"},
                "bar": {"title": title},
            },
            "cues": [
                {"source": "first"},
                {"source": "second", "at": frames // 2, "transition": wipe},
            ],
            "overlays": [
                {"source": "plate", "key": {"kind": "chroma"}},
                {
                    "source": "bar",
                    "in": frames // 10,
                    "out": frames // 10 + frames // 5,
                    "transition_in": house,
                    "transition_out": house,
                },
            ],
        },
        folder=folder,
    )


def decoded(stack: ExitStack, path: Path) -> Iterator[av.VideoFrame]:
    """Frames of a clip, decoded with all threads."""
    container = stack.enter_context(av.open(str(path)))
    container.streams.video[0].thread_type = "AUTO"
    return container.decode(video=0)


def planes_of(frame: av.VideoFrame) -> YccPicture:
    """A frame's own samples."""
    luma, cb, cr = (
        np.frombuffer(memoryview(plane), np.uint8).reshape(plane.height, -1)[:, : plane.width]
        for plane in frame.planes
    )
    return YccPicture(luma, cb, cr, 8, full_range=False, matrix="bt709")


class Runs:
    """The three ways, on one folder of sources."""

    def __init__(self, folder: Path, frames: int) -> None:
        self.folder, self.frames = folder, frames
        self.sheet = spot(folder, frames)
        self.effect()
        with ExitStack() as stack:
            shape = (frames, HEIGHT * 3 // 2, WIDTH)
            self.ready = np.memmap(folder / "ready", np.uint8, "w+", shape=shape)
            for number, frame in enumerate(decoded(stack, folder / "effect.mp4")):
                self.ready[number] = frame.to_ndarray()

    def effect(self) -> None:
        """The sheet as a clip."""
        render_clip(self.sheet, self.folder / "effect.mp4", force=True)

    def no_effect(self) -> None:
        """Decode what the sheet shows; code the pictures that it makes."""
        half, wiped = self.frames // 2, self.frames // 2 + 25
        with ExitStack() as stack:
            first, second, plate = (
                decoded(stack, self.folder / f"{name}.mp4") for name in ("first", "second", "plate")
            )
            writer = ClipWriter(
                self.folder / "none.mp4", WIDTH, HEIGHT, RATE, files=Files(force=True)
            )
            stack.enter_context(writer)
            for number in range(self.frames):
                next(plate)
                if number < wiped:
                    next(first)
                if number >= half:
                    next(second)
                flat = self.ready[number].reshape(-1)
                chroma = flat[WIDTH * HEIGHT :].reshape(2, HEIGHT // 2, WIDTH // 2)
                luma = flat[: WIDTH * HEIGHT].reshape(HEIGHT, WIDTH)
                writer.write(
                    YccPicture(luma, chroma[0], chroma[1], 8, full_range=False, matrix="bt709")
                )

    def copy(self) -> None:
        """Decode and code the finished clip."""
        with ExitStack() as stack:
            frames = decoded(stack, self.folder / "effect.mp4")
            writer = ClipWriter(
                self.folder / "copy.mp4", WIDTH, HEIGHT, RATE, files=Files(force=True)
            )
            stack.enter_context(writer)
            for frame in frames:
                writer.write(planes_of(frame))


def used() -> float:
    """Processor seconds of all threads so far."""
    usage = resource.getrusage(resource.RUSAGE_SELF)
    return usage.ru_utime + usage.ru_stime


def compare(folder: Path, frames: int, rounds: int) -> dict[str, object]:
    """Milliseconds a frame by way, and the ratios of each round."""
    runs = Runs(folder, frames)
    ways = {"effect": runs.effect, "no effect": runs.no_effect, "copy": runs.copy}
    taken: dict[str, list[tuple[float, float]]] = {name: [] for name in ways}
    for _ in range(rounds):
        for name, run in ways.items():
            clock, processor = time.perf_counter(), used()
            run()
            taken[name].append((time.perf_counter() - clock, used() - processor))
    result: dict[str, object] = {"frames": frames, "rounds": rounds}
    for column, kind in enumerate(("clock", "processor")):
        each = {name: [pair[column] for pair in pairs] for name, pairs in taken.items()}
        result[f"{kind}, ms a frame"] = {
            name: round(1000 * statistics.median(values) / frames, 2)
            for name, values in each.items()
        }
        result[f"{kind}, ratio"] = {
            other: round(
                statistics.median(
                    one / two for one, two in zip(each["effect"], each[other], strict=True)
                ),
                3,
            )
            for other in ("no effect", "copy")
        }
    return result


MEASURE = """
import resource, sys
from pathlib import Path
sys.path.insert(0, sys.argv[1])
from clip import render_small
render_small(Path(sys.argv[2]), int(sys.argv[3]))
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
"""


def small_sheet(folder: Path, seconds: int) -> Sheet:
    """A key, wipes all along, and sound, at 320 x 180."""
    cues = [
        {
            "source": "first" if at % 10 else "second",
            "at": f"{at}s",
            "transition": {"kind": "wipe", "pattern": 1, "length": "1s", "border": 2},
        }
        for at in range(5, seconds, 5)
    ]
    return build_sheet(
        {
            "version": 1,
            "sheet": {"format": "320x180@25", "length": f"{seconds}s"},
            "sources": {
                "first": {"file": "small.mp4"},
                "second": {"file": "small.mp4", "in": 30},
                "plate": {"file": "small-plate.mp4", "loop": True},
            },
            "cues": [{"source": "first"}, *cues],
            "overlays": [{"source": "plate", "key": {"kind": "chroma"}}],
            "sound": [{"file": "tone.wav"}],
        },
        folder=folder,
    )


def render_small(folder: Path, seconds: int) -> None:
    """Render the small sheet."""
    render_clip(small_sheet(folder, seconds), folder / f"out{seconds}.mp4", force=True)


def write_small(folder: Path) -> None:
    """Small sources: pictures for 10 minutes, a plate of 4 seconds, sound for 10 minutes."""
    random = np.random.default_rng(1)
    ground = texture(1, 720, 180)
    with ClipWriter(folder / "small.mp4", 320, 180, RATE) as clip:
        for number in range(15_100):
            left = abs((number * 2) % 800 - 400)
            clip.write(from_array(ground[:, left : left + 320]))
    plate = np.empty((180, 320, 3), np.uint8)
    plate[:] = GREEN
    plate[40:, 120:200] = (200, 120, 90)
    with ClipWriter(folder / "small-plate.mp4", 320, 180, RATE) as clip:
        for _ in range(100):
            rough = plate + np.rint(random.normal(0, 1, plate.shape)).astype(np.int16)
            clip.write(RgbPicture(from_array(np.clip(rough, 0, 255).astype(np.uint8)).planes))
    with av.open(str(folder / "tone.wav"), "w") as container:
        stream = container.add_stream("pcm_s16le", rate=48_000)
        stream.codec_context.layout = "stereo"
        second = (8000 * np.sin(np.arange(48_000) / 48_000 * 2 * np.pi * 440)).astype(np.int16)
        block = np.repeat(second, 2).reshape(1, -1)
        for number in range(600):
            frame = av.AudioFrame.from_ndarray(block, format="s16", layout="stereo")
            frame.sample_rate, frame.pts = 48_000, number * 48_000
            container.mux(stream.encode(frame))
        container.mux(stream.encode())


def memory(folder: Path) -> dict[str, object]:
    """Peak resident memory for 10 seconds and for 10 minutes, each in a process of its own."""
    write_small(folder)
    peaks = {}
    for seconds in (10, 600):
        command = [sys.executable, "-c", MEASURE, str(Path(__file__).parent), str(folder)]
        run = subprocess.run(
            [*command, str(seconds)], capture_output=True, text=True, check=True, timeout=3000
        )
        peaks[seconds] = float(run.stdout)
    return {
        "format": "320 x 180",
        "peak MB, 10 seconds": round(peaks[10], 1),
        "peak MB, 10 minutes": round(peaks[600], 1),
        "ratio": round(peaks[600] / peaks[10], 3),
    }


def main() -> None:
    """Print what was measured."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--json", action="store_true")
    parser.add_argument("--memory", action="store_true")
    parser.add_argument("--seconds", type=int, default=30)
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--folder", type=Path, help="keep the sources here for another time")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        folder = options.folder or Path(temporary)
        folder.mkdir(exist_ok=True)
        frames = options.seconds * 25
        if options.memory:
            found = memory(folder)
        else:
            if not (folder / "bar.toml").exists():
                write_sources(folder, frames)
            found = compare(folder, frames, options.rounds)
    if options.json:
        print(json.dumps(found, indent=2))
        return
    for name, value in found.items():
        print(f"{name}: {value}")


if __name__ == "__main__":
    main()
