"""A small good project with every kind of input, from which hostile ones are made."""

import contextlib
import csv
import io
import os
import shutil
import struct
import zlib
from pathlib import Path

import av
import cv2
import numpy as np
import pillow_heif
from media.tones import sine, write_sound
from openpyxl import Workbook
from PIL import Image

from keyer.cli.main import perform
from keyer.titles.fonts import shipped_faces

SIZE = (64, 36)
FRAMES = 8

STILLS = (
    "back.png",
    "plate.png",
    "grey.png",
    "grey-alpha.png",
    "alpha.png",
    "palette.png",
    "palette-clear.png",
    "clear-colour.png",
    "one-bit.png",
    "deep.png",
    "deep-alpha.png",
    "moving.png",
    "photo.jpg",
    "progressive.jpg",
    "grey.jpg",
    "inks.jpg",
    "raw.tif",
    "lzw.tif",
    "deflate.tif",
    "deep.tif",
    "lossy.webp",
    "lossless.webp",
    "alpha.webp",
    "moving.webp",
    "photo.heic",
    "deep.heic",
    "photo.avif",
    "alpha.avif",
)
CLIPS = {
    "h264.mp4": ("libx264", "yuv420p", {"bf": "2", "qp": "20"}),
    "h264.ts": ("libx264", "yuv420p", {"bf": "2", "qp": "20"}),
    "h264.mkv": ("libx264", "yuv420p", {"bf": "2", "qp": "20", "x264-params": "slices=3"}),
    "mpeg2.mpg": ("mpeg2video", "yuv420p", {"b": "2000000"}),
    "mpeg4.avi": ("mpeg4", "yuv420p", {"b": "2000000"}),
    "ffv1.mkv": ("ffv1", "bgr0", {"level": "3", "slicecrc": "1"}),
    "ffv1-old.avi": ("ffv1", "yuv422p", {"level": "1"}),
    "prores.mov": ("prores_ks", "yuv422p10le", {}),
    "png.mov": ("png", "rgb24", {}),
    "mjpeg.avi": ("mjpeg", "yuv420p", {"color_range": "pc"}),
    "vp9.webm": ("libvpx-vp9", "yuv420p", {"deadline": "realtime", "cpu-used": "8"}),
    "turn.gif": ("gif", "rgb8", {}),
}
SOUNDS = {
    "tone.wav": "pcm_s16le",
    "tone.flac": "flac",
    "tone.mp3": "libmp3lame",
    "tone.m4a": "aac",
    "tone.ogg": "flac",
}
GOOD = Path(__file__).parent / "good"
"""The documents that people write."""


