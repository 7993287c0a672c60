"""A source as the renderer takes it: what it is, which frames of it are used, and how it runs."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING

from keyer.errors import TimeError
from keyer.kinds.settings import Correction, Rgb
from keyer.kinds.timing import parse_time
from keyer.sheet.words import Fit

if TYPE_CHECKING:
    from keyer.sheet.sheet import Sheet


@dataclass(frozen=True)
class File:
    """A still, a clip or a numbered sequence.

    Attributes
    ----------
    path : Path
        Where it is.
    written : str
        How the sheet names it, from the sheet's folder.
    """

    path: Path
    written: str = field(default="", compare=False)


@dataclass(frozen=True)
class Title:
    """Lettering made from a title design or a page.

    Attributes
    ----------
    design : Path or None
        A title design; None for a page.
    store : Path
        Where pages are kept.
    page : int or None
    fields : tuple of (name, text)
    allow_flash : bool
    within : Path or None
        The folder that its files must lie in; None: they may lie anywhere.
    folder : Path
        The sheet's, from which pictures are found that fields name.
    """

    design: Path | None
    store: Path
    page: int | None = None
    fields: tuple[tuple[str, str], ...] = ()
    allow_flash: bool = False
    within: Path | None = field(default=None, compare=False)
    folder: Path = field(default=Path(), compare=False)


@dataclass(frozen=True)
class PlainColour:
    """One colour all over."""

    rgb: Rgb


@dataclass(frozen=True)
class Gradient:
    """Two colours, one turning into the other; `angle_deg` 0 to the right, 90 down."""

    first: Rgb
    second: Rgb
    angle_deg: float


@dataclass(frozen=True)
class Bars:
    """Colour bars of 75 or 100 percent."""

    percent: int


@dataclass(frozen=True)
class Ramp:
    """Black to white from left to right."""


@dataclass(frozen=True)
class Checkerboard:
    """Squares in two colours, `squares` of them from top to bottom."""

    first: Rgb
    second: Rgb
    squares: int


@dataclass(frozen=True)
class Clear:
    """Nothing: black, and clear where opacity is kept."""


@dataclass(frozen=True)
class Background:
    """A moving background.

    Attributes
    ----------
    look : str
        Its name, as written.
    colours : tuple of R'G'B', or None
    soft : float or None
        Percent.
    drift : int or None
        None of these: as the look has it.
    seed : int
    loop : int
        Frames of the sheet in one loop; 0: a still.
    """

    look: str
    colours: tuple[Rgb, ...] | None = None
    soft: float | None = None
    drift: int | None = None
    seed: int = 0
    loop: int = 0


@dataclass(frozen=True)
class EffectOf:
    """One of the sheet's own effects, by its name."""

    effect: str


@dataclass(frozen=True)
class OtherSheet:
    """A sheet in another file.

    Attributes
    ----------
    file : File
    digest : str
        Of what it says, its variables filled in.
    sheet : Sheet
    """

    file: File
    digest: str
    sheet: Sheet = field(compare=False, repr=False)


Content = (
    File
    | Title
    | Background
    | EffectOf
    | OtherSheet
    | PlainColour
    | Gradient
    | Bars
    | Ramp
    | Checkerboard
    | Clear
)


@dataclass(frozen=True)
class Source:
    """A picture that cues and overlays can show.

    Attributes
    ----------
    name : str
    content : Content
    fit : {"cover", "contain", "fill", "none"}
    trim : tuple of two times or None
        In and out as written; see `window`.
    at : int or None
        Sheet frame at which the in-frame is due; None: when it comes on air.
    speed : Fraction
    loop, freeze : bool
    keep : tuple of two floats
        Point of a picture that stays in view where `fit` crops, percent.
    correction : Correction
    match : str or None
        Source whose levels and chroma its correction is chosen by.
    """

    name: str
    content: Content
    fit: Fit = "cover"
    trim: tuple[int | float | str | None, int | float | str | None] = (None, None)
    at: int | None = None
    speed: Fraction = Fraction(1)
    loop: bool = False
    freeze: bool = False
    keep: tuple[float, float] = (50.0, 50.0)
    correction: Correction = field(default_factory=Correction)
    match: str | None = None

    def window(self, rate: Fraction, frames: int) -> tuple[int, int]:
        """Find the frames of a clip that are used.

        Parameters
        ----------
        rate : Fraction
            The clip's own rate.
        frames : int
            The clip's length.

        Returns
        -------
        first, end : int
            `end` is the first frame no longer used.

        Raises
        ------
        TimeError
            If a time cannot be read at that rate or lies outside the clip.
        """
        first = 0 if self.trim[0] is None else parse_time(self.trim[0], rate, "in")
        end = frames if self.trim[1] is None else parse_time(self.trim[1], rate, "out")
        if not 0 <= first < end <= frames:
            msg = (
                f"in and out must lie in order within the clip's {frames} frames, "
                f"got {first} and {end}."
            )
            raise TimeError(msg)
        return first, end
