"""From names to things: a sheet is checked against its files and patterns and made into frames.

Everything that is wrong is reported at once, each fault with its path and
line; after that, `Plan.frame` cannot fail but for a file that breaks while it
is read.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from fractions import Fraction
from types import TracebackType
from typing import TYPE_CHECKING, Self

import numpy as np

from keyer.errors import KeyerError, SettingError
from keyer.kinds import stopping
from keyer.kinds.arrays import Planes
from keyer.kinds.picture import Matrix, RgbPicture
from keyer.render.between import there
from keyer.render.choose import KeyChoice
from keyer.render.cues import CuePlan
from keyer.render.effect import Effect
from keyer.render.endings import find_endings
from keyer.render.evaluate import Evaluator, Ready
from keyer.render.fine import colour_of
from keyer.render.graph import Layer, Node
from keyer.render.keyed import KeyPlan
from keyer.render.leaves import Clear
from keyer.render.nested import Nested
from keyer.render.opening import Opened, Sources
from keyer.render.placing import placed, placement_of
from keyer.render.session import Session
from keyer.render.sinks.pictures import picture
from keyer.sheet.sheet import Overlay, Sheet
from keyer.sheet.source import EffectOf, OtherSheet, Source

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
        self._keys: dict[int, KeyPlan] = {}
        try:
            larger: Sources = {} if keys is None else keys._sources
            opened = Opened(sheet, self.session, self._nested, larger)
        except KeyerError:
            self.close()
            raise
        self._sources: Sources = opened.sources
        self.cues = CuePlan(sheet, opened.sources, opened.patterns)
        self.endings = find_endings(sheet, self._sources)
        self.notices = [*opened.notices, *(ending.notice for ending in self.endings)]

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

    def _nested(self, source: Source) -> Nested:
        """Plan the effect that a source shows."""
        video, content = self.sheet.format, source.content
        if isinstance(content, OtherSheet):
            return Nested(source, video, Plan(content.sheet, self.session))
        name = content.effect if isinstance(content, EffectOf) else ""
        if name not in self._effects:
            larger = None if self._chosen is None else self._chosen._effects.get(name)
            within = self.sheet.within(name)
            self._effects[name] = Plan(within, self.session, self._effects, larger)
        return Nested(source, video, self._effects[name])

    def within(self, name: str) -> Plan:
        """Find the plan of the effect, or of the other sheet, that a source shows."""
        source = self._sources[name]
        if not isinstance(source, Nested):
            msg = f"source {name!r} must show an effect or another sheet."
            raise SettingError(msg)
        return source.plan

    def base(self, frame: int, share: float | None = None) -> Node:
        """Describe what the cues show at a frame, in the light in which pictures are mixed.

        Parameters
        ----------
        frame : int
            Of the sheet.
        share : float, optional
            Of the transition's time that has passed; default: what is due.
        """
        return self.cues.base(frame, share)

    def key_plan(self, overlay: Overlay) -> KeyPlan:
        """Return the plan of an overlay's key, made when first asked for."""
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
        """
        return self.key_plan(overlay).choice()

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
        """
        return self._sources[overlay.source].node(frame, overlay.start, overlay.stop)

    def keyed(self, overlay: Overlay, frame: int) -> Node:
        """One overlay keyed, but neither placed nor partly there, and without its shadow.

        Parameters
        ----------
        overlay : Overlay
        frame : int
            Of the sheet.
        """
        if overlay.key is None:
            return self.recorded(overlay, frame)
        return self.key_plan(overlay).subject(frame)

    def subject(self, overlay: Overlay, frame: int) -> Node:
        """One overlay keyed and placed, wholly there and without its shadow.

        Parameters
        ----------
        overlay : Overlay
        frame : int
            Of the sheet.
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
        """
        node = self.subject(overlay, frame)
        shadow = self.key_plan(overlay).shadow(frame) if overlay.key is not None else None
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
        """
        node = self.standing(overlay, frame)
        presence = overlay.presence(frame)
        if presence is not None:
            transition, share = presence
            began = (
                overlay.start if transition is overlay.enter else overlay.stop - transition.length
            )
            clear = Clear(node.width, node.height)
            node = self.cues.between(
                clear, node, transition, share, frame, began, "video", within=True
            )
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
