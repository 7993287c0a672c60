"""Gather the pictures that subjects get their colours from.

    python examples/matte_network/gather.py OUT FILE...

Each FILE is a package as its registry hands it out, or a folder in which one is
unpacked; README.md beside this file says which, and under what terms each
picture is free. What is found is written to OUT as JPEG. Needs OpenEXR, Pillow.
"""

from __future__ import annotations

import base64
import bz2
import io
import re
import sys
import tarfile
import tempfile
import zipfile
from pathlib import Path

import numpy as np
from PIL import Image

PICTURES = {"rocket.jpg", "hubble_deep_field.jpg", "retina.jpg", "brick.png", "grass.png",
            "gravel.png", "grace_hopper.jpg"}  # fmt: skip


def panorama(script: bytes) -> Image.Image:
    """Give the middle of a panorama of light, with highlights rolled off."""
    import OpenEXR

    found = re.search(rb"base64,([A-Za-z0-9+/=]+)", script)
    assert found is not None  # noqa: S101
    with tempfile.NamedTemporaryFile(suffix=".exr") as file:
        file.write(base64.b64decode(found[1]))
        file.flush()
        channels = OpenEXR.File(file.name).channels()
    light = (channels.get("RGB") or channels["RGBA"]).pixels[..., :3].astype(np.float32)
    light = light[int(len(light) * 0.12) : int(len(light) * 0.88)]
    light = np.maximum(light / np.percentile(light.mean(2), 80) * 0.7, 0)
    soft = np.where(light < 0.6, light, 0.6 + 0.4 * (1 - np.exp(-(light - 0.6) / 0.4)))
    return Image.fromarray((soft ** (1 / 2.2)).clip(0, 1).__mul__(255).astype(np.uint8))


def members(path: Path) -> list[tuple[str, bytes]]:
    """List the files of a package."""
    if path.is_dir():
        return [(str(file), file.read_bytes()) for file in path.rglob("*") if file.is_file()]
    if path.suffix == ".tgz":
        with tarfile.open(path) as store:
            named = [member for member in store.getmembers() if member.isfile()]
            return [(member.name, store.extractfile(member).read()) for member in named]  # type: ignore[union-attr]
    with zipfile.ZipFile(path) as store:
        return [(name, store.read(name)) for name in store.namelist()]


def main() -> None:
    """Write every picture that is known."""
    out = Path(sys.argv[1])
    out.mkdir(parents=True, exist_ok=True)
    for package in sys.argv[2:]:
        for name, data in members(Path(package)):
            file = Path(name)
            if file.name.endswith(".exr.js"):
                panorama(data).save(out / f"{file.name.split('.')[0]}.jpg", quality=93)
            elif file.name == "face.dat":
                whole = np.frombuffer(bz2.decompress(data), np.uint8).reshape(768, 1024, 3)
                Image.fromarray(whole).save(out / "raccoon.jpg", quality=93)
            elif file.name in PICTURES:
                picture = Image.open(io.BytesIO(data)).convert("RGB")
                picture.save(out / f"{file.stem}.jpg", quality=93)


if __name__ == "__main__":
    main()
