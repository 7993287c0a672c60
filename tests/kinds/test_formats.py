from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from keyer.errors import SettingError
from keyer.kinds.formats import (
    FORMATS,
    LARGEST,
    MOST_PIXELS,
    VideoFormat,
    parse_format,
    sized_format,
)
from keyer.kinds.timing import RATES, rate_name


@pytest.mark.parametrize(
    ("name", "width", "height", "rate"),
    [
        ("1080p25", 1920, 1080, "25"),
        ("1080p29.97", 1920, 1080, "29.97"),
        ("1080p59.94", 1920, 1080, "59.94"),
        ("1080p24", 1920, 1080, "24"),
        ("1080p23.976", 1920, 1080, "23.976"),
        ("720p50", 1280, 720, "50"),
        ("720p60", 1280, 720, "60"),
        ("2160p29.97", 3840, 2160, "29.97"),
    ],
)
def test_high_definition_by_name(name, width, height, rate):
    found = parse_format(name)
    assert (found.width, found.height, found.rate) == (width, height, RATES[rate])
    assert found.pixel_aspect == 1
    assert found.matrix == "bt709"
    assert found.display_aspect == Fraction(16, 9)


@pytest.mark.parametrize(
    ("name", "lines", "pixel"),
    [
        # ITU-T H.264 table E-1 lists these four ratios (from memory)
        ("576p25-4:3", 576, Fraction(12, 11)),
        ("576p25-16:9", 576, Fraction(16, 11)),
        ("480p29.97-4:3", 480, Fraction(10, 11)),
        ("480p29.97-16:9", 480, Fraction(40, 33)),
    ],
)
def test_standard_definition_has_the_pixels_of_704_columns(name, lines, pixel):
    found = parse_format(name)
    assert (found.width, found.height) == (720, lines)
    assert found.pixel_aspect == pixel
    assert found.matrix == "bt601"
    shape = Fraction(*map(int, name.rpartition("-")[2].split(":")))
    assert pixel * 704 / lines == shape  # 704 of the 720 columns span the picture
    assert found.display_aspect == shape * 720 / 704


def test_every_name_gives_its_own_format():
    for name, found in FORMATS.items():
        assert found.name == name
        assert parse_format(f" {name} ") is found
        assert f"p{rate_name(found.rate)}" in name


@given(
    st.integers(1, LARGEST),
    st.integers(1, MOST_PIXELS // LARGEST),
    st.sampled_from(list(RATES)),
    st.sampled_from("x×"),
)
def test_by_size_and_rate(width, height, rate, cross):
    found = parse_format(f"{width}{cross}{height}@{rate}")
    assert (found.width, found.height, found.rate) == (width, height, RATES[rate])
    assert found.pixel_aspect == 1
    assert parse_format(found.name) == found


def test_small_sizes_have_the_luma_of_601():
    assert sized_format(1024, 576, RATES["25"]).matrix == "bt601"
    assert sized_format(640, 480, RATES["30"]).matrix == "bt601"
    assert sized_format(1280, 576, RATES["25"]).matrix == "bt709"
    assert sized_format(720, 1280, RATES["25"]).matrix == "bt709"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("1080i25", "progressive"),
        ("1080i50", "progressive"),
        ("576i", "progressive"),
        ("1080p26", "1080p25"),
        ("1080P25", "1080p25"),
        ("576p25", "576p25-4:3 or 576p25-16:9"),
        ("480p29.97", "480p29.97-4:3 or 480p29.97-16:9"),
        ("1280x720@26", "format rate must be one of"),
        ("0x720@25", r"width must be in \[1, 16384\]"),
        ("720x99999@25", r"height must be in \[1, 16384\]"),
        ("16384x4097@25", r"at most 67108864 pixels \(8192 x 8192\), got 16384 x 4097"),
        ("1280x720", "WIDTHxHEIGHT@RATE"),
        ("", "1080p25"),
        pytest.param("x" * 1000, "1080p25", id="long"),
    ],
)
def test_unknown_formats_are_refused_with_a_cure_in_one_line(text, says):
    with pytest.raises(SettingError, match=says) as caught:
        parse_format(text)
    assert str(caught.value).startswith("format ")
    assert "\n" not in str(caught.value)
    assert len(str(caught.value)) < 220


def test_a_pixel_has_a_shape():
    with pytest.raises(SettingError, match="pixel_aspect must be above 0"):
        VideoFormat("x", 8, 8, RATES["25"], Fraction(0))