def picture(seed: int, channels: int = 3, top: int = 256, size: tuple[int, int] = SIZE):
    """Blocks of random colours, a little grained, as a photograph would be coded."""
    rng = np.random.default_rng(seed)
    width, height = size
    blocks = rng.integers(0, top, (height // 6 + 1, width // 6 + 1, channels))
    whole = blocks.repeat(6, 0).repeat(6, 1)[:height, :width]
    grain = rng.integers(-top // 64, top // 64 + 1, whole.shape)
    return np.clip(whole + grain, 0, top - 1).astype(np.uint8 if top == 256 else np.uint16)


def plate(shift: int = 0):
    """A subject before a green backing."""
    pixels = np.empty((SIZE[1], SIZE[0], 3), np.uint8)
    pixels[:] = (30, 180, 50)
    pixels[10:, 20 + shift : 40 + shift] = picture(3)[10:, 20:40] // 2 + 60
    return pixels


def write_stills(folder: Path) -> None:
    """Write a still of every kind."""
    colour, grey, clear = picture(1), picture(2, 1)[..., 0], picture(4, 4)
    for name, pixels, more in (
        ("back.png", colour, {}),
        ("plate.png", plate(), {}),
        ("grey.png", grey, {}),
        ("alpha.png", clear, {}),
        ("photo.jpg", colour, {"quality": 90, "exif": _turned()}),
        ("progressive.jpg", colour, {"progressive": True}),
        ("grey.jpg", grey, {}),
        ("raw.tif", colour, {}),
        ("lzw.tif", colour, {"compression": "tiff_lzw"}),
        ("deflate.tif", clear, {"compression": "tiff_adobe_deflate"}),
        ("lossy.webp", colour, {"quality": 80}),
        ("lossless.webp", colour, {"lossless": True}),
        ("alpha.webp", clear, {"lossless": True}),
    ):
        Image.fromarray(pixels).save(folder / name, **more)
    whole = Image.fromarray(colour)
    Image.fromarray(clear[..., :2].copy(), "LA").save(folder / "grey-alpha.png")
    whole.quantize(16).save(folder / "palette.png")
    whole.quantize(16).save(folder / "palette-clear.png", transparency=bytes(range(0, 256, 16)))
    whole.save(folder / "clear-colour.png", transparency=tuple(int(v) for v in colour[0, 0]))
    Image.fromarray(grey).convert("1").save(folder / "one-bit.png")
    whole.convert("CMYK").save(folder / "inks.jpg")
    more = [Image.fromarray(picture(seed)) for seed in (5, 6)]
    for name in ("moving.png", "moving.webp"):
        whole.save(folder / name, save_all=True, append_images=more, duration=80)
    pillow_heif.from_pillow(whole).save(folder / "photo.heic")
    deep = picture(10, 3, 65536).tobytes()
    pillow_heif.from_bytes("RGB;16", SIZE, deep).save(folder / "deep.heic")
    whole.save(folder / "photo.avif")
    Image.fromarray(clear).save(folder / "alpha.avif")
    cv2.imwrite(str(folder / "deep.png"), picture(7, 3, 65536))
    cv2.imwrite(str(folder / "deep-alpha.png"), picture(8, 4, 65536))
    cv2.imwrite(str(folder / "deep.tif"), picture(9, 3, 65536))


def _turned() -> bytes:
    exif = Image.Exif()
    exif[0x0112] = 3
    return exif.tobytes()


def write_clips(folder: Path) -> None:
    """Write a clip of every kind."""
    for name, (codec, layout, options) in CLIPS.items():
        with av.open(str(folder / name), "w") as container:
            stream = container.add_stream(codec, rate=25, options=options)
            stream.width, stream.height, stream.pix_fmt = *SIZE, layout
            stream.gop_size, stream.codec_context.thread_count = 5, 1  # the same on every machine
            for number in range(FRAMES):
                pixels = np.roll(picture(11), 2 * number, axis=1).copy()
                frame = av.VideoFrame.from_ndarray(pixels, format="rgb24").reformat(format=layout)
                frame.pts = number
                container.mux(stream.encode(frame))
            container.mux(stream.encode())


def write_project(folder: Path) -> None:
    """Write a good project: stills, clips, sound, sheets, titles, tables, patterns, a page, boards.

    Parameters
    ----------
    folder : Path
        Empty.
    """
    write_stills(folder)
    write_clips(folder)
    tone = sine(0.32, frequency=440, level=0.25)
    for name, codec in SOUNDS.items():
        write_sound(folder / name, [tone, tone], codec=codec)
    (folder / "shots").mkdir()
    for number in range(1, 5):
        Image.fromarray(picture(20 + number)).save(folder / f"shots/shot_{number:04d}.png")
    shutil.copytree(GOOD, folder, dirs_exist_ok=True)
    shutil.copy(folder / "grey.png", folder / "own/steps.png")
    shutil.copy(shipped_font(), folder / "own.otf")
    write_workbook(folder)
    write_made(folder)


def shipped_font() -> Path:
    """The lightest file of the family that comes with the install."""
    return Path(min((Path(face.path) for face in shipped_faces()), key=lambda p: p.stat().st_size))


def write_workbook(folder: Path) -> None:
    """Write the rows of the table as a workbook."""
    book = Workbook()
    with (folder / "names.csv").open(encoding="utf-8", newline="") as file:
        for row in csv.reader(file):
            book.active.append(row)
    book.save(folder / "names.xlsx")


def write_made(folder: Path) -> None:
    """Write what `keyer` itself makes and reads again: a page, a still, a board."""
    orders = (
        "title design.toml -f name=Ines --save 7",
        "still spot.toml --at 4 -o still.png",
        "approve desk.toml --by Ann",
        "board desk.toml -o board.png --vary sources.guest.title.fields.name=Ann,Bo --paper A4",
    )
    before = Path.cwd()
    os.chdir(folder)
    try:
        for order in orders:
            told = io.StringIO()
            with contextlib.redirect_stdout(told), contextlib.redirect_stderr(told):
                code = perform(order.split())
            assert code == 0, (order, told.getvalue())
        Path(*folder.glob("desk.approved-*.zip")).rename("desk.approved.zip")
    finally:
        os.chdir(before)


def png_chunk(kind: bytes, data: bytes, crc: int | None = None) -> bytes:
    """One chunk of a PNG (PNG 3rd edition, 5.3)."""
    right = zlib.crc32(kind + data)
    return (
        struct.pack(">I", len(data))
        + kind
        + data
        + struct.pack(">I", right if crc is None else crc)
    )
