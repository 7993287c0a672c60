"""One picture giving way to another: mixes, wipes, moves.

`mixed`, `wiped` and `moved` make the nodes, and leave out what is not seen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from keyer.kinds.arrays import Planes
from keyer.kinds.field import Geometry, Modifiers, Pattern
from keyer.kinds.settings import Edge, Light, MixKind
from keyer.pixel.compose.mix import mix_band, mix_with, toward_colour
from keyer.pixel.compose.move import MoveKind, Side, moved_parts
from keyer.pixel.compose.over import scale_band
from keyer.pixel.kernels.scratch import give, take
from keyer.pixel.wipes.wipe import WipeState, border_fill, weigh_band, wipe_band, wipe_state
from keyer.render.evaluate import Ready
from keyer.render.fields import held_field
from keyer.render.graph import Alpha, Box, Node, OfOne, Rows
from keyer.render.leaves import Clear, Colour


def ones(box: Box) -> Alpha:
    """Make the alpha of a part that is opaque."""
    alpha: Alpha = take(1, box.rows, box.width)[0]
    alpha.fill(1)
    return alpha


def _alike(first: Rows, second: Rows, box: Box) -> tuple[Rows, Rows]:
    """Give both pictures an alpha if one of them has it."""
    if first.alpha is None and second.alpha is None:
        return first, second
    return (
        Rows(first.planes, ones(box) if first.alpha is None else first.alpha),
        Rows(second.planes, ones(box) if second.alpha is None else second.alpha),
    )


class _Between(Node):
    """A node between two pictures of one size."""

    first: Node
    second: Node

    @property
    def width(self) -> int:  # type: ignore[override]  # of either
        """Columns."""
        return self.second.width

    @property
    def height(self) -> int:  # type: ignore[override]
        """Rows."""
        return self.second.height

    @property
    def opaque(self) -> bool:  # type: ignore[override]
        """Whether both pictures are opaque."""
        return self.first.opaque and self.second.opaque

    def seen(self, top: int, bottom: int, ready: Ready, faint: float) -> tuple[int, int]:
        """Return the columns on which either picture is seen."""
        return joined(*(part.seen(top, bottom, ready, faint) for part in (self.first, self.second)))


def joined(*spans: tuple[int, int]) -> tuple[int, int]:
    """Return the smallest span that holds several spans of columns."""
    some = [span for span in spans if span[0] < span[1]]
    return (min(left for left, _ in some), max(right for _, right in some)) if some else (0, 0)


@dataclass(frozen=True, eq=False)
class Mix(_Between):
    """Two pictures weighed against each other; progress 0 is the first, 1 the second."""

    first: Node
    second: Node
    progress: float
    kind: MixKind = "mix"

    def rows(self, box: Box, ready: Ready) -> Rows | None:
        """Return rows of the mix."""
        first = ready.drawn(self.first, box)
        if isinstance(self.second, Colour) and self.kind != "non-additive":
            toward_colour(first.planes, self.second.rgb, self.progress)
            if first.alpha is not None:
                mix_with(first.alpha[np.newaxis], 1.0, self.progress)
            return first
        first, second = _alike(first, ready.drawn(self.second, box), box)
        mix_band(first.planes, second.planes, self.progress, self.kind)
        if first.alpha is not None and second.alpha is not None:
            mix_band(first.alpha[np.newaxis], second.alpha[np.newaxis], self.progress, self.kind)
        give(second.planes)
        give(second.alpha)
        return first


@dataclass(frozen=True, eq=False)
class Wipe(_Between):
    """A pattern that uncovers the second picture.

    Attributes
    ----------
    first, second : Node
    progress : float
    pattern : Pattern
    modifiers : Modifiers
    edge : Edge
    pixel_aspect : float
    seconds : float
        Time since the wipe began; moves a modulated edge.
    border : Node or None
        A picture that fills the border instead of its colours.
    light : {"video", "linear"}
        What the pictures hold, for the border's colours.
    within : bool
        Whether the second picture alone is uncovered, for what lies over
        others: there is no first, and a border only where the second is.
    """

    first: Node
    second: Node
    progress: float
    pattern: Pattern
    modifiers: Modifiers
    edge: Edge
    pixel_aspect: float = 1.0
    seconds: float = 0.0
    border: Node | None = None
    light: Light = "video"
    within: bool = False

    shared = True
    wide = True

    @property
    def opaque(self) -> bool:  # type: ignore[override]
        """Whether both are, and what fills the border."""
        border = self.border is None or self.border.opaque
        return self.first.opaque and self.second.opaque and border

    def prepare(self, ready: Ready) -> WipeState:  # noqa: ARG002  it looks at no picture
        """Find where the wipe's boundary lies."""
        geometry = Geometry(self.width, self.height, self.pixel_aspect)
        field = held_field(self.pattern, geometry, self.modifiers)
        return wipe_state(field, self.edge, self.progress, self.seconds, light=self.light)

    def rows(self, box: Box, ready: Ready) -> Rows | None:
        """Return rows of the wipe."""
        now: WipeState = ready.of(self)
        if self.within:
            return self._uncovered(now, box, ready)
        first, second = ready.drawn(self.first, box), ready.drawn(self.second, box)
        third = ready.drawn(self.border, box) if self.border is not None else None
        first, second = _alike(first, second, box)
        if first.alpha is None and third is not None and third.alpha is not None:
            first, second = Rows(first.planes, ones(box)), Rows(second.planes, ones(box))
        wipe_band(first.planes, second.planes, now, box.top, third.planes if third else None)
        if first.alpha is not None and second.alpha is not None:
            edge = ones(box) if third is None or third.alpha is None else third.alpha
            wipe_band(
                first.alpha[np.newaxis], second.alpha[np.newaxis], now, box.top, edge[np.newaxis]
            )
            give(edge)
        for used in (second.planes, second.alpha, third and third.planes):
            give(used)
        return first

    def seen(self, top: int, bottom: int, ready: Ready, faint: float) -> tuple[int, int]:
        """Columns of either, and all of them where a border lies between what is clear as well."""
        if self.edge.border > 0 and not self.within:
            return 0, self.width
        return super().seen(top, bottom, ready, faint)

    def _uncovered(self, now: WipeState, box: Box, ready: Ready) -> Rows | None:
        found = ready.rows(self.second, box)
        if found is None:
            return None
        planes, alpha = found.planes, ones(box) if found.alpha is None else found.alpha
        weights = take(2, box.rows, box.width)
        hidden, shown = weights
        ramp = weigh_band(now, box.top, hidden, shown)
        planes *= shown
        if now.border > 0:
            third = ready.drawn(self.border, box) if self.border is not None else None
            fill: Planes = border_fill(now, ramp) if third is None else third.planes
            planes += alpha * (1 - hidden - shown) * fill
            give(third and third.planes)
        alpha *= 1 - hidden
        give(weights)
        return Rows(planes, alpha)


