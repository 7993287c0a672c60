"""A picture corrected: its levels, its balance, its chroma."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from keyer.kinds.picture import Matrix
from keyer.kinds.settings import Correction
from keyer.pixel.colour.correct import correct_band
from keyer.pixel.compose.over import premultiply, unpremultiply
from keyer.render.evaluate import Ready
from keyer.render.graph import Box, Node, OfOne, Rows

UNCORRECTED = Correction()


@dataclass(frozen=True, eq=False)
class Corrected(OfOne):
    """A picture whose straight colour is corrected; what is clear stays clear.

    Attributes
    ----------
    of : Node
    correction : Correction
    matrix : {"bt601", "bt709"}
    """

    of: Node
    correction: Correction
    matrix: Matrix = "bt709"

    @property
    def opaque(self) -> bool:  # type: ignore[override]
        """Whether the picture is."""
        return self.of.opaque

    def rows(self, box: Box, ready: Ready) -> Rows | None:
        """Return rows of the corrected picture."""
        found = ready.rows(self.of, box)
        if found is None:
            return None
        if found.alpha is not None:
            unpremultiply(found.planes, found.alpha)
        correct_band(found.planes, self.correction, self.matrix)
        if found.alpha is not None:
            premultiply(found.planes, found.alpha)
        return found

    def seen(self, top: int, bottom: int, ready: Ready, faint: float) -> tuple[int, int]:
        """Columns of the picture."""
        return self.of.seen(top, bottom, ready, faint)


def corrected(node: Node, correction: Correction, matrix: Matrix) -> Node:
    """Correct a picture, if there is anything to correct."""
    return node if correction == UNCORRECTED else Corrected(node, correction, matrix)


def correction_words(correction: Correction) -> Iterator[str]:
    """Say what is done to the levels and the chroma of a source; nothing where nothing is."""
    plain, now = Correction(), correction
    if now.black_percent != plain.black_percent:
        yield f"black {now.black_percent:+g} %"
    if now.gain_percent != plain.gain_percent:
        yield f"gain {now.gain_percent:g} %"
    if now.balance != plain.balance:
        yield "balance R, G, B " + ", ".join(f"{part:g}" for part in now.balance) + " %"
    if now.gamma != plain.gamma:
        yield f"gamma {now.gamma:g}"
    if now.saturation_percent != plain.saturation_percent:
        yield f"saturation {now.saturation_percent:g} %"
    if now.hue_deg != plain.hue_deg:
        yield f"hue {now.hue_deg:+g}°"
