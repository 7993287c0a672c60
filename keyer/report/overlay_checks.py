"""Checks of overlays as a whole: whether anything of one is seen while it is on air."""

from __future__ import annotations

from keyer.pixel.load import load_alpha
from keyer.render.compose import compose_matte
from keyer.render.frame import Keyed, Laid, Overlay
from keyer.report.findings import Finding, Limit, Look, Series
from keyer.report.key_checks import looking, name_of
from keyer.report.runs import Runs
from keyer.report.view import View
from keyer.sheet.sheet import Overlay as SheetOverlay
from keyer.sheet.sheet import Sheet

LEAST = 1 / 255
"""Cover of the base from which something is seen: one code of 8 bits."""

_SEEN = Limit("something of an overlay is in the picture while it is on air", "ours")
_REMEDY = (
    "Nothing of it is in the picture: look at its position, which is in percent of the picture and "
    "names its middle, its scale, crop and opacity."
)


def most_cover(layer: Overlay) -> float:
    """Find how much of the base a layer hides where it hides the most, a wipe left out.

    Parameters
    ----------
    layer : Keyed, Matted or Laid

    Returns
    -------
    float
        0..1.
    """
    if isinstance(layer, Laid):
        opaque = layer.picture.alpha is None
        cover = 1.0 if opaque else float(load_alpha(layer.picture).max())
    elif isinstance(layer, Keyed):
        cover = float(compose_matte(layer)[1].max())
    else:
        cover = float(layer.cover().max())
    return cover * layer.opacity


class SeenCheck:
    """Overlays of which nothing is seen on any picture that is looked at.

    Parameters
    ----------
    sheet : Sheet
    """

    def __init__(self, sheet: Sheet) -> None:
        self._sheet = sheet
        self._unseen: dict[int, SheetOverlay] = {one.index: one for one in sheet.overlays}

    def look(self, view: View) -> None:
        """Take the next frame; an overlay that was seen once is not looked at again."""
        on_air = [one for one in self._sheet.overlays if one.seen(view.index)]
        for overlay, layer in zip(on_air, view.frame.overlays, strict=True):
            if overlay.index not in self._unseen:
                continue
            if not looking(self._sheet, view.index, overlay.start, overlay.stop - 1):
                continue
            if most_cover(layer) >= LEAST:
                del self._unseen[overlay.index]

    def findings(self) -> list[Finding]:
        """Give every overlay that was never seen; each fails."""
        found: list[Finding] = []
        for overlay in self._unseen.values():
            subject, last = name_of(overlay), min(overlay.stop, self._sheet.length) - 1
            runs = Runs(self._sheet, "overlay.seen", "% seen", _SEEN, subject=subject)
            runs.add(Look(last, "fails", 0.0, remedy=_REMEDY, first=overlay.start))
            found += runs.findings()
        return found

    def series(self) -> list[Series]:
        """Nothing along time."""
        return []
