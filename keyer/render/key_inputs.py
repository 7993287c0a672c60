"""What `keyer key` is given beside the two pictures: masks, a clean plate, a picked area."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from keyer.errors import SettingError
from keyer.kinds.formats import VideoFormat
from keyer.pixel.compose.fit import placement
from keyer.sheet.effect import Key
from keyer.sheet.masks import FAR, Mask

Area = tuple[int, int, int, int]

_SHAPE = 0.01
"""Share by which the shape of a mask may be off that of the foreground: rounding."""


@dataclass(frozen=True)
class KeyInputs:
    """Pictures and masks of a key, as `keyer key` is given them.

    Attributes
    ----------
    garbage, hold : sequence of Mask or Path
        Shapes in percent of the foreground as it is in its file, and pictures whose white is
        masked; these are fitted as the foreground is.
    clean_plate : Path or None
        Picture of the empty backing.
    sample : (x, y, width, height) or None
        What is backing for certain, in pixels of the foreground's file.
    """

    garbage: Sequence[Mask | Path] = ()
    hold: Sequence[Mask | Path] = ()
    clean_plate: Path | None = None
    sample: Area | None = None

    def files(self) -> dict[str, Path]:
        """Name the files among them as a sheet names its sources."""
        found = {
            f"{name} {index}": item
            for name, items in (("garbage", self.garbage), ("hold", self.hold))
            for index, item in enumerate(items)
            if isinstance(item, Path)
        }
        if self.clean_plate is not None:
            found["clean plate"] = self.clean_plate
        return found

    def added_to(self, key: Key, foreground: VideoFormat, video: VideoFormat) -> Key:
        """Work them into a key.

        Parameters
        ----------
        key : Key
        foreground : VideoFormat
            Of the file to be keyed.
        video : VideoFormat
            Of the output, which the foreground is fitted to.

        Raises
        ------
        SettingError
            If the sample lies outside the picture, or a setting does not go with the quality.
        """
        asked = replace(
            key,
            garbage=_masks("garbage", self.garbage, foreground, video),
            hold=_masks("hold", self.hold, foreground, video),
            clean_plate=None if self.clean_plate is None else "clean plate",
            sample=None if self.sample is None else _percent(self.sample, foreground, video),
        )
        for name, message in asked.misfits().items():
            msg = f"{name.replace('_', '-')} {message}"
            raise SettingError(msg)
        return asked


def refuse_other_shape(name: str, beside: VideoFormat, foreground: VideoFormat) -> None:
    """Refuse a mask or a clean plate that does not lie on the foreground point by point.

    Parameters
    ----------
    name : str
        What it is, for the message.
    beside, foreground : VideoFormat

    Raises
    ------
    SettingError
        If the shape of its picture is more than a percent off that of the foreground.
    """
    if abs(beside.display_aspect / foreground.display_aspect - 1) > _SHAPE:
        msg = (
            f"{name} must have the shape of the foreground, {foreground.width} x "
            f"{foreground.height}, got {beside.width} x {beside.height}. Make it from that."
        )
        raise SettingError(msg)


def _shown(foreground: VideoFormat, video: VideoFormat) -> Area:
    """Find the part of the foreground's file that the output shows, in its pixels."""
    relative = foreground.pixel_aspect / video.pixel_aspect
    sizes = foreground.width, foreground.height, video.width, video.height
    return placement(*sizes, relative, "cover").crop


def _masks(
    name: str, items: Sequence[Mask | Path], foreground: VideoFormat, video: VideoFormat
) -> tuple[Mask, ...]:
    return tuple(
        Mask(source=f"{name} {index}")
        if isinstance(item, Path)
        else _moved(item, foreground, _shown(foreground, video))
        for index, item in enumerate(items)
    )


def _moved(mask: Mask, foreground: VideoFormat, shown: Area) -> Mask:
    """Count a shape, in percent of the foreground's file, in percent of the part that is shown."""
    x, y, columns, rows = shown
    if (columns, rows) == (foreground.width, foreground.height):
        return mask
    sides = ((foreground.width, x, columns), (foreground.height, y, rows))
    numbers = []
    for index, number in enumerate(mask.numbers):
        whole, first, part = sides[index % 2]
        size = mask.shape != "polygon" and index > 1
        moved = (number * whole / 100 - (0 if size else first)) * 100 / part
        numbers.append(min(max(moved, -FAR), FAR))
    return replace(
        mask, numbers=tuple(numbers), soft=min(mask.soft * foreground.height / rows, 100)
    )


def _percent(
    sample: Area, foreground: VideoFormat, video: VideoFormat
) -> tuple[float, float, float, float]:
    """Turn an area of the file into percent of the picture as it is fitted and keyed."""
    left, top, width, height = sample
    inside = left >= 0 and top >= 0 and left + width <= foreground.width
    if not inside or min(width, height) < 1 or top + height > foreground.height:
        msg = (
            f"sample must lie inside the picture of {foreground.width} x {foreground.height}"
            f" pixels, got {left},{top},{width},{height} (x, y, width, height)."
        )
        raise SettingError(msg)
    x, y, columns, rows = _shown(foreground, video)
    right, bottom = min(left + width, x + columns), min(top + height, y + rows)
    left, top = max(left, x), max(top, y)
    if right <= left or bottom <= top:
        msg = "sample must lie in the part of the picture that the output shows. Choose another."
        raise SettingError(msg)
    across, down = 100 / columns, 100 / rows
    size = (right - left) * across, (bottom - top) * down
    return (left - x) * across, (top - y) * down, *size
