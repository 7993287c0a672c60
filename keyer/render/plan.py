"""From names to things: a sheet is checked against its files and patterns and made into frames.

Everything that is wrong is reported at once, each fault with its path and
line; after that, `Plan.frame` cannot fail but for a file that breaks while it
is read.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import TracebackType
from typing import Any, Self

from keyer.errors import Fault, InputFileError, KeyerError
from keyer.kinds.picture import Picture
from keyer.kinds.settings import KeySettings
from keyer.library import load_patterns
from keyer.measure.auto_key import auto_settings
from keyer.measure.backing import Backing, survey_backing
from keyer.pixel import generate
from keyer.pixel.load import load
from keyer.render.fields import held_field
from keyer.render.frame import Base, Effect, Fade, Frame, Keyed, Laid, Mix, Reveal, Wipe
from keyer.render.frame import Overlay as FrameOverlay
from keyer.render.sources import OnAir
from keyer.sheet.effect import Key, Transition
from keyer.sheet.sheet import Cue, Overlay, Sheet
from keyer.titles.moving import TimedTitle


class KeyChoice:
    """What was surveyed and chosen for a chroma key, kept for the report.

    Attributes
    ----------
    backing : Backing
    settings : KeySettings
    reasons : tuple of str
        Sentences: what was found and what was chosen.
    """

    def __init__(self, backing: Backing, settings: KeySettings, reasons: tuple[str, ...]) -> None:
        self.backing = backing
        self.settings = settings
        self.reasons = reasons


def choose_key(picture: Picture, key: Key) -> KeyChoice:
    """Survey a picture's backing and settle every setting that the key leaves open.

    Parameters
    ----------
    picture : Picture
    key : Key
        A chroma key.

    Returns
    -------
    KeyChoice

    Raises
    ------
    NoBackingError
        If the picture shows no backing of the hue asked for.
    SettingError
        If a setting is out of range.
    """
    given: dict[str, Any] = {
        "acceptance_deg": key.acceptance_deg,
        "clip_percent": key.clip_percent,
        "gain": key.gain,
    }
    given = {name: value for name, value in given.items() if value is not None}
    replace(_NEUTRAL, spill_percent=key.spill_percent, **given)  # refuses what is out of range
    planes = load(picture)
    backing = survey_backing(planes, picture.matrix, key.hue)
    hue = None if isinstance(key.hue, str) else key.hue % 360
    chosen = auto_settings(
        planes, backing, picture.matrix, hue_deg=hue, spill_percent=key.spill_percent
    )
    by_hand = tuple(f"{_WORDS[name]} {value:g} as asked." for name, value in given.items())
    automatic = tuple(
        reason for name, reason in zip(_WORDS, chosen.reasons, strict=True) if name not in given
    )
    settings = replace(chosen.settings, **given)
    return KeyChoice(backing, settings, backing.reasons + automatic + by_hand)


_NEUTRAL = KeySettings(0.0, 90.0, 0.0, 1.0, 100.0, (0.0, 1.0, 0.0))
_WORDS = {"acceptance_deg": "Acceptance", "clip_percent": "Clip", "gain": "Gain"}


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
        self.notices: list[str] = []
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
            short = gone - began - lasts
            self.notices.append(
                f"{path}: {name} ends {short} frames before it goes off air; its last picture "
                "stays. Set loop or hold, or cut earlier."
            )

    def _cue_picture(self, cue: Cue, frame: int) -> Picture:
        if cue.source is None:
            video = self.sheet.format
            return generate.colour(video.width, video.height, cue.transition.colour)
        return self._sources[cue.source].picture(frame, cue.at)

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
        lettering = self._sources[overlay.source].lettering(frame, overlay.start)
        opacity = overlay.pose(frame).opacity
        presence = overlay.presence(frame)
        reveal = None
        if presence is not None:
            transition, share = presence
            began = (
                overlay.start if transition is overlay.enter else overlay.stop - transition.length
            )
            passed = frame - began
            if transition.kind == "wipe":
                reveal = Reveal(self._wipe(transition, passed), share)
            else:
                opacity *= share
        if lettering and overlay.key is None:
            return Laid(lettering.picture, opacity, reveal, lettering.left, lettering.top)
        picture = self._sources[overlay.source].picture(frame, overlay.start)
        if overlay.key is None:
            return Laid(picture, opacity, reveal)
        return Keyed(picture, self.key_choice(overlay).settings, opacity, reveal)

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
