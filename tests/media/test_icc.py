"""A Display P3 profile made by hand (ICC.1:2022, 8.3, matrix and curve), as phones write it."""

import io
import struct

import numpy as np
import pillow_heif
import pytest
from PIL import Image, ImageCms

from keyer.media.decode_still import decode_noted

GREEN, SKIN = (60, 160, 80), (180, 120, 90)


def _number(value):
    return struct.pack(">i", round(value * 65536))


def _xyz(*values):
    return b"XYZ \0\0\0\0" + b"".join(map(_number, values))


def _profile(primaries):
    """Of three primaries as XYZ for D50, and the curve of IEC 61966-2-1."""
    name = b"P3\0"
    curve = b"para\0\0\0\0" + struct.pack(">HH", 3, 0)
    curve += b"".join(map(_number, (2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045)))
    tags = {
        b"desc": b"desc\0\0\0\0" + struct.pack(">I", len(name)) + name + b"\0" * 78,
        b"cprt": b"text\0\0\0\0x\0",
        b"wtpt": _xyz(0.9642, 1, 0.8249),
        b"rXYZ": _xyz(*primaries[0]), b"gXYZ": _xyz(*primaries[1]), b"bXYZ": _xyz(*primaries[2]),
        b"rTRC": curve, b"gTRC": curve, b"bTRC": curve,
    }  # fmt: skip
    table, body, first = struct.pack(">I", len(tags)), b"", 132 + 12 * len(tags)
    for tag, data in tags.items():
        padded = data + b"\0" * (-len(data) % 4)
        table += tag + struct.pack(">II", first + len(body), len(padded))
        body += padded
    head = struct.pack(">I", 128 + len(table) + len(body)) + b"lcms\4\0\0\0mntrRGB XYZ "
    head += struct.pack(">6H", 2026, 1, 1, 0, 0, 0) + b"acsp" + b"\0" * 28
    head += _number(0.9642) + _number(1) + _number(0.8249)
    return head.ljust(128, b"\0") + table + body


# Primaries of Display P3 (SMPTE EG 432-1) with white D65, brought to D50 by Bradford's method
P3 = _profile(((0.5151, 0.2412, -0.0011), (0.2920, 0.6922, 0.0419), (0.1571, 0.0666, 0.7841)))
SRGB = _profile(((0.4361, 0.2225, 0.0139), (0.3851, 0.7169, 0.0971), (0.1431, 0.0606, 0.7141)))


def _picture():
    picture = Image.new("RGB", (64, 48), GREEN)
    picture.paste(SKIN, (0, 0, 32, 48))
    return picture


@pytest.mark.parametrize("suffix", [".jpg", ".png", ".webp", ".avif", ".heic"])
def test_a_phones_p3_comes_out_in_the_colours_of_bt709(tmp_path, suffix):
    """Little CMS brings sRGB to P3 and back; 2 codes are what JPEG and rounding cost."""
    wide = ImageCms.profileToProfile(
        _picture(), ImageCms.createProfile("sRGB"), ImageCms.ImageCmsProfile(io.BytesIO(P3))
    )
    assert abs(wide.getpixel((50, 10))[0] - GREEN[0]) > 20
    path = tmp_path / f"phone{suffix}"
    how = {"quality": 100} | ({"lossless": True} if suffix == ".webp" else {})
    if suffix == ".heic":
        wide.info["icc_profile"] = P3
        pillow_heif.from_pillow(wide).save(path, **how)
    else:
        wide.save(path, icc_profile=P3, **how)
    pixels, said = decode_noted(path)
    assert np.abs(pixels[10, 50].astype(int) - GREEN).max() <= 2
    assert np.abs(pixels[10, 5].astype(int) - SKIN).max() <= 2
    assert said == "had the colours of P3; they are brought to those of BT.709"


@pytest.mark.parametrize("profile", [SRGB, None])
def test_srgb_stays_bit_for_bit(tmp_path, profile):
    path = tmp_path / "usual.png"
    _picture().save(path, icc_profile=profile)
    pixels, said = decode_noted(path)
    np.testing.assert_array_equal(pixels, np.asarray(_picture()))
    assert said == ""


def test_a_damaged_profile_is_told(tmp_path):
    path = tmp_path / "damaged.png"
    _picture().save(path, icc_profile=P3[:20] + b"\xff" * 60)
    pixels, said = decode_noted(path)
    np.testing.assert_array_equal(pixels, np.asarray(_picture()))
    assert "damaged" in said
