"""The chains of nodes that run as one pass, from codes to codes: all of them, in one table.

Each does what the plain evaluation does, within a code of 8 bits, and reads
sources or what another of them makes, band by band: an effect in an effect
costs what its parts cost. (Two deep: each rounds half a code.) What is not
found here is evaluated node by node.
"""

from __future__ import annotations

import threading
from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from keyer.kinds.arrays import AnyPlane
from keyer.kinds.picture import RgbPicture
from keyer.pixel.compose.codes import key_codes, mix_codes, wipe_codes
from keyer.render.between import Mix, Opacity, Wipe
from keyer.render.effect import Effect
from keyer.render.evaluate import Ready
from keyer.render.graph import Node
from keyer.render.keying import Key
from keyer.render.leaves import Source

Work = Callable[[int, int], None]
"""Works rows `top` to `bottom` out, into planes of its own knowledge."""


def bare(node: Node) -> Node:
    """Leave effects out that do nothing to their base."""
    while isinstance(node, Effect) and not node.layers and node.light == "video":
        if node.fade is not None:
            break
        if node.flat and not node.base.opaque:
            break
        node = node.base
    return node


def key_over(node: Node) -> tuple[Key, float, Node] | None:
    """Find the one fast key over a base that a picture may be: the key, its opacity, the base."""
    if not isinstance(node, Effect) or len(node.layers) != 1:
        return None
    if node.light != "video" or node.fade is not None:
        return None
    over, share = node.layers[0].node, 1.0
    if isinstance(over, Opacity):
        share = over.share
        over = over.of
    return (over, share, bare(node.base)) if isinstance(over, Key) else None


_DEEPEST = 3
"""Number of a pass within another; deeper, the roundings would add up to more than a code."""


class _Fed(NamedTuple):
    """Planes of codes that a pass reads, and the pass that fills a band of them first, if any."""

    planes: AnyPlane
    first: Work | None = None

    def fill(self, top: int, bottom: int) -> None:
        """Work a band out if it is not there yet."""
        if self.first is not None:
            self.first(top, bottom)


_kept = threading.local()


def _spare(shape: tuple[int, ...], depth: int) -> AnyPlane:
    """Planes of this thread for a pass within others, made once and used again."""
    held: dict[tuple[tuple[int, ...], int], AnyPlane] = vars(_kept).setdefault("planes", {})
    if (shape, depth) not in held:
        held[shape, depth] = np.empty(shape, np.uint8)
    return held[shape, depth]


def _codes(node: Node, ready: Ready, out: AnyPlane, depth: int = 0) -> _Fed | None:
    """Find the codes of a source that is stored as it is wanted, and opaque; or of another pass."""
    node = bare(node)
    if isinstance(node, Source):
        picture = ready.of(node)
        if not isinstance(picture, RgbPicture) or picture.alpha is not None:
            return None
        return _Fed(picture.planes) if picture.planes.dtype == out.dtype else None
    if out.dtype != np.uint8 or depth > _DEEPEST:
        return None
    within = _spare(out.shape, depth)
    work = _found(node, ready, within, depth + 1)
    return _Fed(within, work) if work is not None else None


def _copy(node: Node, ready: Ready, out: AnyPlane, depth: int) -> Work | None:
    codes = _codes(node, ready, out, depth) if isinstance(node, Source) else None
    if codes is None:
        return None

    def work(top: int, bottom: int) -> None:
        np.copyto(out[:, top:bottom], codes.planes[:, top:bottom])

    return work


def _key(node: Node, ready: Ready, out: AnyPlane, depth: int) -> Work | None:
    found = key_over(node)
    if found is None:
        return None
    key, share, base = found
    recorded = _codes(key.of, ready, out, 2 * depth) if isinstance(key.of, Source) else None
    under = _codes(base, ready, out, 2 * depth + 1)  # a key would magnify what codes round off
    if recorded is None or under is None:
        return None

    def work(top: int, bottom: int) -> None:
        under.fill(top, bottom)
        planes = recorded.planes, under.planes
        key_codes(*planes, key.settings, key.matrix, share, top, bottom, out)

    return work


def _mix(node: Node, ready: Ready, out: AnyPlane, depth: int) -> Work | None:
    if not isinstance(node, Mix) or node.kind == "non-additive":
        return None
    first, second = (
        _codes(part, ready, out, 2 * depth + which)
        for which, part in enumerate((node.first, node.second))
    )
    if first is None or second is None:
        return None

    def work(top: int, bottom: int) -> None:
        first.fill(top, bottom)
        second.fill(top, bottom)
        mix_codes(first.planes, second.planes, node.progress, top, bottom, out)

    return work


def _wipe(node: Node, ready: Ready, out: AnyPlane, depth: int) -> Work | None:
    if not isinstance(node, Wipe) or node.border is not None or node.light != "video":
        return None
    first, second = (
        _codes(part, ready, out, 2 * depth + which)
        for which, part in enumerate((node.first, node.second))
    )
    if first is None or second is None:
        return None
    now = ready.of(node)

    def work(top: int, bottom: int) -> None:
        first.fill(top, bottom)
        second.fill(top, bottom)
        wipe_codes(first.planes, second.planes, now, top, bottom, out)

    return work


PASSES: dict[str, Callable[[Node, Ready, AnyPlane, int], Work | None]] = {
    "copy": _copy,
    "key over a picture": _key,
    "mix": _mix,
    "wipe": _wipe,
}
"""By name; the first that fits is taken. All but the copy are for 8 bits."""


def one_pass(node: Node, ready: Ready, out: AnyPlane) -> Work | None:
    """Find the pass that works a picture out.

    Parameters
    ----------
    node : Node
        Opaque.
    ready : Ready
    out : (3, H, W)
        Planes to work it out into.

    Returns
    -------
    callable or None
        Given the first row and the row after the last; None: there is no such pass.
    """
    return _found(bare(node), ready, out, 1)


def _found(node: Node, ready: Ready, out: AnyPlane, depth: int) -> Work | None:
    """As `one_pass`; what is within counts its depth, so that no two share planes."""
    for name, find in PASSES.items():
        if name == "copy" or out.dtype == np.uint8:
            work = find(node, ready, out, depth)
            if work is not None:
                return work
    return None
