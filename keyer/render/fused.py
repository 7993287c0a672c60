"""The chains of nodes that run as one pass, from codes to codes: all of them, in one table.

Each does what the plain evaluation does, within a code of 8 bits. What is not
found here is evaluated node by node.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from keyer.kinds.picture import Plane, RgbPicture
from keyer.kinds.settings import KeySettings
from keyer.pixel.codes import key_codes, mix_codes, wipe_codes
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


def _codes(node: Node, ready: Ready, depth: Any) -> Plane | None:
    """Planes of a source that is stored as it is wanted, and opaque."""
    node = bare(node)
    picture = ready.of(node) if isinstance(node, Source) else None
    if not isinstance(picture, RgbPicture) or picture.alpha is not None:
        return None
    return picture.planes if picture.planes.dtype == np.dtype(depth) else None


def _copy(node: Node, ready: Ready, out: Plane) -> Work | None:
    codes = _codes(node, ready, out.dtype)
    if codes is None:
        return None

    def work(top: int, bottom: int) -> None:
        np.copyto(out[:, top:bottom], codes[:, top:bottom])

    return work


def _key(node: Node, ready: Ready, out: Plane) -> Work | None:
    found = key_over(node)
    if found is None:
        return None
    key, share, base = found
    recorded, under = _codes(key.of, ready, np.uint8), _codes(base, ready, np.uint8)
    if recorded is None or under is None:
        return None
    settings: KeySettings = key.settings
    return lambda top, bottom: key_codes(
        recorded, under, settings, key.matrix, share, top, bottom, out
    )


def _mix(node: Node, ready: Ready, out: Plane) -> Work | None:
    if not isinstance(node, Mix) or node.kind == "non-additive":
        return None
    first, second = _codes(node.first, ready, np.uint8), _codes(node.second, ready, np.uint8)
    if first is None or second is None:
        return None
    return lambda top, bottom: mix_codes(first, second, node.progress, top, bottom, out)


def _wipe(node: Node, ready: Ready, out: Plane) -> Work | None:
    if not isinstance(node, Wipe) or node.border is not None or node.light != "video":
        return None
    first, second = _codes(node.first, ready, np.uint8), _codes(node.second, ready, np.uint8)
    if first is None or second is None:
        return None
    now = ready.of(node)
    return lambda top, bottom: wipe_codes(first, second, now, top, bottom, out)


PASSES: dict[str, Callable[[Node, Ready, Plane], Work | None]] = {
    "copy": _copy,
    "key over a picture": _key,
    "mix": _mix,
    "wipe": _wipe,
}
"""By name; the first that fits is taken. All but the copy are for 8 bits."""


def one_pass(node: Node, ready: Ready, out: Plane) -> Work | None:
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
    node = bare(node)
    for name, find in PASSES.items():
        if name == "copy" or out.dtype == np.uint8:
            work = find(node, ready, out)
            if work is not None:
                return work
    return None
