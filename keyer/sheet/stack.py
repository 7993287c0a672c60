"""Cues, and the overlays over them, as the renderer takes them: names checked, times in frames."""

from __future__ import annotations

from dataclasses import dataclass, field

from keyer.kinds.settings import BoxLook
from keyer.kinds.timing import eased
from keyer.sheet.effect import CUT, Key, Keyframe, Pose, Transition, between
from keyer.sheet.words import Flip


@dataclass(frozen=True)
class Standing:
    """Where a picture stands in the frame, how it moves, and what it has about it.

    Attributes
    ----------
    crop : tuple of four floats
        Cut off at left, top, right and bottom, percent.
    flip : {"none", "left-right", "up-down", "both"}
    look : BoxLook
        Border, corners and drop shadow.
    keyframes : tuple of Keyframe
        At least one.
    """

    crop: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    flip: Flip = "none"
    look: BoxLook = field(default_factory=BoxLook)
    keyframes: tuple[Keyframe, ...] = (Keyframe(0, Pose()),)

    def pose(self, local: int) -> Pose:
        """Return the pose at a frame, between the keyframes around it.

        Parameters
        ----------
        local : int
            Counted from where it comes on air, as the keyframes are.

        Returns
        -------
        Pose
            The first keyframe's before it, the last one's after it.
        """
        before = self.keyframes[0]
        for after in self.keyframes:
            if after.at > local:
                if after is before:
                    return before.pose
                share = eased(before.curve, (local - before.at) / (after.at - before.at))
                return between(before.pose, after.pose, share)
            before = after
        return before.pose


@dataclass(frozen=True)
class Cue:
    """From frame `at` on the base goes to a source, and stays until the next cue's transition ends.

    Attributes
    ----------
    index : int
        0 is the first cue.
    source : str or None
        None: the colour of the fade.
    at : int
        First mixed frame.
    transition : Transition
    name, note : str
    standing : Standing or None
        Where its picture stands; None: it fills the frame.
    """

    index: int
    source: str | None
    at: int
    transition: Transition = CUT
    name: str = ""
    note: str = ""
    standing: Standing | None = None


@dataclass(frozen=True)
class BaseFrame:
    """What the base shows at one frame.

    Attributes
    ----------
    cue : Cue
        The cue that the frame belongs to.
    before : Cue or None
        The cue that it comes from, while both are seen; None otherwise, and
        None in a fade from a colour on the first cue.
    progress : float or None
        Of the cue's transition; None when it is over.
    """

    cue: Cue
    before: Cue | None = None
    progress: float | None = None


@dataclass(frozen=True)
class Overlay:
    """A source over the base, seen from frame `start` up to and without `stop`.

    Attributes
    ----------
    index : int
        0 lies lowest.
    source : str
    start, stop : int
    key : Key or None
        None: through its own alpha, or the whole picture.
    enter, leave : Transition
        The first frames from `start`, the last ones before `stop`.
    crop : tuple of four floats
        Cut off at left, top, right and bottom, percent.
    flip : {"none", "left-right", "up-down", "both"}
    look : BoxLook
        Border, corners and drop shadow.
    keyframes : tuple of Keyframe
        At least one.
    name, note : str
    """

    index: int
    source: str
    start: int
    stop: int
    key: Key | None = None
    enter: Transition = CUT
    leave: Transition = CUT
    crop: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    flip: Flip = "none"
    look: BoxLook = field(default_factory=BoxLook)
    keyframes: tuple[Keyframe, ...] = (Keyframe(0, Pose()),)
    name: str = ""
    note: str = ""

    def seen(self, frame: int) -> bool:
        """Whether the overlay is on air at a frame of the sheet."""
        return self.start <= frame < self.stop

    def presence(self, frame: int) -> tuple[Transition, float] | None:
        """Find the transition that a frame of the sheet is in.

        Parameters
        ----------
        frame : int
            Of the sheet.

        Returns
        -------
        tuple of Transition and float, or None
            With the overlay's share: 0 is not seen, 1 fully there; None when
            it is fully there.
        """
        coming = frame - self.start
        if coming < self.enter.length:
            return self.enter, self.enter.progress(coming)
        going = frame - (self.stop - self.leave.length)
        if going >= 0:
            return self.leave, 1.0 - self.leave.progress(going)
        return None

    @property
    def standing(self) -> Standing:
        """Where it stands, and what it has about it."""
        return Standing(self.crop, self.flip, self.look, self.keyframes)

    def pose(self, frame: int) -> Pose:
        """Where the overlay stands at a frame of the sheet; as `Standing.pose`."""
        return self.standing.pose(frame - self.start)


@dataclass(frozen=True)
class NamedEffect:
    """Cues and overlays under a name, for a source to show.

    Attributes
    ----------
    length : int
        Frames.
    cues : tuple of Cue
    overlays : tuple of Overlay
    note : str
    """

    length: int
    cues: tuple[Cue, ...]
    overlays: tuple[Overlay, ...] = ()
    note: str = ""
