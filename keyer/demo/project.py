"""Write the demo project: media with known mattes, a sheet, stills, mattes and numbers."""

from __future__ import annotations

import json
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from fractions import Fraction
from importlib.resources import files
from pathlib import Path
from typing import Any

import cv2
import numpy as np
from numpy.typing import NDArray

from keyer.demo.emblem import emblem
from keyer.demo.plates import eight_bit, key_plate
from keyer.demo.scenery import draw
from keyer.demo.sound import guide_track
from keyer.errors import KeyerError, OutputError
from keyer.kinds.processes import deaf_children, process_pool
from keyer.media.clip_write import ClipWriter
from keyer.media.files import Files, unwritable
from keyer.media.unfinished import unfinished_folder
from keyer.media.write import write_bytes, write_grey, write_still
from keyer.pixel.colour.load import from_array, load
from keyer.pixel.compose.generate import colour
from keyer.pixel.kernels.bands import default_threads
from keyer.render.one_key import key_files
from keyer.render.stills import render_files
from keyer.sheet.effect import Key

CLIP_SIZE = (1920, 1080)
CLIP_DETAIL = 2
"""The moving plate is drawn at half size and enlarged, as through a soft lens."""

CLIP_FRAMES = 50
CLIP_STEP = 2.0
"""Movement a frame: the subject's movement repeats after 100, so that the clip loops."""

SCENES = ("morning", "workshop", "shopfront", "evening", "wheel")

STILLS = ("4s", "00:00:07:14", "11s", "13.52s", "16s", "19s", "22s", "00:00:25:12", "28s")
"""One of every picture of the spot and of every transition in its middle."""

BEHIND = ("3s", "8s", "00:00:10:10", "15s")
"""Four backgrounds, one of them on its way in and one with a third source in a border."""

SHEETS = {
    "sheet.toml": "spot.toml",
    "faults.toml": "faults.toml",
    "backgrounds.toml": "backgrounds.toml",
    "desk.toml": "desk.toml",
    "names.csv": "names.csv",
}
"""Sheets of the project and a table of names, and the files here that they are copied from."""

LOGO = "quillmere.png"
"""As a title design of the demo calls it."""

HOT = 1.09
"""Level of the picture that is too bright: what 8 bits of narrow range can hold at most."""

STRIPES = 24
"""Pairs of light and dark stripes across the picture that is unsafe to show."""

Say = Callable[[str], None]


@dataclass(frozen=True)
class KeyCase:
    """One key of the demo whose true matte is known."""

    plate: str
    background: str


CASES = {
    "presenter": KeyCase("presenter", "evening"),
    "presenter-blue": KeyCase("presenter-blue", "morning"),
    "bicycle": KeyCase("bicycle", "wheel"),
}


def _scene(folder: Path, name: str) -> None:
    write_still(folder / f"{name}.png", from_array(eight_bit(draw(name))))


def _plate(folder: Path, name: str) -> None:
    plate = key_plate(name)
    write_still(folder / f"{name}.png", from_array(eight_bit(plate.picture)))
    write_grey(folder / f"{name}-true-matte.png", plate.matte)


