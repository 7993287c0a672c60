"""Write the demo project: a copy of its sheets and media, and what is rendered from them."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from keyer.errors import InputFileError, KeyerError, OutputError
from keyer.media.files import Files, unwritable
from keyer.media.unfinished import unfinished_folder
from keyer.media.write import write_bytes
from keyer.pixel.colour.load import load
from keyer.render.one_key import key_files
from keyer.render.stills import render_files
from keyer.sheet.effect import Key

STILLS = ("4s", "00:00:07:14", "11s", "13.52s", "16s", "19s", "22s", "00:00:25:12", "28s")
"""One of every picture of the spot and of every transition in its middle."""

BEHIND = ("3s", "8s", "00:00:10:10", "15s")
"""Four backgrounds, one of them on its way in and one with a third source in a border."""

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


def demo_folder() -> Path:
    """Return the folder of the demo: in the wheel, or among the examples of a checkout."""
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "_demo", package.parent / "examples" / "demo"):
        if folder.is_dir():
            return folder
    msg = f"the demo project must lie in {package / '_demo'}. Install keyer again."
    raise InputFileError(msg)


def _copy(folder: Path) -> None:
    """Copy the project into an empty folder."""
    source = demo_folder()
    for path in sorted(source.rglob("*")):
        target = folder / path.relative_to(source)
        if path.is_dir():
            target.mkdir()
        else:
            write_bytes(target, path.read_bytes())


def matte_error(matte: Path, truth: Path) -> float:
    """Mean square error of a matte against the true one."""
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
    _copy(folder)
    for part in ("mattes", "stills"):
        (folder / part).mkdir()
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
