"""Masks of a key as the renderer takes them: shapes in percent of the picture, or sources."""

from __future__ import annotations

from dataclasses import dataclass

from keyer.errors import SettingError
from keyer.kinds.ranges import in_range, one_of
from keyer.kinds.settings import Curve
from keyer.kinds.timing import eased
from keyer.pixel.mattes.masks import Ellipse, Polygon, Rectangle, Shape

SHAPES = ("rectangle", "ellipse", "polygon")

FAR = 1000.0
"""Percent of the picture up to which a mask may reach."""


@dataclass(frozen=True)
class MaskKeyframe:
    """The numbers of a mask's shape at a time; `at` counts from the overlay's in."""

    at: int
    numbers: tuple[float, ...]
    curve: Curve = "linear"


@dataclass(frozen=True)
class Mask:
    """A part of the picture that a key decides by hand.

    Attributes
    ----------
    shape : str
        One of `SHAPES`; empty for a source.
    numbers : tuple of float
        Percent of picture width and height, by turns. Rectangle: left, top,
        width, height. Ellipse: the middle, then width and height. Polygon:
        x and y of each corner.
    soft : float
        Width of the soft edge of a shape, percent of picture height.
    source : str
        Name of a source whose picture is the mask, white being masked.
    moves : tuple of MaskKeyframe
        Shapes at times, in order, each with as many numbers; empty: it stands.

    Raises
    ------
    SettingError
        If the numbers are too few or too far.
    """

    shape: str = ""
    numbers: tuple[float, ...] = ()
    soft: float = 0.0
    source: str = ""
    moves: tuple[MaskKeyframe, ...] = ()

    def at(self, local: int) -> Mask:
        """Give the shape at a frame, counted from where its overlay comes on air."""
        before: MaskKeyframe | None = None
        for after in self.moves:
            if after.at > local:
                if before is None:
                    break
                share = eased(before.curve, (local - before.at) / (after.at - before.at))
                pairs = zip(before.numbers, after.numbers, strict=True)
                numbers = tuple(one + (other - one) * share for one, other in pairs)
                return Mask(self.shape, numbers, self.soft)
            before = after
        if before is None:
            return Mask(self.shape, self.numbers, self.soft, self.source)
        return Mask(self.shape, before.numbers, self.soft)

    def __post_init__(self) -> None:
        if not self.shape:
            return
        one_of("mask", self.shape, SHAPES)
        self._count()
        for index, number in enumerate(self.numbers):
            size = self.shape != "polygon" and index > 1
            in_range(self.shape, number, 0 if size else -FAR, FAR, "It is in percent.")
        in_range("soft", self.soft, 0, 100, "It is in percent of the picture height.")

    def _count(self) -> None:
        count = len(self.numbers)
        if self.shape == "polygon":
            if count < 6 or count % 2:
                demand = f"must have x and y of three corners or more, got {count} numbers."
                raise SettingError(demand, "polygon")
        elif count != 4:
            where = "left, top" if self.shape == "rectangle" else "the middle's x and y"
            msg = f"{self.shape} must be {where}, width and height, got {count} numbers."
            raise SettingError(msg)

    def drawn(self, width: int, height: int) -> Shape:
        """Turn a shape into pixels.

        Parameters
        ----------
        width, height : int
            Of the picture.

        Returns
        -------
        Rectangle, Ellipse or Polygon
        """
        across, down = width / 100, height / 100
        pixels = [
            number * (across if index % 2 == 0 else down)
            for index, number in enumerate(self.numbers)
        ]
        soft = self.soft * down
        if self.shape == "polygon":
            return Polygon(tuple(zip(pixels[::2], pixels[1::2], strict=True)), soft)
        x, y, wide, high = pixels
        return (Rectangle if self.shape == "rectangle" else Ellipse)(x, y, wide, high, soft)
