"""Picture formats: size, rate, shape of a pixel and luma coefficients, by name or by size.

All formats are progressive: an effect is decided on whole frames.

Pixel aspect of the 576- and 480-line formats: ITU-R BT.601-7 samples both at
13.5 MHz, 720 to a line, of which the middle 704 span the 4:3 or 16:9 picture
(common practice; ITU-T H.264, table E-1, lists the same ratios). So
12:11 = 4/3 / (704/576) and 16:11, and 10:11 = 4/3 / (704/480) and 40:33. The
full 720 columns are a little wider than 4:3 or 16:9.
"""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass
from fractions import Fraction

from keyer.errors import SettingError, TimeError
from keyer.kinds.picture import Matrix
from keyer.kinds.timing import RATES, parse_rate, rate_name

LARGEST = 16384
"""Most columns or rows of a format."""

MOST_PIXELS = 8192 * 8192
"""Most pixels of a format: twice the 8192 x 4320 that the largest digital cinema cameras have."""

_LINES = {"720p": (1280, 720), "1080p": (1920, 1080), "2160p": (3840, 2160)}
_STANDARD = {
    # lines, shape: pixel aspect, rates
    ("576p", "4:3"): (Fraction(12, 11), ("25", "50")),
    ("576p", "16:9"): (Fraction(16, 11), ("25", "50")),
    ("480p", "4:3"): (Fraction(10, 11), ("23.976", "24", "29.97", "30", "59.94", "60")),
    ("480p", "16:9"): (Fraction(40, 33), ("23.976", "24", "29.97", "30", "59.94", "60")),
}
USUAL = (
    *(f"{lines}{rate}" for lines in ("1080p", "720p", "2160p") for rate in (25, 50, 24, 30, 60)),
    "1080x1920@25", "1080x1080@25", "1080x1350@25", "576p25-16:9", "480p29.97-16:9",
)  # fmt: skip
"""Names of formats that are often asked for, to choose from."""

_SIZE = re.compile(r"([0-9]{1,6})\s?[x×]\s?([0-9]{1,6})\s?@\s?(\S{1,20})")


@dataclass(frozen=True)
class VideoFormat:
    """Size, rate, pixel aspect and luma of a video format.

    Attributes
    ----------
    name : str
        As the user names it: `"1080p25"`, `"576p25-16:9"`, `"1280x720@25"`.
    width, height : int
        Columns and rows, 1..16384, and 67 million pixels at most.
    rate : Fraction
        Frames a second, exact.
    pixel_aspect : Fraction
        Width of a pixel as displayed, over its height.
    matrix : {"bt601", "bt709"}
        Luma coefficients of the format.
    """

    name: str
    width: int
    height: int
    rate: Fraction
    pixel_aspect: Fraction = Fraction(1)
    matrix: Matrix = "bt709"

    def __post_init__(self) -> None:
        for side, value in (("width", self.width), ("height", self.height)):
            if not 1 <= value <= LARGEST:
                msg = f"format {side} must be in [1, {LARGEST}] pixels, got {value}."
                raise SettingError(msg)
        if self.width * self.height > MOST_PIXELS:
            demand = (
                f"must have at most {MOST_PIXELS} pixels (8192 x 8192), got {self.width} x "
                f"{self.height}. Scale it down first."
            )
            raise SettingError(demand, "format")
        if self.pixel_aspect <= 0:
            demand = f"must be above 0, got {self.pixel_aspect}."
            raise SettingError(demand, "format pixel_aspect")

    @property
    def display_aspect(self) -> Fraction:
        """Width of the whole raster as displayed, over its height."""
        return self.pixel_aspect * self.width / self.height


def _named() -> dict[str, VideoFormat]:
    table = {}
    for lines, (width, height) in _LINES.items():
        for name, rate in RATES.items():
            full = f"{lines}{name}"
            table[full] = VideoFormat(full, width, height, rate)
    for (lines, shape), (aspect, rates) in _STANDARD.items():
        for name in rates:
            full = f"{lines}{name}-{shape}"
            height = int(lines[:-1])
            table[full] = VideoFormat(full, 720, height, RATES[name], aspect, "bt601")
    return table


FORMATS: dict[str, VideoFormat] = _named()
"""Formats by name."""


def parse_format(text: str, name: str = "format") -> VideoFormat:
    """Find a format by name, or make one from a size and a rate.

    Parameters
    ----------
    text : str
        A name of `FORMATS`, or `WIDTHxHEIGHT@RATE` with square pixels.
    name : str
        How the user calls the parameter.

    Raises
    ------
    SettingError
        If it is unknown (the nearest names are suggested) or interlaced.
    """
    wanted = text.strip()
    if wanted in FORMATS:
        return FORMATS[wanted]
    if match := _SIZE.fullmatch(wanted):
        try:
            rate = parse_rate(match[3], f"{name} rate")
        except TimeError as error:
            raise SettingError(str(error)) from None
        return sized_format(int(match[1]), int(match[2]), rate)
    if re.fullmatch(r"[0-9]{3,4}i[0-9.]*(-.*)?", wanted):
        demand = (
            f"must be progressive, got {wanted!r}: effects are decided on whole frames. "
            "Say for instance '1080p25'."
        )
        raise SettingError(demand, name)
    near = _nearest(wanted)
    hint = f"Did you mean {' or '.join(near)}?" if near else "For instance 1080p25."
    demand = f"must be a known format or WIDTHxHEIGHT@RATE, got {wanted!r:.60}. {hint}"
    raise SettingError(demand, name)


def _nearest(wanted: str) -> list[str]:
    shapes = [f"{wanted}-{shape}" for shape in ("4:3", "16:9")]
    if all(shape in FORMATS for shape in shapes):
        return shapes
    return difflib.get_close_matches(wanted[:60], FORMATS, n=2, cutoff=0.6)


def sized_format(width: int, height: int, rate: Fraction) -> VideoFormat:
    """Make a format with square pixels from a size and a rate.

    Parameters
    ----------
    width, height : int
        Columns and rows, 1..16384, and 67 million pixels at most.
    rate : Fraction
        Frames a second.

    Returns
    -------
    VideoFormat
        With the luma coefficients of BT.601 up to 1024 x 576, of BT.709 above
        (common practice).

    Raises
    ------
    SettingError
        If a side is out of range.
    """
    matrix: Matrix = "bt601" if width <= 1024 and height <= 576 else "bt709"
    name = f"{width}x{height}@{rate_name(rate)}"
    return VideoFormat(name, width, height, rate, Fraction(1), matrix)