@dataclass(frozen=True, eq=False)
class Move(_Between):
    """The second picture pushes the first one out, or slides in over it, by whole pixels.

    Attributes
    ----------
    first, second : Node
    progress : float
    kind : {"push", "slide"}
    side : {"left", "top", "right", "bottom"}
        Where the second picture comes in.
    """

    first: Node
    second: Node
    progress: float
    kind: MoveKind
    side: Side

    wide = True

    def rows(self, box: Box, ready: Ready) -> Rows | None:
        """Put rows together from the parts of both."""
        planes = take(3, box.rows, box.width)
        alpha = None if self.opaque else take(1, box.rows, box.width)[0]
        size = self.width, self.height
        for part in moved_parts(self.kind, self.side, self.progress, *size, (box.top, box.bottom)):
            node = self.second if part.of_b else self.first
            across, down = part.from_columns, part.from_rows
            found = ready.drawn(node, Box(0, down.start, self.width, down.stop))
            planes[:, part.rows, part.columns] = found.planes[:, :, across]
            if alpha is not None:
                whole = found.alpha is None
                alpha[part.rows, part.columns] = 1 if whole else found.alpha[:, across]  # type: ignore[index]
            give(found.planes)
            give(found.alpha)
        return Rows(planes, alpha)

    def seen(self, top: int, bottom: int, ready: Ready, faint: float) -> tuple[int, int]:  # noqa: ARG002
        """All columns: what they hold moves."""
        return 0, self.width


@dataclass(frozen=True, eq=False)
class Opacity(OfOne):
    """A picture that is partly there.

    Attributes
    ----------
    of : Node
    share : float
        0..1.
    """

    of: Node
    share: float

    def rows(self, box: Box, ready: Ready) -> Rows | None:
        """Return rows with their opacity scaled."""
        found = ready.rows(self.of, box)
        if found is None:
            return None
        alpha = ones(box) if found.alpha is None else found.alpha
        scale_band(found.planes, self.share)
        scale_band(alpha[np.newaxis], self.share)
        return Rows(found.planes, alpha)

    def seen(self, top: int, bottom: int, ready: Ready, faint: float) -> tuple[int, int]:
        """Columns of the picture."""
        return self.of.seen(top, bottom, ready, faint)


def mixed(first: Node, second: Node, progress: float, kind: MixKind = "mix") -> Node:
    """Mix two pictures, if both are seen and neither is nothing."""
    if progress <= 0 or progress >= 1:
        return first if progress <= 0 else second
    if isinstance(first, Clear):
        return there(second, progress)
    if isinstance(second, Clear):
        return there(first, 1.0 - progress)
    return Mix(first, second, float(progress), kind)


def faded(first: Node, second: Node, progress: float, colour: Node, part: str = "through") -> Node:
    """Let a picture turn into a colour, or come up out of one, or both.

    Parameters
    ----------
    first, second : Node
    progress : float
    colour : Node
    part : {"through", "to", "from"}
        `through`: from the first picture to the colour and from the colour to
        the second, half of the time each. `to`: the first picture goes all the
        time, and the second is there at the end. `from`: the second comes all
        the time, and the first is gone at once.
    """
    if progress <= 0:
        return first
    if progress >= 1:
        return second
    if part == "to":
        return mixed(first, colour, progress)
    if part == "from":
        return mixed(second, colour, 1.0 - progress)
    half = first if progress <= 0.5 else second
    return mixed(half, colour, 1.0 - abs(1.0 - 2.0 * progress))


def wiped(first: Node, second: Node, progress: float, **settings: Any) -> Node:
    """Wipe from one picture to another, if both are seen; a wipe may start late and end early."""
    reached = settings["modifiers"].progress(progress)
    if reached <= 0:
        return first
    return second if reached >= 1 else Wipe(first, second, float(progress), **settings)


def moved(first: Node, second: Node, progress: float, kind: MoveKind, side: Side) -> Node:
    """Move one picture against another, if both are seen."""
    if progress <= 0:
        return first
    return second if progress >= 1 else Move(first, second, float(progress), kind, side)


def there(node: Node, share: float) -> Node:
    """Make a picture partly there, or not at all."""
    if share >= 1:
        return node
    if isinstance(node, Opacity):
        share = node.share * share
        node = node.of
    return Opacity(node, float(share)) if share > 0 else Clear(node.width, node.height)


def black(node: Node) -> Colour:
    """Make black of a picture's size."""
    return Colour((0.0, 0.0, 0.0), node.width, node.height)