def clip_frame(number: int) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """Draw a frame of the moving plate.

    Enlarging is linear, so the matte stays true: what holds of every drawn
    pixel holds of what lies between.

    Parameters
    ----------
    number : int

    Returns
    -------
    picture : (1080, 1920, 3) uint8
    matte : (1080, 1920) uint8
    """
    width, height = (side // CLIP_DETAIL for side in CLIP_SIZE)
    plate = key_plate("presenter", width, height, frame=CLIP_STEP * number)
    picture, matte = (
        np.asarray(cv2.resize(part, CLIP_SIZE, interpolation=cv2.INTER_LINEAR), np.float32)
        for part in (plate.picture, plate.matte)
    )
    return eight_bit(picture), eight_bit(matte)


def _clip(folder: Path, pool: ProcessPoolExecutor) -> None:
    """Write the moving plate as a camera would deliver it, and its true matte beside it."""
    width, height = CLIP_SIZE
    rate = Fraction(25)
    with (
        ClipWriter(folder / "rider.mp4", width, height, rate, codec="h264") as plate,
        ClipWriter(folder / "rider-true-matte.mov", width, height, rate, codec="png") as matte,
    ):
        for picture, cover in pool.map(clip_frame, range(CLIP_FRAMES)):
            plate.write(from_array(picture))
            matte.write(from_array(cover))


def write_media(folder: Path, say: Say) -> None:
    """Draw the demo's media.

    Parameters
    ----------
    folder : Path
        Exists and is empty.
    say : callable
        Told what is going on, a line at a time.
    """
    with process_pool(default_threads()) as pool:
        say("drawing scenery and key plates")
        with deaf_children():
            jobs = [pool.submit(_scene, folder, name) for name in SCENES]
            jobs += [pool.submit(_plate, folder, case.plate) for case in CASES.values()]
        for job in jobs:
            job.result()
        say(f"drawing a moving plate of {CLIP_FRAMES} frames")
        _clip(folder, pool)
    write_bytes(folder / "guide.wav", guide_track())
    _faulty(folder)


def _faulty(folder: Path) -> None:
    """Write the pictures that the check must find fault with."""
    width, height = CLIP_SIZE
    with ClipWriter(folder / "hot.mov", width, height, Fraction(25), codec="prores-hq") as clip:
        for _ in range(5):
            clip.write(colour(width, height, (HOT, HOT, HOT)))
    write_still(folder / "dark.png", colour(width, height, (0.0, 0.0, 0.0)))
    bright = np.arange(width) * 2 * STRIPES // width % 2 == 0
    row = np.where(bright, 235, 20).astype(np.uint8)
    write_still(folder / "stripes.png", from_array(np.tile(row, (height, 1))))


def matte_error(matte: Path, truth: Path) -> float:
    """Mean square error of a matte against the true one.

    Parameters
    ----------
    matte, truth : Path

    Returns
    -------
    float
    """
    from keyer.media.source import open_source

    ours, true = (load(open_source(path).read(0))[0] for path in (matte, truth))
    return float(np.mean((ours - true) ** 2))


def _key(folder: Path, name: str, case: KeyCase) -> dict[str, Any]:
    """Key one plate and measure it, against its true matte as well."""
    media = folder / "media"
    matte = folder / "mattes" / f"{name}.png"
    report = key_files(
        media / f"{case.plate}.png",
        media / f"{case.background}.png",
        folder / "stills" / f"key-{name}.png",
        key=Key("chroma", quality="fine"),
        matte_output=matte,
        files=Files(),
    )
    error = matte_error(matte, media / f"{case.plate}-true-matte.png")
    return {"matte_mse_against_truth": error, **report}


def write_demo(folder: Path, say: Say) -> list[Path]:
    """Write the demo project and render it.

    Parameters
    ----------
    folder : Path
        Must not exist, or be empty; its parent must exist.
    say : callable
        Told what is going on, a line at a time.

    Returns
    -------
    list of Path
        Everything written, in order.

    Raises
    ------
    OutputError
    """
    _make(folder)
    try:
        with unfinished_folder(folder.parent) as unfinished:
            for part in ("media", "mattes", "stills", "designs"):
                (unfinished / part).mkdir()
            _fill(unfinished, say)
            folder.rmdir()
            unfinished.rename(folder)
    except OSError as error:
        if isinstance(error, KeyerError):
            raise
        raise unwritable(folder, error) from None
    return sorted(path for path in folder.rglob("*") if path.is_file())


def _make(folder: Path) -> None:
    if folder.is_dir() and not any(folder.iterdir()):
        return
    if folder.exists():
        msg = f"demo folder {folder} exists and is not empty. Name another."
        raise OutputError(msg)
    files = Files()
    files.make_folder(files.folder(folder))


def _fill(folder: Path, say: Say) -> None:
    write_media(folder / "media", say)
    ours = files("keyer.demo")
    for name, source in SHEETS.items():
        write_bytes(folder / name, ours.joinpath(source).read_bytes())
    for design in ours.joinpath("designs").iterdir():
        write_bytes(folder / "designs" / design.name, design.read_bytes())
    write_still(folder / "designs" / LOGO, emblem())
    say("keying the plates and measuring them")
    numbers = {name: _key(folder, name, case) for name, case in CASES.items()}
    say("rendering stills of the sheet")
    stills, _ = render_files(
        folder / "sheet.toml", STILLS, folder / "stills", show="picture", force=False
    )
    behind, _ = render_files(
        folder / "backgrounds.toml", BEHIND, folder / "stills", show="picture", force=False
    )
    render_files(folder / "sheet.toml", ("4s",), folder / "mattes", show="matte", force=False)
    data = {"keys": numbers, "stills": [*stills, *behind]}
    text = json.dumps(data, indent=2, ensure_ascii=False).replace(f"{folder}/", "")
    write_bytes(folder / "numbers.json", text.encode())
