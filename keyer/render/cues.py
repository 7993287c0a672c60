"""What the cues of a sheet show, frame by frame, and how one picture gives way to another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from keyer.kinds.field import Pattern
from keyer.kinds.settings import Light
from keyer.render.between import faded, mixed, there
from keyer.render.effect import in_light
from keyer.render.evaluate import Evaluator
from keyer.render.finishing import opacity
from keyer.render.graph import Node
from keyer.render.leaves import Colour
from keyer.render.nested import Nested
from keyer.render.patterns import between
from keyer.render.placing import placed, placement_at
from keyer.render.sources import OpenSource
from keyer.sheet.effect import Transition
from keyer.sheet.sheet import Cue, Sheet


class CuePlan:
    """Plans the base of a sheet: which cue, or transition, each frame shows.

    Parameters
    ----------
    sheet : Sheet
    sources : mapping of str to OpenSource or Nested
    patterns : mapping of str or int to Pattern
        Of its wipes, by what the sheet calls them.
    """

    def __init__(
        self,
        sheet: Sheet,
        sources: Mapping[str, OpenSource | Nested],
        patterns: Mapping[str | int, Pattern],
    ) -> None:
        self._sheet, self._sources, self._patterns = sheet, sources, patterns

    def base(self, frame: int, share: float | None = None) -> Node:
        """Describe what the cues show at a frame, in the light in which pictures are mixed.

        Parameters
        ----------
        frame : int
            Of the sheet.
        share : float, optional
            Of the transition's time that has passed; default: what is due.
        """
        base, light = self._sheet.base_at(frame), self._sheet.light
        if share is not None:
            base = replace(base, progress=share)
        now = self._shown(base.cue, frame)
        if base.progress is None:
            return now
        transition = base.cue.transition
        if base.before is not None and base.cue.source is not None:
            before = self._shown(base.before, frame)
            return self.between(before, now, transition, base.progress, frame, base.cue.at, light)
        # a fade from a colour on the first cue, or to a colour on a cue without source
        if base.before is not None:
            return mixed(self._shown(base.before, frame), now, base.progress)
        return mixed(now, in_light(self._colour(transition), light), 1.0 - base.progress)

    def _shown(self, cue: Cue, frame: int) -> Node:
        """Describe what a cue shows, in the light in which pictures are mixed."""
        if cue.source is None:
            node: Node = self._colour(cue.transition)
        else:
            node = self._sources[cue.source].node(frame, cue.at, self._sheet.until(cue))
            if cue.standing is not None:
                aspect, local = float(self._sheet.format.pixel_aspect), frame - cue.at
                place = placement_at(cue.standing, local)
                node = placed(node, place, cue.standing.look, aspect)
                node = there(node, cue.standing.pose(local).opacity)
        return in_light(node, self._sheet.light)

    def _colour(self, transition: Transition) -> Colour:
        video = self._sheet.format
        return Colour(transition.colour, video.width, video.height)

    def between(
        self, first: Node, second: Node, transition: Transition, share: float, frame: int,
        began: int, light: Light, *, within: bool = False,
    ) -> Node:  # fmt: skip
        """Let one picture give way to another, at a frame of the sheet."""
        match transition.kind:
            case "mix" | "additive" | "non-additive":
                return mixed(first, second, share, transition.kind)
            case "fade":
                return faded(first, second, share, in_light(self._colour(transition), light))
            case "wipe":
                border = None
                if transition.border_source is not None and transition.edge.border:
                    border = self._sources[transition.border_source].node(frame, began)
                    border = in_light(border, light)
                video = self._sheet.format
                return between(
                    first,
                    second,
                    transition,
                    self._patterns[transition.pattern],
                    share,
                    pixel_aspect=float(video.pixel_aspect),
                    seconds=float((frame - began) / video.rate),
                    border=border,
                    light=light,
                    within=within,
                )
            case _:
                return mixed(first, second, share)

    def clear_grounds(self, evaluator: Evaluator) -> list[str]:
        """Name the sources on the base that are clear somewhere as they come on air.

        A title is not among them: on the base it stands on black.
        """
        found = []
        for cue in self._sheet.cues:
            if cue.source is None or self._sources[cue.source].title is not None:
                continue
            picture = self._sources[cue.source].node(cue.at, cue.at)
            if not picture.opaque:
                whole = evaluator.prepare(picture).whole(picture)
                if float(opacity(whole).min()) < 1:
                    found.append(cue.source)
        return list(dict.fromkeys(found))
