"""From names to things: a sheet is checked against its files and patterns and made into frames.

Everything that is wrong is reported at once, each fault with its path and
line; after that, `Plan.frame` cannot fail but for a file that breaks while it
is read.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from fractions import Fraction
from types import TracebackType
from typing import TYPE_CHECKING, Self

import numpy as np

from keyer.errors import Fault, InputFileError, KeyerError, SettingError, SheetError
from keyer.kinds import stopping
from keyer.kinds.arrays import Planes
from keyer.kinds.field import Pattern
from keyer.kinds.picture import Matrix, RgbPicture
from keyer.kinds.settings import Light
from keyer.render.between import faded, mixed, there
from keyer.render.choose import KeyChoice
from keyer.render.effect import Effect, in_light
from keyer.render.endings import find_endings
from keyer.render.evaluate import Evaluator, Ready
from keyer.render.fine import colour_of
from keyer.render.finishing import opacity
from keyer.render.graph import Layer, Node
from keyer.render.keyed import KeyPlan
from keyer.render.leaves import Clear, Colour
from keyer.render.matching import match_sources
from keyer.render.nested import Nested
from keyer.render.patterns import (
    between,
    check_folders,
    misfits,
    sheet_folders,
    sheet_look,
    sheet_patterns,
)
from keyer.render.placing import placed, placement_at, placement_of
from keyer.render.session import Session
from keyer.render.sinks.pictures import picture
from keyer.render.sources import OpenSource, stamp
from keyer.sheet.effect import Transition
from keyer.sheet.sheet import Cue, Overlay, Sheet
from keyer.sheet.source import Background, EffectOf, OtherSheet, Source

if TYPE_CHECKING:
    from numpy.typing import DTypeLike

    from keyer.titles.moving import TimedTitle


class Plan:
    """A sheet whose files are open; a context manager.

    Parameters
    ----------
    sheet : Sheet
    session : Session, optional
        That other plans share, and that stays open; default: one of its own.
    effects : dict of str to Plan, optional
        Those of the sheet's effects that are planned already.
    keys : Plan, optional
        Of the same sheet at full size: what its chroma keys leave open is
        chosen there, and its pictures here may be smaller.

    Raises
    ------
    SheetError
        Lists every fault.
    InputFileError
        If a single file that cannot be opened is all that is wrong.
    """

    def __init__(
        self,
        sheet: Sheet,
        session: Session | None = None,
        effects: dict[str, Plan] | None = None,
        keys: Plan | None = None,
    ) -> None:
        self.sheet = sheet
        self._effects: dict[str, Plan] = {} if effects is None else effects
        self._chosen = keys
        self.session = session or Session()
        self._own = session is None
        self._sources: dict[str, OpenSource | Nested] = {}
        self._keys: dict[int, KeyPlan] = {}
        self.notices: list[str] = []
        self._patterns: dict[str | int, Pattern] = {}
        self._folders_hold = True
        troubles = self._check_patterns() + self._open()
        troubles += [] if troubles else self._match()
        if troubles:
            self.close()
            self._refuse(troubles)
        self.endings = find_endings(sheet, self._sources)
        self.notices += [ending.notice for ending in self.endings]

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @property
    def depth(self) -> type[np.uint8 | np.uint16]:
        """Depth in which the sheet's pictures are stored: 16 bits if a cue's file has over 8."""
        return np.uint16 if self.deep else np.uint8

    @property
    def deepest(self) -> type[np.uint8 | np.uint16]:
        """Depth in which a cut-out is stored: 16 bits if any file has over 8."""
        return np.uint16 if any(one.deep for one in self._sources.values()) else np.uint8

    @property
    def deep(self) -> bool:
        """Whether a cue shows a file of more than 8 bits, itself or within an effect."""
        cues = {cue.source for cue in self.sheet.cues if cue.source is not None}
        return any(self._sources[name].deep for name in cues)

    @property
    def evaluator(self) -> Evaluator:
        """What works its graphs out."""
        return self.session.evaluator

    def close(self) -> None:
        """Let go of every file, unless the session is shared."""
        if self._own:
            self.session.close()

    def _refuse(self, troubles: list[tuple[str, KeyerError]]) -> None:
        first = troubles[0][1]
        if len(troubles) == 1 and isinstance(first, InputFileError):
            raise first
        if len(troubles) == 1 and troubles[0][0] == "sheet.patterns":
            raise first
        faults: list[Fault] = []
        for path, error in troubles:
            source = self.sheet.sources.get(path.removeprefix("sources."))
            of_effect = source is not None and isinstance(source.content, EffectOf)
            if of_effect and isinstance(error, SheetError):
                faults += error.faults  # which say where in this sheet they stand
            else:
                faults.append(self.sheet.fault(path, "; ".join(str(error).splitlines())))
        raise self.sheet.error(dict.fromkeys(faults))

    def _open(self) -> list[tuple[str, KeyerError]]:
        troubles: list[tuple[str, KeyerError]] = []
        shown = self.sheet.shown_here() if self.sheet.prefix else self.sheet.shown()
        for name, source in self.sheet.sources.items():
            if name not in shown:
                continue
            if isinstance(source.content, Background) and not self._folders_hold:
                continue
            try:
                self._sources[name] = self._opened(source)
                self.notices += [f"{name}: {text}" for text in self._sources[name].notices]
            except KeyerError as error:
                if str(error) not in {str(known) for _, known in troubles}:
                    troubles.append((f"sources.{name}", error))
        return troubles

    def _opened(self, source: Source) -> OpenSource | Nested:
        """Open a source, or plan the effect that it shows."""
        video, content = self.sheet.format, source.content
        if isinstance(content, OtherSheet):
            return Nested(source, video, Plan(content.sheet, self.session))
        if isinstance(content, EffectOf):
            if content.effect not in self._effects:
                within, larger = self.sheet.within(content.effect), None
                if self._chosen is not None:
                    larger = self._chosen._effects.get(content.effect)
                self._effects[content.effect] = Plan(within, self.session, self._effects, larger)
            return Nested(source, video, self._effects[content.effect])
        look = None
        if isinstance(content, Background):
            look = sheet_look(content, sheet_folders(self.sheet))
        name = (source, video, look, stamp(source))
        return self.session.source(name, lambda: OpenSource(source, video, look))

    def _match(self) -> list[tuple[str, KeyerError]]:
        """Choose the corrections of sources that are matched to others."""
        larger = {} if self._chosen is None else self._chosen._sources
        try:
            self.notices += match_sources(self.sheet, self._sources, self.session, larger)
        except InputFileError as error:
            return [("sources", error)]
        return []

    def _check_patterns(self) -> list[tuple[str, KeyerError]]:
        """Find every pattern, and what is asked of one that it cannot do."""
        wipes = [found for found in self.sheet.transitions() if found[1].kind == "wipe"]
        if not wipes and not self.sheet.patterns:
            return []
        try:
            library = sheet_patterns(self.sheet)
            check_folders(self.sheet)
        except KeyerError as error:
            self._folders_hold = False
            return [("sheet.patterns", error)]
        troubles: list[tuple[str, KeyerError]] = []
        for path, transition in wipes:
            try:
                pattern = library.find(transition.pattern)
            except KeyerError as error:
                troubles.append((f"{path}.pattern", error))
                continue
            self._patterns[transition.pattern] = pattern
            over = path.startswith("overlays")
            troubles += [
                (f"{path}.{key}", SettingError(message))
                for key, message in misfits(transition, pattern, overlay=over)
            ]
        return troubles

    def _shown(self, cue: Cue, frame: int) -> Node:
        """Describe what a cue shows, in the light in which pictures are mixed."""
        if cue.source is None:
            node: Node = self._colour(cue.transition)
        else:
            node = self._sources[cue.source].node(frame, cue.at, self.sheet.until(cue))
            if cue.standing is not None:
                aspect, local = float(self.sheet.format.pixel_aspect), frame - cue.at
                place = placement_at(cue.standing, local)
                node = placed(node, place, cue.standing.look, aspect)
                node = there(node, cue.standing.pose(local).opacity)
        return in_light(node, self.sheet.light)

    def seconds(self, name: str, frame: int, came_on_air: int) -> Fraction | None:
        """Say how far into a source its picture stands that is due at a frame of the sheet.

        Parameters
        ----------
        name : str
            Of the source.
        frame : int
        came_on_air : int
            Frame at which this showing of it began.

        Returns
        -------
        Fraction or None
            Seconds of its own time; None for what stands still.
        """
        return self._sources[name].seconds(frame, came_on_air)

    def clear_grounds(self) -> list[str]:
        """Name the sources on the base that are clear somewhere as they come on air.

        A title is not among them: on the base it stands on black.
        """
        found = []
        for cue in self.sheet.cues:
            if cue.source is None or self.title(cue.source) is not None:
                continue
            picture = self._sources[cue.source].node(cue.at, cue.at)
            if not picture.opaque:
                whole = self.evaluator.prepare(picture).whole(picture)
                if float(opacity(whole).min()) < 1:
                    found.append(cue.source)
        return list(dict.fromkeys(found))

    def _colour(self, transition: Transition) -> Colour:
        video = self.sheet.format
        return Colour(transition.colour, video.width, video.height)

    def _between(
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
                video = self.sheet.format
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

    def base(self, frame: int, share: float | None = None) -> Node:
        """Describe what the cues show at a frame, in the light in which pictures are mixed.

        Parameters
        ----------
        frame : int
            Of the sheet.
        share : float, optional
            Of the transition's time that has passed; default: what is due.

        Returns
        -------
        Node
        """
        base, light = self.sheet.base_at(frame), self.sheet.light
        if share is not None:
            base = replace(base, progress=share)
        now = self._shown(base.cue, frame)
        if base.progress is None:
            return now
        transition = base.cue.transition
        if base.before is not None and base.cue.source is not None:
            before = self._shown(base.before, frame)
            return self._between(before, now, transition, base.progress, frame, base.cue.at, light)
        # a fade from a colour on the first cue, or to a colour on a cue without source
        if base.before is not None:
            return mixed(self._shown(base.before, frame), now, base.progress)
        return mixed(now, in_light(self._colour(transition), light), 1.0 - base.progress)

    def _key(self, overlay: Overlay) -> KeyPlan:
        """How an overlay is keyed."""
        if overlay.index not in self._keys:
            self._keys[overlay.index] = KeyPlan(
                overlay, self._sources, self.session, self.sheet.light, self._larger(overlay)
            )
        return self._keys[overlay.index]

    def _larger(self, overlay: Overlay) -> Callable[[], KeyChoice] | None:
        """How the settings of an overlay's key are chosen at full size, if that is asked for."""
        larger = self._chosen
        if larger is None:
            return None
        same = larger.sheet.overlays[overlay.index]
        return lambda: larger.key_choice(same)

    def key_choice(self, overlay: Overlay) -> KeyChoice:
        """Survey an overlay's backing, once, on the first picture that it shows.

        Parameters
        ----------
        overlay : Overlay
            With a chroma key.

        Returns
        -------
        KeyChoice
        """
        return self._key(overlay).choice()

    def matrix(self, overlay: Overlay) -> Matrix:
        """Luma coefficients of an overlay's source."""
        return self._sources[overlay.source].matrix

    def recorded(self, overlay: Overlay, frame: int) -> Node:
        """Picture of an overlay's source as it is due, before it is keyed.

        Parameters
        ----------
        overlay : Overlay
        frame : int
            Of the sheet.

        Returns
        -------
        Node
        """
        return self._sources[overlay.source].node(frame, overlay.start, overlay.stop)

    def keyed(self, overlay: Overlay, frame: int) -> Node:
        """One overlay keyed, but neither placed nor partly there, and without its shadow.

        Parameters
        ----------
        overlay : Overlay
        frame : int
            Of the sheet.

        Returns
        -------
        Node
        """
        if overlay.key is None:
            return self.recorded(overlay, frame)
        return self._key(overlay).subject(frame)

    def subject(self, overlay: Overlay, frame: int) -> Node:
        """One overlay keyed and placed, wholly there and without its shadow.

        Parameters
        ----------
        overlay : Overlay
        frame : int
            Of the sheet.

        Returns
        -------
        Node
        """
        aspect = float(self.sheet.format.pixel_aspect)
        node = self.keyed(overlay, frame)
        return placed(node, placement_of(overlay, frame), overlay.look, aspect)

    def standing(self, overlay: Overlay, frame: int) -> Node:
        """One overlay keyed and placed, wholly there, with its shadow.

        Parameters
        ----------
        overlay : Overlay
        frame : int
            Of the sheet.

        Returns
        -------
        Node
        """
        node = self.subject(overlay, frame)
        shadow = self._key(overlay).shadow(frame) if overlay.key is not None else None
        if shadow is None:
            return node
        aspect = float(self.sheet.format.pixel_aspect)
        below = placed(shadow, placement_of(overlay, frame), pixel_aspect=aspect)
        return Effect(below, (Layer(node),))

    def overlay(self, overlay: Overlay, frame: int) -> Layer:
        """One overlay as it is due at a frame.

        Parameters
        ----------
        overlay : Overlay
        frame : int
            Of the sheet.

        Returns
        -------
        Layer
        """
        node = self.standing(overlay, frame)
        presence = overlay.presence(frame)
        if presence is not None:
            transition, share = presence
            began = (
                overlay.start if transition is overlay.enter else overlay.stop - transition.length
            )
            clear = Clear(node.width, node.height)
            node = self._between(clear, node, transition, share, frame, began, "video", within=True)
        node = there(node, overlay.pose(frame).opacity)
        return Layer(node, f"{self.sheet.prefix}overlays[{overlay.index}]")

    def retitle(self, name: str, fields: Mapping[str, str]) -> None:
        """Fill a title anew; everything else stays open.

        Parameters
        ----------
        name : str
            A source that is a title.
        fields : mapping
            Field name to text.

        Raises
        ------
        SettingError
            If a field is unknown, lacks a value or does not fit.
        """
        self._sources[name].refill(fields)

    def title(self, name: str) -> TimedTitle | None:
        """Return a source's title, laid out; None for another source."""
        return self._sources[name].title

    def fetched(self, numbers: Iterable[int]) -> Iterator[tuple[Effect, Ready]]:
        """Describe frames, and bring the pictures of their sources: work for a thread of its own.

        Raises
        ------
        InputFileError
            If a file breaks while it is read.
        """
        for number in numbers:
            node = self.frame(number)
            yield node, self.evaluator.fetch(node)

    def colour(self, node: Node) -> Planes:
        """Work out a picture's straight colour, (3, H, W) float32."""
        return colour_of(node, self.evaluator.prepare(node))

    def picture(
        self, index: int, depth: DTypeLike | None = None, *, threads: int | None = None
    ) -> RgbPicture:
        """Work a frame out as a picture.

        Parameters
        ----------
        index : int
            Of the sheet.
        depth : dtype, optional
            Default: `depth`.
        threads : int, optional
            The result does not depend on it.

        Returns
        -------
        RgbPicture
            Opaque.
        """
        wanted = self.depth if depth is None else depth
        return picture(self.frame(index), self.evaluator, wanted, threads=threads)

    def frame(self, index: int, share: float | None = None) -> Effect:
        """Describe one frame.

        Parameters
        ----------
        index : int
            Of the sheet.
        share : float, optional
            As for `base`.

        Returns
        -------
        Effect
            What the cues show, and the overlays that are seen, each with its path.

        Raises
        ------
        TimeError
            If it lies outside the sheet.
        NoBackingError
            If a picture to be keyed shows no backing.
        """
        stopping.go_on()
        base = self.base(index, share)
        layers = tuple(
            self.overlay(overlay, index) for overlay in self.sheet.overlays if overlay.seen(index)
        )
        colour, gone = self.sheet.gone(index)
        return Effect(base, layers, self.sheet.light, fade=(colour, gone) if gone > 0 else None)
