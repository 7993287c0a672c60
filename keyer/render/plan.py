"""From names to things: a sheet is checked against its files and patterns and made into frames.

Everything that is wrong is reported at once, each fault with its path and
line; after that, `Plan.frame` cannot fail but for a file that breaks while it
is read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import TracebackType
from typing import TYPE_CHECKING, Self

import numpy as np

from keyer.errors import Fault, InputFileError, KeyerError, SettingError
from keyer.kinds import stopping
from keyer.kinds.field import Geometry, Pattern
from keyer.kinds.picture import Picture
from keyer.pixel import generate
from keyer.pixel.load import load_alpha
from keyer.pixel.place import UNMOVED
from keyer.render.endings import find_endings
from keyer.render.frame import (
    Base,
    Effect,
    Fade,
    Frame,
    Keyed,
    Laid,
    Matted,
    Mix,
    Move,
    Reveal,
    Wipe,
)
from keyer.render.frame import Overlay as FrameOverlay
from keyer.render.keyer import OverlayKeyer, Pictures
from keyer.render.keys import KeyChoice, choose_key, placed, placement_of
from keyer.render.patterns import (
    check_folders,
    effect_of,
    misfits,
    reached,
    sheet_folders,
    sheet_look,
    sheet_patterns,
)
from keyer.render.sources import OnAir
from keyer.sheet.effect import Key, Transition
from keyer.sheet.sheet import Cue, Overlay, Sheet
from keyer.sheet.source import Background

if TYPE_CHECKING:
    from keyer.titles.moving import TimedTitle


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
        self._keyers: dict[int, OverlayKeyer] = {}
        self.notices: list[str] = []
        self._patterns: dict[str | int, Pattern] = {}
        self._folders_hold = True
        troubles = self._check_patterns() + self._open()
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
        if len(troubles) == 1 and troubles[0][0] == "sheet.patterns":
            raise first
        faults: list[Fault] = [
            self.sheet.fault(path, "; ".join(str(error).splitlines())) for path, error in troubles
        ]
        raise self.sheet.error(faults)

    def _open(self) -> list[tuple[str, KeyerError]]:
        troubles: list[tuple[str, KeyerError]] = []
        shown = self.sheet.shown()
        for name, source in self.sheet.sources.items():
            if name not in shown:
                continue
            try:
                look = None
                if isinstance(source.content, Background):
                    if not self._folders_hold:
                        continue
                    look = sheet_look(source.content, sheet_folders(self.sheet))
                self._sources[name] = OnAir(source, self.sheet.format, look)
                self.notices += [f"{name}: {text}" for text in self._sources[name].notices]
            except KeyerError as error:
                troubles.append((f"sources.{name}", error))
        return troubles

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

    def _cue_picture(self, cue: Cue, frame: int) -> Picture:
        if cue.source is None:
            video = self.sheet.format
            return generate.colour(video.width, video.height, cue.transition.colour)
        return self._sources[cue.source].ground(frame, cue.at)

    def clear_grounds(self) -> list[str]:
        """Name the sources on the base that are clear somewhere as they come on air.

        A title is not among them: on the base it stands on black.
        """
        found = []
        for cue in self.sheet.cues:
            if cue.source is None or self.title(cue.source) is not None:
                continue
            ground = self._sources[cue.source].ground(cue.at, cue.at)
            if ground.alpha is not None and float(load_alpha(ground).min()) < 1:
                found.append(cue.source)
        return list(dict.fromkeys(found))

    def _effect(self, transition: Transition, began: int, frame: int) -> Effect:
        """Make a transition's effect, at a frame of the sheet."""
        match transition.kind:
            case "mix" | "additive" | "non-additive":
                return Mix(transition.kind)
            case "fade":
                return Fade(transition.colour)
            case "wipe":
                return self._wipe(transition, began, frame)
            case _:
                return Mix()

    def _wipe(self, transition: Transition, began: int, frame: int) -> Effect:
        video, border = self.sheet.format, None
        if transition.border_source is not None and transition.edge.border:
            border = self._sources[transition.border_source].ground(frame, began)
        return effect_of(
            transition,
            self._patterns[transition.pattern],
            Geometry(video.width, video.height, float(video.pixel_aspect)),
            seconds=float((frame - began) / video.rate),
            border=border,
        )

    def _base(self, frame: int) -> Base:
        moment = self.sheet.moment(frame)
        now = self._cue_picture(moment.cue, frame)
        if moment.progress is None:
            return Base(now)
        transition = moment.cue.transition
        if moment.before is not None and moment.cue.source is not None:
            before = self._cue_picture(moment.before, frame)
            effect = self._effect(transition, moment.cue.at, frame)
            progress = reached(effect, transition.modifiers, moment.progress)
            return Base(before, now, effect, progress)
        # a fade from a colour on the first cue, or to a colour on a cue without source
        if moment.before is not None:
            return Base(self._cue_picture(moment.before, frame), now, Mix(), moment.progress)
        video = self.sheet.format
        plain = generate.colour(video.width, video.height, transition.colour)
        return Base(plain, now, Mix(), moment.progress)

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

    def keyed(self, overlay: Overlay, frame: int) -> Keyed | Laid | Matted:
        """One overlay keyed, but neither placed nor partly there.

        Parameters
        ----------
        overlay : Overlay
        frame : int
            Of the sheet.

        Returns
        -------
        Keyed, Matted or Laid
        """
        return self._keyed(overlay, self.recorded(overlay, frame), frame)

    def _keyed(self, overlay: Overlay, picture: Picture, frame: int) -> Keyed | Laid | Matted:
        """Key an overlay's picture as its key says; opaque and wholly there."""
        key = overlay.key
        if key is None:
            return Laid(picture)
        choice = self.key_choice(overlay) if key.kind == "chroma" else None
        if choice is not None and key.quality == "fast" and key.plain:
            return Keyed(picture, choice.settings)
        if overlay.index not in self._keyers:
            self._keyers[overlay.index] = OverlayKeyer(
                key, self.sheet.light, choice, lambda: self._pictures(overlay, key, overlay.start)
            )
        return self._keyers[overlay.index](self._pictures(overlay, key, frame))

    def _pictures(self, overlay: Overlay, key: Key, frame: int) -> Pictures:
        """Find everything that a key looks at."""
        others = {name: self._sources[name].picture(frame, overlay.start) for name in key.sources}
        return Pictures(self.recorded(overlay, frame), others)

    def _presence(self, overlay: Overlay, frame: int) -> tuple[float, Reveal | None]:
        """Opacity and reveal of an overlay, from its pose and its transitions."""
        opacity = overlay.pose(frame).opacity
        presence = overlay.presence(frame)
        if presence is None:
            return opacity, None
        transition, share = presence
        began = overlay.start if transition is overlay.enter else overlay.stop - transition.length
        effect = self._effect(transition, began, frame)
        share = reached(effect, transition.modifiers, share)
        if isinstance(effect, Wipe | Move):
            return opacity, Reveal(effect, share)
        return opacity * share, None

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
        stopping.go_on()
        base = self._base(index)
        overlays = tuple(
            self.overlay(overlay, index) for overlay in self.sheet.overlays if overlay.seen(index)
        )
        return Frame(base, overlays, self.sheet.light)
