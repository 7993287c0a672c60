"""What one frame is made of: the plan's last word, and all that the composer sees.

Pictures here already have the output's size. A frame is a base (one source, or
two with an effect between them) and overlays in order.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from keyer.kinds.field import Field
from keyer.kinds.picture import Picture
from keyer.kinds.settings import Edge, KeySettings, Light, MixKind, Rgb
from keyer.pixel.move import MoveKind, Side


@dataclass(frozen=True)
class Mix:
    """Two pictures mixed over the whole frame."""

    kind: MixKind = "mix"


@dataclass(frozen=True)
class Fade:
    """A picture that turns into a colour, or comes up out of one, or both.

    Attributes
    ----------
    colour : tuple of three floats
    part : {"through", "to", "from"}
        `through`: from the first picture to the colour and from the colour to
        the second, half of the time each. `to`: the first picture goes all the
        time, and the second is there at the end. `from`: the second comes all
        the time, and the first is gone at once.
    """

    colour: Rgb = (0.0, 0.0, 0.0)
    part: Literal["through", "to", "from"] = "through"


@dataclass(frozen=True)
class Move:
    """The second picture pushes the first one out, or slides in over it.

    Attributes
    ----------
    kind : {"push", "slide"}
    side : {"left", "top", "right", "bottom"}
        Where the second picture comes in.
    """

    kind: MoveKind
    side: Side


@dataclass(frozen=True, eq=False)
class Wipe:
    """A pattern that uncovers the second picture.

    Attributes
    ----------
    field : Field
    edge : Edge
    seconds : float
        Time since the wipe began; moves a modulated edge.
    border : Picture or None
        A third picture that fills the border instead of its colours.
    """

    field: Field
    edge: Edge
    seconds: float = 0.0
    border: Picture | None = None


Effect = Mix | Fade | Move | Wipe


@dataclass(frozen=True, eq=False)
class Base:
    """One source, or two with an effect between them.

    Attributes
    ----------
    first : Picture
    second : Picture or None
        None: `first` alone.
    effect : Mix, Fade, Move or Wipe
    progress : float
        0 is `first`, 1 is `second`.
    """

    first: Picture
    second: Picture | None = None
    effect: Effect = field(default_factory=Mix)
    progress: float = 0.0

    @property
    def reached(self) -> float:
        """Progress of the effect itself: a wipe may start late and end early."""
        if isinstance(self.effect, Wipe):
            return self.effect.field.modifiers.progress(self.progress)
        return self.progress


@dataclass(frozen=True, eq=False)
class Reveal:
    """A wipe or slide that brings an overlay in or takes it out; progress 1 is fully there."""

    effect: Wipe | Move
    progress: float


@dataclass(frozen=True, eq=False)
class Keyed:
    """A source laid over through a fast chroma key."""

    picture: Picture
    settings: KeySettings
    opacity: float = 1.0
    reveal: Reveal | None = None


@dataclass(frozen=True, eq=False)
class Matted:
    """A premultiplied subject with its matte at hand, laid over.

    Attributes
    ----------
    fill : (3, H, W) float32
        Premultiplied.
    matte : (H, W) float32
    opacity : float
    reveal : Reveal or None
    shade : (H, W) float32, or None
        Share of the level of what lies below that the subject's shadows take away.
    """

    fill: NDArray[np.float32]
    matte: NDArray[np.float32]
    opacity: float = 1.0
    reveal: Reveal | None = None
    shade: NDArray[np.float32] | None = None

    def cover(self, rows: slice = slice(None)) -> NDArray[np.float32]:
        """Share that subject and shadow together hide of what lies below: a shadow is black."""
        matte = self.matte[rows]
        return matte if self.shade is None else matte + (1 - matte) * self.shade[rows]


@dataclass(frozen=True, eq=False)
class Laid:
    """A picture laid over through its own alpha.

    Attributes
    ----------
    picture : Picture
        Of the frame's size, or smaller; a smaller one lies wholly inside.
    opacity : float
    reveal : Reveal or None
    left, top : int
        Where a smaller picture lies.
    """

    picture: Picture
    opacity: float = 1.0
    reveal: Reveal | None = None
    left: int = 0
    top: int = 0


Overlay = Keyed | Matted | Laid


@dataclass(frozen=True, eq=False)
class Frame:
    """One frame, ready to compose."""

    base: Base
    overlays: tuple[Overlay, ...] = ()
    light: Light = "video"
