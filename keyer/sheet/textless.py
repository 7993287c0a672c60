"""A sheet without its lettering: for a version in another language, or for the archive."""

from __future__ import annotations

from dataclasses import replace

from keyer.sheet.sheet import Sheet
from keyer.sheet.source import OtherSheet, PlainColour, Source, Title
from keyer.sheet.stack import Overlay


def textless(sheet: Sheet) -> tuple[Sheet, tuple[str, ...]]:
    """Take all titles off a sheet, off its effects and off the sheets that it shows.

    Returns
    -------
    sheet : Sheet
        Of the same length. A title on the base leaves black; letters in a
        picture or a clip stay where they are.
    taken : tuple of str
        Names of the titles, as the sheet calls their sources.
    """
    titles = {n for n, source in sheet.sources.items() if isinstance(source.content, Title)}
    sources = {name: _bare(source) for name, source in sheet.sources.items()}
    effects = {
        name: replace(effect, overlays=_without(effect.overlays, titles))
        for name, effect in sheet.effects.items()
    }
    inner = tuple(
        f"{name}: {title}"
        for name, source in sheet.sources.items()
        if isinstance(source.content, OtherSheet)
        for title in textless(source.content.sheet)[1]
    )
    bare = replace(
        sheet, sources=sources, effects=effects, overlays=_without(sheet.overlays, titles)
    )
    return bare, (*sorted(titles & sheet.shown()), *inner)


def _without(overlays: tuple[Overlay, ...], titles: set[str]) -> tuple[Overlay, ...]:
    return tuple(overlay for overlay in overlays if overlay.source not in titles)


def _bare(source: Source) -> Source:
    """Leave the lettering of a source out: what is nothing but lettering is black."""
    content = source.content
    if isinstance(content, Title):
        return replace(source, content=PlainColour((0.0, 0.0, 0.0)))
    if isinstance(content, OtherSheet):
        inner = textless(content.sheet)[0]
        return replace(source, content=replace(content, sheet=inner, digest=inner.digest))
    return source
