import io
import struct
import zlib
from fractions import Fraction

import av
import cv2
import numpy as np
import pytest
import tifffile
from PIL import Image
from PIL.PngImagePlugin import PngImageFile

from keyer.errors import InputFileError
from keyer.media.contract import MAX_SIDE
from keyer.media.decode_still import decode_still, still_kind
from keyer.media.png_chunks import chunks

RANDOM = np.random.default_rng(11)
BYTES = RANDOM.integers(0, 256, (7, 9, 4)).astype(np.uint8)
WORDS = RANDOM.integers(0, 65536, (7, 9, 4)).astype(np.uint16)


def png_by_pyav(path, layout, pixels):
    """A 16-bit PNG from libavcodec, which Pillow and OpenCV have no part in."""
    height, width = pixels.shape[:2]
    context = av.CodecContext.create("png", "w")
    context.width, context.height, context.pix_fmt = width, height, layout
    context.time_base = Fraction(1, 25)
    frame = av.VideoFrame(width, height, layout)
    rows = np.frombuffer(memoryview(frame.planes[0]), np.uint8).reshape(height, -1)
    samples = pixels.astype(">u2").reshape(height, -1).view(np.uint8)
    rows[:, : samples.shape[1]] = samples
    path.write_bytes(b"".join(bytes(part) for part in context.encode(frame) + context.encode()))


def chunk(name, body):
    """One chunk of a PNG file."""
    return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))


