"""From names to things: a sheet is checked against its files and patterns and made into frames.

Everything that is wrong is reported at once, each fault with its path and
line; after that, `Plan.frame` cannot fail but for a file that breaks while it
is read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import TracebackType
from typing import TYPE_CHECKING, Self

import numpy as np

from keyer.errors import Fault, InputFileError, KeyerError
from keyer.kinds.picture import Picture
from keyer.pixel import generate
from keyer.pixel.place import UNMOVED
from keyer.render.fields import held_field
from keyer.render.frame import Base, Effect, Fade, Frame, Keyed, Laid, Matted, Mix, Reveal, Wipe
from keyer.render.frame import Overlay as FrameOverlay
from keyer.render.keys import FineKeyer, KeyChoice, choose_key, level_keyed, placed, placement_of
from keyer.render.sources import OnAir
from keyer.sheet.effect import Transition
from keyer.sheet.sheet import Cue, Overlay, Sheet

if TYPE_CHECKING:
    from keyer.titles.moving import TimedTitle


@dataclass(frozen=True)
class Ending:
    """A clip that ends while it is on air; its last picture stays.

    Attributes
    ----------
    path : str
        The cue or overlay that shows it.
    source : str
    frame : int
        First frame of the sheet for which it has no picture of its own.
    gone : int
        First frame on which it is off air.
    """

    path: str
    source: str
    frame: int
    gone: int


class Plan:
    """A sheet whose files are open; a context manager.

    Parameters
    ----------
    sheet : Sheet

    Raises
    ------
    SheetError
        Lists every fault.
    InputFileError
        If a single file that cannot be opened is all that is wrong.
    """

    def __init__(self, sheet: Sheet) -> None:
        self.sheet = sheet
        self._sources: dict[str, OnAir] = {}
        self._keys: dict[int, KeyChoice] = {}
        self._fine: dict[int, FineKeyer] = {}
        self.notices: list[str] = []
        self.endings: list[Ending] = []
        troubles = self._open() + self._check_patterns()
        if troubles:
            self.close()
            self._refuse(troubles)
        self._note_ends()

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
        cues = {cue.source for cue in self.sheet.cues if cue.source is not None}
        return np.uint16 if any(self._sources[name].deep for name in cues) else np.uint8

    def close(self) -> None:
        """Let go of every file."""
        for source in self._sources.values():
            source.close()

    def _refuse(self, troubles: list[tuple[str, KeyerError]]) -> None:
        first = troubles[0][1]
        if len(troubles) == 1 and isinstance(first, InputFileError):
            raise first
        faults: list[Fault] = [self.sheet.fault(path, str(error)) for path, error in troubles]
        raise self.sheet.error(faults)

    def _open(self) -> list[tuple[str, KeyerError]]:
        troubles: list[tuple[str, KeyerError]] = []
        cues = {cue.source for cue in self.sheet.cues}
        overlays = {overlay.source for overlay in self.sheet.overlays}
        keyed = (overlay.key.source for overlay in self.sheet.overlays if overlay.key)
        overlays |= {name for name in keyed if name is not None}
        for name, source in self.sheet.sources.items():
            if name not in cues | overlays:
                continue
            try:
                self._sources[name] = OnAir(source, self.sheet.format)
                self.notices += [f"{name}: {text}" for text in self._sources[name].notices]
            except KeyerError as error:
                troubles.append((f"sources.{name}", error))
        return troubles

    def _check_patterns(self) -> list[tuple[str, KeyerError]]:
        troubles: list[tuple[str, KeyerError]] = []
        for path, transition in _transitions(self.sheet):
            if transition.kind != "wipe":
                continue
            from keyer.library import load_patterns

            try:
                load_patterns().find(transition.pattern)
            except KeyerError as error:
                troubles.append((path, error))
        return troubles

    def _note_ends(self) -> None:
        """Note every clip that ends while it is on air; its last picture stays."""
        cues = self.sheet.cues
        for cue, after in zip(cues, (*cues[1:], None), strict=True):
            gone = self.sheet.length if after is None else after.at + after.transition.length
            self._note_end(cue.source, cue.at, gone, f"cues[{cue.index}]")
        for overlay in self.sheet.overlays:
            path = f"overlays[{overlay.index}]"
            self._note_end(overlay.source, overlay.start, overlay.stop, path)

    def _note_end(self, name: str | None, start: int, gone: int, path: str) -> None:
        if name is None:
            return
        source = self._sources[name]
        lasts = source.frames_on_air()
        began = start if source.source.at is None else source.source.at
        if lasts is not None and began + lasts < gone:
            self.endings.append(Ending(path, name, began + lasts, gone))
            short = gone - began - lasts
            self.notices.append(
                f"{path}: {name} ends {short} frames before it goes off air; its last picture "
                "stays. Set loop or hold, or cut earlier."
            )

    def _cue_picture(self, cue: Cue, frame: int) -> Picture:
        if cue.source is None:
            video = self.sheet.format
            return generate.colour(video.width, video.height, cue.transition.colour)
        return self._sources[cue.source].ground(frame, cue.at)

    def _effect(self, transition: Transition, passed: int) -> Effect:
        """Make a transition's effect, `passed` frames after it began."""
        match transition.kind:
            case "mix" | "additive" | "non-additive":
                return Mix(transition.kind)
            case "fade":
                return Fade(transition.colour)
            case "wipe":
                return self._wipe(transition, passed)
            case _:
                return Mix()

    def _wipe(self, transition: Transition, passed: int) -> Wipe:
        video = self.sheet.format
        field = held_field(
            transition.pattern,
            video.width,
            video.height,
            float(video.pixel_aspect),
            transition.modifiers,
        )
        return Wipe(field, transition.edge, float(passed / video.rate))

    def _base(self, frame: int) -> Base:
        moment = self.sheet.moment(frame)
        now = self._cue_picture(moment.cue, frame)
        if moment.progress is None:
            return Base(now)
        transition, passed = moment.cue.transition, frame - moment.cue.at
        if moment.before is not None and moment.cue.source is not None:
            before = self._cue_picture(moment.before, frame)
            return Base(before, now, self._effect(transition, passed), moment.progress)
        # a fade from a colour on the first cue, or to a colour on a cue without source
        if moment.before is not None:
            return Base(self._cue_picture(moment.before, frame), now, Mix(), moment.progress)
        video = self.sheet.format
        plain = generate.colour(video.width, video.height, transition.colour)
        effect = Mix() if transition.kind == "fade" else self._effect(transition, passed)
        return Base(plain, now, effect, moment.progress)

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
        if overlay.index not in self._keys:
            key = overlay.key
            if key is None:
                msg = "overlay has no key"
                raise AssertionError(msg)
            picture = self._sources[overlay.source].picture(overlay.start, overlay.start)
            self._keys[overlay.index] = choose_key(picture, key)
        return self._keys[overlay.index]

    def recorded(self, overlay: Overlay, frame: int) -> Picture:
        """Picture of an overlay's source as it is due, before it is keyed.

        Parameters
        ----------
        overlay : Overlay
        frame : int
            Of the sheet.

        Returns
        -------
        Picture
        """
        return self._sources[overlay.source].picture(frame, overlay.start)

    def overlay(self, overlay: Overlay, frame: int) -> FrameOverlay:
        """One overlay as it is due at a frame.

        Parameters
        ----------
        overlay : Overlay
        frame : int
            Of the sheet.

        Returns
        -------
        Keyed, Matted or Laid
        """
        opacity, reveal = self._presence(overlay, frame)
        placement = placement_of(overlay, frame)
        source = self._sources[overlay.source]
        if overlay.key is None and placement == UNMOVED:
            lettering = source.lettering(frame, overlay.start)
            if lettering:
                return Laid(lettering.picture, opacity, reveal, lettering.left, lettering.top)
        picture = source.picture(frame, overlay.start)
        layer = self._keyed(overlay, picture, frame)
        if placement != UNMOVED:
            layer = placed(layer, placement)
        return replace(layer, opacity=opacity, reveal=reveal)

    def _keyed(self, overlay: Overlay, picture: Picture, frame: int) -> Keyed | Laid | Matted:
        """Key an overlay's picture as its key says; opaque and wholly there."""
        key = overlay.key
        if key is None:
            return Laid(picture)
        if key.kind == "chroma":
            choice = self.key_choice(overlay)
            if key.quality == "fast":
                return Keyed(picture, choice.settings)
            return self._fine.setdefault(overlay.index, FineKeyer(choice, key))(picture)
        signal = picture
        if key.source is not None:
            signal = self._sources[key.source].picture(frame, overlay.start)
        return level_keyed(picture, signal, key)

    def _presence(self, overlay: Overlay, frame: int) -> tuple[float, Reveal | None]:
        """Opacity and reveal of an overlay, from its pose and its transitions."""
        opacity = overlay.pose(frame).opacity
        presence = overlay.presence(frame)
        if presence is None:
            return opacity, None
        transition, share = presence
        if transition.kind != "wipe":
            return opacity * share, None
        began = overlay.start if transition is overlay.enter else overlay.stop - transition.length
        return opacity, Reveal(self._wipe(transition, frame - began), share)

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

    def frame(self, index: int) -> Frame:
        """Make the plan of one frame.

        Parameters
        ----------
        index : int
            Of the sheet.

        Returns
        -------
        Frame

        Raises
        ------
        TimeError
            If it lies outside the sheet.
        NoBackingError
            If a picture to be keyed shows no backing.
        """
        base = self._base(index)
        overlays = tuple(
            self.overlay(overlay, index) for overlay in self.sheet.overlays if overlay.seen(index)
        )
        return Frame(base, overlays, self.sheet.light)


def _transitions(sheet: Sheet) -> list[tuple[str, Transition]]:
    """Every transition of a sheet with its path."""
    found = [(f"cues[{cue.index}].transition.pattern", cue.transition) for cue in sheet.cues]
    for overlay in sheet.overlays:
        path = f"overlays[{overlay.index}]"
        found.append((f"{path}.transition_in.pattern", overlay.enter))
        found.append((f"{path}.transition_out.pattern", overlay.leave))
    return found
