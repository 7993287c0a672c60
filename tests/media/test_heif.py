"""HEIC and AVIF: what telephones and the web deliver; sensor data is refused."""

import io

import av
import numpy as np
import pillow_heif
import pytest
from PIL import Image

from keyer.errors import InputFileError
from keyer.media.source import open_source
from keyer.pixel.colour.load import load, load_alpha


def ramp():
    """Smooth, so that a coarse codec keeps it: (48, 64, 3) uint8."""
    rows, cols = np.mgrid[0:48, 0:64]
    return np.stack([60 + 2 * cols, 50 + 3 * rows, 200 - 2 * cols], 2).astype(np.uint8)


def opened(path):
    source = open_source(path)
    return source.read(0), source.props


@pytest.mark.parametrize("kind", ["heic", "avif"])
def test_a_still_of_8_bits(kind, tmp_path):
    path = tmp_path / f"shot.{kind}"
    image = Image.fromarray(ramp())
    if kind == "heic":
        pillow_heif.from_pillow(image).save(path, quality=95, chroma=444)
    else:
        image.save(path, quality=95, subsampling="4:4:4")
    picture, props = opened(path)
    assert (props.width, props.height, props.bits) == (64, 48, 8)
    assert props.notices == ()
    seen = load(picture).transpose(1, 2, 0) * 255
    assert np.abs(seen - ramp()).mean() < 2  # lossy


def test_a_heic_without_its_data_is_refused_in_plain_words(tmp_path):
    memory = io.BytesIO()
    pillow_heif.from_pillow(Image.fromarray(ramp())).save(memory)
    data = memory.getvalue()
    start = data.index(b"mdat") + 4
    path = tmp_path / "a.heic"
    path.write_bytes(data[:start] + bytes(len(data) - start))
    fault = r"a\.heic is a broken HEIF file \(Unexpected end of file\)\. Copy or export it again\."
    with pytest.raises(InputFileError, match=fault):
        open_source(path)


@pytest.mark.parametrize("version", [2, 9])
def test_an_avif_of_a_form_that_is_not_known_is_refused(tmp_path, version):
    """The byte after the name of a box is its version (ISO/IEC 14496-12, 4.2)."""
    memory = io.BytesIO()
    Image.fromarray(ramp()).save(memory, "AVIF")
    data = bytearray(memory.getvalue())
    data[data.index(b"iloc") + 4] = version
    path = tmp_path / "a.avif"
    path.write_bytes(data)
    with pytest.raises(InputFileError, match=r"a\.avif is a broken HEIF file \(it cannot be dec"):
        open_source(path)


def test_alpha_of_an_avif(tmp_path):
    alpha = np.full((48, 64, 1), 255, np.uint8)
    alpha[:, :32] = 0
    Image.fromarray(np.concatenate([ramp(), alpha], 2)).save(tmp_path / "cut.avif", quality=95)
    picture, props = opened(tmp_path / "cut.avif")
    assert props.has_alpha
    assert load_alpha(picture)[:, 4].max() < 0.05
    assert load_alpha(picture)[:, 60].min() > 0.95


def test_a_heic_of_10_bits_keeps_them(tmp_path):
    path = tmp_path / "deep.heic"
    level = np.full((48, 64, 3), 601 << 6, np.uint16)
    pillow_heif.from_bytes("RGB;16", (64, 48), level.tobytes()).save(path, quality=-1, chroma=444)
    picture, props = opened(path)
    assert props.bits == 16
    assert load(picture)[1].mean() == pytest.approx(601 / 1023, abs=0.6 / 1023)


def avif_of(path, luma, *, trc, primaries, matrix):
    """One grey picture of 10 bits in narrow range, coded as AV1."""
    with av.open(str(path), "w", format="avif") as container:
        stream = container.add_stream("libsvtav1", rate=1, options={"crf": "10"})
        stream.width, stream.height, stream.pix_fmt = 64, 64, "yuv420p10le"
        context = stream.codec_context
        context.color_trc, context.color_primaries = trc, primaries
        context.colorspace, context.color_range = matrix, 1
        frame = av.VideoFrame(64, 64, "yuv420p10le")
        for plane, value in zip(frame.planes, (luma, 512, 512), strict=True):
            plane.update(np.full((plane.height, plane.line_size // 2), value, np.uint16).tobytes())
        frame.color_trc, frame.color_primaries = trc, primaries
        frame.colorspace, frame.color_range = matrix, 1
        container.mux(stream.encode(frame))
        container.mux(stream.encode())


def test_an_avif_in_pq_is_brought_to_standard_range(tmp_path):
    path = tmp_path / "bright.avif"
    avif_of(path, 64 + 508, trc=16, primaries=9, matrix=9)  # 58 %: 203 cd/m2 (BT.2408 table 1)
    picture, props = opened(path)
    assert load(picture).mean() == pytest.approx(0.960, abs=0.006)  # 0.9067 ** (1 / 2.4)
    assert "PQ of ITU-R BT.2100" in props.notices[0]
    assert str(path) in props.notices[0]


@pytest.mark.parametrize("kind", ["heic", "avif"])
@pytest.mark.parametrize("part", [0.2, 0.9])
def test_a_broken_one_is_one_line(kind, part, tmp_path):
    whole = io.BytesIO()
    if kind == "heic":
        pillow_heif.from_pillow(Image.fromarray(ramp())).save(whole)
    else:
        Image.fromarray(ramp()).save(whole, "AVIF")
    path = tmp_path / f"cut.{kind}"
    path.write_bytes(whole.getvalue()[: int(part * len(whole.getvalue()))])
    with pytest.raises(InputFileError, match="Copy or export it again") as caught:
        open_source(path)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("name", ["shot.dng", "shot.CR3", "clip.braw"])
def test_raw_is_refused_with_the_cure(name, tmp_path):
    (tmp_path / name).write_bytes(b"II*\0" + bytes(64))
    with pytest.raises(InputFileError, match=r"is raw.*Develop it to BT\.709"):
        open_source(tmp_path / name)


def test_a_tiff_of_sensor_data_is_refused(tmp_path):
    path = tmp_path / "mosaic.tif"
    Image.fromarray(ramp()[..., 0]).save(path, tiffinfo={50706: b"\x01\x06\x00\x00"})
    with pytest.raises(InputFileError, match="is raw"):
        open_source(path)