def png_of(width, height, *, bits=8, colour=2, rows=b""):
    """A PNG by hand, so that its header can lie."""

    def chunk(name, body):
        return (
            struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))
        )

    header = struct.pack(">IIBBBBB", width, height, bits, colour, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", header)
        + chunk(b"IDAT", zlib.compress(rows))
        + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize(
    ("layout", "pixels"),
    [("rgb48be", WORDS[..., :3]), ("rgba64be", WORDS), ("gray16be", WORDS[..., 0])],
)
def test_16_bit_png_keeps_every_bit(tmp_path, layout, pixels):
    png_by_pyav(tmp_path / "a.png", layout, pixels)
    np.testing.assert_array_equal(decode_still(tmp_path / "a.png"), pixels)


def test_16_bit_grey_with_alpha(tmp_path):
    png_by_pyav(tmp_path / "a.png", "ya16be", WORDS[..., :2])
    expected = np.stack([WORDS[..., 0]] * 3 + [WORDS[..., 1]], axis=-1)
    np.testing.assert_array_equal(decode_still(tmp_path / "a.png"), expected)


@pytest.mark.parametrize("suffix", ["png", "webp", "tif"])
@pytest.mark.parametrize("channels", [3, 4])
def test_8_bit_colour_comes_back(tmp_path, suffix, channels):
    path = tmp_path / f"a.{suffix}"
    options = {"lossless": True, "exact": True} if suffix == "webp" else {}
    Image.fromarray(BYTES[..., :channels]).save(path, **options)
    np.testing.assert_array_equal(decode_still(path), BYTES[..., :channels])


@pytest.mark.parametrize("suffix", ["png", "tif", "jpg"])
def test_grey_stays_one_channel(tmp_path, suffix):
    path = tmp_path / f"a.{suffix}"
    smooth = np.tile(np.arange(64, dtype=np.uint8) * 3, (32, 1))
    Image.fromarray(smooth).save(path, **({"quality": 95} if suffix == "jpg" else {}))
    found = decode_still(path)
    assert found.shape == smooth.shape
    np.testing.assert_allclose(found, smooth, atol=4 if suffix == "jpg" else 0)


def test_one_bit_and_grey_with_alpha(tmp_path):
    bits = BYTES[..., 0] > 99
    Image.fromarray(bits).save(tmp_path / "bits.png")
    np.testing.assert_array_equal(decode_still(tmp_path / "bits.png"), bits * np.uint8(255))
    Image.fromarray(BYTES[..., :2], "LA").save(tmp_path / "la.png")
    expected = np.stack([BYTES[..., 0]] * 3 + [BYTES[..., 1]], axis=-1)
    np.testing.assert_array_equal(decode_still(tmp_path / "la.png"), expected)


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
def test_a_palette_becomes_colour_and_its_clear_entry_alpha(tmp_path):
    palette = Image.new("P", (4, 1))
    palette.putpalette([255, 0, 0, 0, 255, 0, 0, 0, 255, 9, 8, 7])
    palette.putdata([0, 1, 2, 3])
    colours = [[255, 0, 0], [0, 255, 0], [0, 0, 255], [9, 8, 7]]
    palette.save(tmp_path / "plain.png")
    assert decode_still(tmp_path / "plain.png").tolist() == [colours]
    palette.save(tmp_path / "clear.png", transparency=1)
    found = decode_still(tmp_path / "clear.png")
    assert found[0, :, 3].tolist() == [255, 0, 255, 255]
    assert found[0, [0, 2, 3], :3].tolist() == [colours[0], colours[2], colours[3]]


@pytest.mark.parametrize("byteorder", ["<", ">"])
@pytest.mark.parametrize("compression", [None, "zlib"])
@pytest.mark.parametrize("channels", [1, 3, 4])
def test_16_bit_tiff_by_tifffile(tmp_path, byteorder, compression, channels):
    pixels = WORDS[..., 0] if channels == 1 else WORDS[..., :channels]
    settings = {"photometric": "minisblack" if channels == 1 else "rgb"}
    if channels == 4:
        settings["extrasamples"] = ["unassalpha"]
    with tifffile.TiffWriter(tmp_path / "a.tif", byteorder=byteorder) as file:
        file.write(pixels, compression=compression, **settings)
    np.testing.assert_array_equal(decode_still(tmp_path / "a.tif"), pixels)


def test_tiff_with_lzw(tmp_path):
    Image.fromarray(BYTES[..., :3]).save(tmp_path / "a.tif", compression="tiff_lzw")
    np.testing.assert_array_equal(decode_still(tmp_path / "a.tif"), BYTES[..., :3])


@pytest.mark.parametrize(
    ("settings", "finding"),
    [
        ({"photometric": "rgb", "planarconfig": "separate"}, "separate colour planes"),
        ({"photometric": "miniswhite"}, "white as zero"),
    ],
)
def test_16_bit_tiff_that_would_be_read_wrongly_is_refused(tmp_path, settings, finding):
    pixels = WORDS
    if "planarconfig" in settings:
        pixels = np.ascontiguousarray(np.moveaxis(WORDS[..., :3], -1, 0))
    elif settings["photometric"] == "miniswhite":
        pixels = WORDS[..., 0]
    with tifffile.TiffWriter(tmp_path / "a.tif") as file:
        file.write(pixels, **settings)
    with pytest.raises(InputFileError, match=finding):
        decode_still(tmp_path / "a.tif")


def test_16_bit_tiff_with_premultiplied_alpha_becomes_straight(tmp_path):
    """By hand: 30000 under half alpha is 60000; where all is clear colours stay."""
    pixels = np.zeros((3, 5, 4), np.uint16)
    pixels[0] = (30000, 20000, 32767, 32768)
    pixels[1] = (40000, 0, 0, 10)  # more than alpha allows
    pixels[2] = (7, 8, 9, 0)
    with tifffile.TiffWriter(tmp_path / "a.tif") as file:
        file.write(pixels, photometric="rgb", extrasamples=["assocalpha"])
    found = decode_still(tmp_path / "a.tif")
    # 30000 x 65535 / 32768 = 59999.1, 20000: 39999.4, 32767: 65533.0
    assert found[0, 0].tolist() == [59999, 39999, 65533, 32768]
    assert found[1, 0].tolist() == [65535, 0, 0, 10]
    assert found[2, 0].tolist() == [7, 8, 9, 0]


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("suffix", ["jpg", "png", "tif", "webp"])
def test_exif_orientation_turns_the_picture_upright(tmp_path, orientation, suffix):
    """Exif 2.32 tag 274 names where row 0 and column 0 of the file lie in the upright picture."""
    upright = np.zeros((32, 48, 3), np.uint8)
    upright[:16, :24] = (250, 10, 10)
    upright[16:, :24] = (10, 250, 10)
    upright[:16, 24:] = (10, 10, 250)
    stored = {
        1: upright,
        2: upright[:, ::-1],
        3: upright[::-1, ::-1],
        4: upright[::-1],
        5: upright.swapaxes(0, 1),
        6: upright.swapaxes(0, 1)[::-1],
        7: upright[::-1, ::-1].swapaxes(0, 1),
        8: upright.swapaxes(0, 1)[:, ::-1],
    }[orientation]
    exif = Image.Exif()
    exif[0x0112] = orientation
    path = tmp_path / f"a.{suffix}"
    options = {"lossless": True} if suffix == "webp" else {}
    if suffix == "jpg":
        options = {"quality": 100, "subsampling": 0}
    image = Image.fromarray(np.ascontiguousarray(stored))
    image.save(path, exif=exif.tobytes() if suffix != "tif" else exif, **options)
    np.testing.assert_allclose(decode_still(path), upright, atol=12 if suffix == "jpg" else 0)


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize("suffix", ["png", "tif"])
def test_orientation_of_16_bits_is_that_of_8(tmp_path, suffix, orientation):
    path, small = tmp_path / f"deep.{suffix}", tmp_path / f"small.{suffix}"
    shallow = (WORDS[..., :3] >> 8).astype(np.uint8)
    exif = Image.Exif()
    exif[0x0112] = orientation
    Image.fromarray(shallow).save(small, exif=exif if suffix == "tif" else exif.tobytes())
    if suffix == "tif":
        tags = [(274, "H", 1, orientation, True)]
        tifffile.imwrite(path, WORDS[..., :3], photometric="rgb", extratags=tags)
    else:
        png_by_pyav(path, "rgb48be", WORDS[..., :3])
        data = path.read_bytes()
        path.write_bytes(data[:33] + chunk(b"eXIf", exif.tobytes()[6:]) + data[33:])
    np.testing.assert_array_equal(decode_still(path) >> 8, decode_still(small))


def test_orientation_6_by_hand(tmp_path):
    """Row 0 of the file is the right-hand side: a phone held upright, camera to the left."""
    stored = np.zeros((1, 3), np.uint8)
    stored[0] = [10, 20, 30]
    exif = Image.Exif()
    exif[0x0112] = 6
    Image.fromarray(stored).save(tmp_path / "a.png", exif=exif.tobytes())
    assert decode_still(tmp_path / "a.png").tolist() == [[10], [20], [30]]


@pytest.mark.parametrize("kind", ["eXIf", "iTXt", "zTXt"])
def test_a_png_may_say_at_its_end_how_it_is_turned(tmp_path, kind):
    exif = Image.Exif()
    exif[0x0112] = 6
    raw = exif.tobytes()
    words = f"\nexif\n{len(raw):8}\n{raw.hex()}\n".encode()
    body = {
        "eXIf": raw[6:],
        "iTXt": b'XML:com.adobe.xmp\0\0\0\0\0<a tiff:Orientation="6"/>',
        "zTXt": b"Raw profile type exif\0\0" + zlib.compress(words),
    }[kind]
    stored = np.array([[10, 20, 30]], np.uint8)
    Image.fromarray(stored).save(tmp_path / "a.png")
    data = (tmp_path / "a.png").read_bytes()
    (tmp_path / "a.png").write_bytes(data[:-12] + chunk(kind.encode(), body) + data[-12:])
    assert decode_still(tmp_path / "a.png").tolist() == [[10], [20], [30]]


def test_a_plain_png_is_decoded_once(tmp_path, monkeypatch):
    """Pillow decodes a PNG whole when asked for its Exif data, unless they come first."""
    Image.fromarray(BYTES[..., :3]).save(tmp_path / "a.png")
    monkeypatch.setattr(PngImageFile, "load", lambda _: pytest.fail("decoded by Pillow, too"))
    np.testing.assert_array_equal(decode_still(tmp_path / "a.png"), BYTES[..., :3])


def test_cmyk_jpeg_becomes_rgb(tmp_path):
    red = Image.new("RGB", (16, 16), (255, 0, 0)).convert("CMYK")
    red.save(tmp_path / "a.jpg", quality=95)
    np.testing.assert_allclose(decode_still(tmp_path / "a.jpg")[8, 8], (255, 0, 0), atol=6)


def test_the_name_does_not_count(tmp_path):
    Image.fromarray(BYTES[..., :3]).save(tmp_path / "a.webp", "PNG")
    np.testing.assert_array_equal(decode_still(tmp_path / "a.webp"), BYTES[..., :3])


def test_one_pixel(tmp_path):
    Image.new("RGB", (1, 1), (1, 2, 3)).save(tmp_path / "a.png")
    assert decode_still(tmp_path / "a.png").tolist() == [[[1, 2, 3]]]


def broken():
    """Bytes of each bad file, and what the message must say of it."""
    noise = RANDOM.integers(0, 256, (60, 60, 3)).astype(np.uint8)
    deep, png, jpeg, tiff, webp = (
        cv2.imencode(suffix, pixels)[1].tobytes()
        for suffix, pixels in (
            (".png", WORDS[..., :3]),
            (".png", noise),
            (".jpg", noise),
            (".tif", WORDS[..., :3]),
            (".webp", noise),
        )
    )
    damaged = bytearray(png)
    damaged[len(png) // 2] ^= 0xFF
    return {
        "empty.png": (b"", "empty"),
        "text.png": (b"this is text\n" * 9, "not a PNG, JPEG, TIFF, WebP, HEIC or AVIF"),
        "half.png": (png[: len(png) // 2], "broken PNG"),
        "half16.png": (deep[: len(deep) // 2], "broken PNG"),
        "head.png": (png[:20], "broken PNG"),
        "damaged.png": (bytes(damaged), "broken PNG"),
        "no-size.png": (png_of(0, 5), "broken PNG|1 to"),
        "huge.png": (png_of(100_000, 100_000), "100000 x 100000"),
        "huge16.png": (png_of(100_000, 100_000, bits=16), "100000 x 100000"),
        "wide.png": (png_of(MAX_SIDE + 1, 1), f"{MAX_SIDE + 1} x 1"),
        "half.jpg": (jpeg[: len(jpeg) // 2], "broken JPEG"),
        "head.jpg": (jpeg[:10], "broken JPEG"),
        "half.tif": (tiff[: len(tiff) // 2], "broken TIFF"),
        "half.webp": (webp[: len(webp) // 2], "broken WebP"),
    }


BROKEN = broken()


@pytest.mark.parametrize("name", BROKEN)
def test_a_bad_file_is_refused_in_one_quiet_line(tmp_path, capfd, name):
    data, finding = BROKEN[name]
    (tmp_path / name).write_bytes(data)
    with pytest.raises(InputFileError, match=finding) as refusal:
        decode_still(tmp_path / name)
    assert "\n" not in str(refusal.value)
    assert name in str(refusal.value)
    assert refusal.value.exit_code == 3
    captured = capfd.readouterr()
    assert (captured.out, captured.err) == ("", "")


def test_a_float_tiff_is_refused(tmp_path):
    tifffile.imwrite(tmp_path / "a.tif", BYTES[..., 0].astype(np.float32))
    with pytest.raises(InputFileError, match="32 bits"):
        decode_still(tmp_path / "a.tif")


def test_a_missing_file_and_a_folder(tmp_path):
    with pytest.raises(InputFileError, match="does not exist"):
        decode_still(tmp_path / "gone.png")
    with pytest.raises(InputFileError, match="is not a file, but a folder"):
        decode_still(tmp_path)


@pytest.mark.parametrize(
    ("head", "kind"),
    [
        (b"GIF89a" + b"\0" * 10, None),
        (b"", None),
        (b"RIFF\0\0\0\0AVI LIST", None),
        (b"II*\0", "TIFF"),
    ],
)
def test_kinds_are_told_by_the_first_bytes(head, kind):
    assert still_kind(head) == kind


KINDS_OF_PNG = {
    "colour": lambda: Image.fromarray(BYTES[..., :3]),
    "alpha": lambda: Image.fromarray(BYTES),
    "grey": lambda: Image.fromarray(BYTES[..., 0]),
    "grey-alpha": lambda: Image.fromarray(BYTES[..., :2], "LA"),
    "one-bit": lambda: Image.fromarray(BYTES[..., 0] > 99),
    "palette": lambda: Image.fromarray(BYTES[..., :3]).quantize(8),
    "deep": lambda: Image.fromarray(WORDS[..., 0]),
}


@pytest.mark.filterwarnings("ignore::DeprecationWarning")
@pytest.mark.parametrize("clear", [False, True])
@pytest.mark.parametrize("kind", KINDS_OF_PNG)
def test_every_check_sum_of_a_png_counts(tmp_path, kind, clear):
    """One bit of each chunk's check sum is turned over (PNG 3rd edition, 5.3)."""
    path = tmp_path / "a.png"
    options = {"transparency": 0} if clear and kind in {"palette", "grey"} else {}
    options |= {"transparency": (1, 2, 3)} if clear and kind == "colour" else {}
    KINDS_OF_PNG[kind]().save(path, **options)
    data = path.read_bytes()
    decode_still(path)
    for part in chunks(data):
        hurt = bytearray(data)
        hurt[part.end - 1] ^= 1
        path.write_bytes(hurt)
        with pytest.raises(InputFileError, match=r"a\.png is a broken PNG file"):
            decode_still(path)


@pytest.mark.parametrize("mode", ["RGB", "RGBA", "L", "LA", "P"])
@pytest.mark.parametrize("apart", [True, False])
def test_of_an_animated_png_the_static_image_is_the_still(tmp_path, mode, apart):
    """PNG 3rd edition, 4.9: it may or may not be the first frame of the animation."""
    frames = [Image.new("RGB", (8, 4), (red, 20, 30)).convert(mode) for red in (10, 100, 200)]
    frames[0].save(tmp_path / "static.png")
    frames[0].save(
        tmp_path / "moving.png", save_all=True, append_images=frames[1:], default_image=apart
    )
    assert b"acTL" in (tmp_path / "moving.png").read_bytes()
    expected = decode_still(tmp_path / "static.png")
    np.testing.assert_array_equal(decode_still(tmp_path / "moving.png"), expected)


def test_a_small_file_that_unfolds_to_too_much_is_refused_before_it_does(tmp_path):
    """In 16 bits with alpha 8 bytes a pixel: 10,000 x 10,000 are 800 MB."""
    path = tmp_path / "a.png"
    path.write_bytes(png_of(10_000, 10_000, bits=16, colour=6))
    with pytest.raises(InputFileError, match=r"takes 800 MB; a picture may take 400\. Scale it"):
        decode_still(path)
    Image.new("RGB", (16_383, 7000)).save(tmp_path / "a.webp", lossless=True, method=0)
    with pytest.raises(InputFileError, match=r"a\.webp says that it is 16383 x 7000"):
        decode_still(tmp_path / "a.webp")


def test_a_file_larger_than_any_picture_is_not_read(tmp_path):
    path = tmp_path / "a.png"
    with path.open("wb") as file:
        file.write(b"\x89PNG\r\n\x1a\n")
        file.truncate(1_000_000_001)  # a hole: it takes no room on the disk
    with pytest.raises(InputFileError, match=r"larger than any picture \(1 GB\)"):
        decode_still(path)


def test_memory_that_is_not_there_is_one_line(tmp_path, monkeypatch):
    def none_left(*_args):
        raise MemoryError

    Image.new("RGB", (8, 4)).save(tmp_path / "a.png")
    monkeypatch.setattr("keyer.media.decode_still._decode_plain", none_left)
    with pytest.raises(InputFileError, match=r"a\.png takes more memory than there is"):
        decode_still(tmp_path / "a.png")


@pytest.mark.parametrize("canvas", [(1 << 24, 1 << 24), (16383, 16383)])
def test_a_webp_of_an_enormous_canvas(tmp_path, canvas):
    """The size stands in 24 bits each in the header VP8X (RFC 9649)."""
    memory = io.BytesIO()
    Image.new("RGB", (8, 8), (30, 200, 40)).save(memory, "WEBP", lossless=True)
    inner = memory.getvalue()[12:]
    size = b"".join((side - 1).to_bytes(3, "little") for side in canvas)
    chunks = b"WEBPVP8X" + struct.pack("<I", 10) + bytes([16, 0, 0, 0]) + size + inner
    path = tmp_path / "a.webp"
    path.write_bytes(b"RIFF" + struct.pack("<I", len(chunks)) + chunks)
    with pytest.raises(InputFileError, match=r"a\.webp is (larger than a picture may be|a broken)"):
        decode_still(path)
