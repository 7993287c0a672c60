"""Transitions, keys and poses as the renderer takes them.

A transition of N frames: the N frames from its start on are the mixed ones,
frame i of them (from 0) at progress (i + 1) / (N + 1). The frame before is
purely the old picture and the frame after purely the new one (common practice;
the other convention counts the two pure frames as well).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

from keyer.kinds.field import Modifiers
from keyer.kinds.settings import Curve, Edge, Finish, Rgb, Shade
from keyer.kinds.timing import eased
from keyer.sheet.masks import Mask
from keyer.sheet.words import KeyKind, TransitionKind


@dataclass(frozen=True)
class Transition:
    """How one picture gives way to another.

    Attributes
    ----------
    kind : {"cut", "mix", "additive", "non-additive", "fade", "wipe"}
    length : int
        Number of mixed frames; 0 for a cut.
    curve : {"linear", "ease-in", "ease-out", "ease"}
    colour : tuple of three floats
        Colour of a fade, or of a pattern that fades.
    pattern : str or int
        Of a wipe, as written.
    edge : Edge
        Of a wipe.
    modifiers : Modifiers
        Of a wipe.
    border_source : str or None
        Name of the source that fills a wipe's border.
    rest : tuple of float and int, or None
        Progress at which it is held, and for how many of its frames.
    """

    kind: TransitionKind = "cut"
    length: int = 0
    curve: Curve = "linear"
    colour: Rgb = (0.0, 0.0, 0.0)
    pattern: str | int = ""
    edge: Edge = field(default_factory=Edge)
    modifiers: Modifiers = field(default_factory=Modifiers)
    border_source: str | None = None
    rest: tuple[float, int] | None = None

    def progress(self, index: int) -> float:
        """Progress of a mixed frame, with the curve; a wipe's own start and end left aside.

        Parameters
        ----------
        index : int
            0 is the first mixed frame.

        Returns
        -------
        float
            0 before the first mixed frame, 1 after the last.
        """
        if index < 0:
            return 0.0
        if index >= self.length:
            return 1.0
        if self.rest is None:
            return eased(self.curve, (index + 1) / (self.length + 1))
        at, frames = self.rest
        moving = [
            eased(self.curve, (step + 1) / (self.length - frames + 1))
            for step in range(self.length - frames)
        ]
        before = sum(progress < at for progress in moving)
        if before <= index < before + frames:
            return at
        return moving[index if index < before else index - frames]


CUT = Transition()


@dataclass(frozen=True)
class WholeFade:
    """A sheet that comes up out of a colour as a whole, or goes to one.

    Attributes
    ----------
    length : int
        Frames, the one that is the colour alone among them.
    colour : tuple of three floats
    curve : {"linear", "ease-in", "ease-out", "ease"}
    """

    length: int
    colour: Rgb = (0.0, 0.0, 0.0)
    curve: Curve = "linear"


@dataclass(frozen=True)
class Key:
    """How an overlay is keyed; None where the picture decides.

    Attributes
    ----------
    kind : {"chroma", "luminance", "linear"}
    quality : {"fast", "fine"}
    hue : float or str
        Degrees, "auto", "green" or "blue".
    acceptance_deg, clip_percent, gain : float or None
    spill_percent : float
    invert : bool
    source : str or None
        Source of the key signal, where it is not the overlay's own.
    channel : {"luma", "alpha"}
    garbage, hold : tuple of Mask
        Where the matte is clear, and where it is solid.
    finish : Finish
    shade : Shade
        Of a chroma key.
    clean_plate : str or None
        Source that shows the empty backing, of a fine chroma key.
    sample : tuple of four floats, or None
        What is backing for certain: left, top, width and height in percent of the picture.
    """

    kind: KeyKind
    quality: Literal["fast", "fine"] = "fast"
    hue: float | str = "auto"
    acceptance_deg: float | None = None
    clip_percent: float | None = None
    gain: float | None = None
    spill_percent: float = 100.0
    invert: bool = False
    source: str | None = None
    channel: Literal["luma", "alpha"] = "luma"
    garbage: tuple[Mask, ...] = ()
    hold: tuple[Mask, ...] = ()
    finish: Finish = field(default_factory=Finish)
    shade: Shade = field(default_factory=Shade)
    clean_plate: str | None = None
    sample: tuple[float, float, float, float] | None = None

    @property
    def sources(self) -> tuple[str, ...]:
        """Names of the sources that the key looks at beside the overlay's own."""
        masks = (mask.source for mask in (*self.garbage, *self.hold))
        return tuple(name for name in (self.source, self.clean_plate, *masks) if name)

    @property
    def way(self) -> Literal["fast", "fine", "level"]:
        """What makes the matte: a fast or a fine chroma key, or the level of a picture."""
        return self.quality if self.kind == "chroma" else "level"

    @property
    def plain(self) -> bool:
        """Whether nothing is done to the matte after the key."""
        by_hand = self.garbage or self.hold or self.finish != Finish()
        return not by_hand and self.shade.strength_percent == 0

    def misfits(self) -> dict[str, str]:
        """Say what a chroma key of this quality cannot take, by the setting's name."""
        found: dict[str, str] = {}
        if self.kind != "chroma":
            return found
        if self.quality == "fast":
            if self.clean_plate is not None:
                found["clean_plate"] = "needs quality fine: a fast key knows one colour of backing."
            return found
        if self.acceptance_deg is not None:
            found["acceptance"] = (
                "needs quality fast: a fine key knows the backing at every pixel, not by an angle."
            )
        if self.gain is not None and self.gain < 1:
            found["gain"] = (
                f"must be 1 or more for a fine key, got {self.gain:g}: less makes all of the "
                "subject see-through. Use opacity for that."
            )
        return found


@dataclass(frozen=True)
class Pose:
    """Position, scale, turn and opacity of an overlay at one frame.

    Attributes
    ----------
    x, y : float
        Its middle, percent of picture width and height from left and top.
    scale : float
        Percent.
    opacity : float
        0..1.
    turn : float
        Degrees clockwise about its middle.
    """

    x: float = 50.0
    y: float = 50.0
    scale: float = 100.0
    opacity: float = 1.0
    turn: float = 0.0


@dataclass(frozen=True)
class Keyframe:
    """A pose at a time; `at` counts from the overlay's in."""

    at: int
    pose: Pose
    curve: Curve = "linear"


def between(first: Pose, second: Pose, share: float) -> Pose:
    """Find the pose a share of the way from one to another."""

    def part(a: float, b: float) -> float:
        return a + (b - a) * share

    return Pose(
        part(first.x, second.x),
        part(first.y, second.y),
        part(first.scale, second.scale),
        part(first.opacity, second.opacity),
        part(first.turn, second.turn),
    )
