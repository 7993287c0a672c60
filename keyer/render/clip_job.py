"""What is asked of a clip, settled: its sheet, shape, pictures, slate and sounds."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from keyer.errors import SettingError, TimeError
from keyer.kinds.timing import frames_per_day, timecode
from keyer.media.animated import ANIMATED
from keyer.media.files import Files, PathLike
from keyer.media.stretch import Stretch
from keyer.render.clip_shape import Shape, clip_shape
from keyer.render.inputs import sheet_inputs
from keyer.render.slate import Slate, slate_of
from keyer.render.sound import duck_words, sheet_sound
from keyer.sheet.sheet import Sheet
from keyer.sheet.source import Clear
from keyer.sheet.textless import textless as without_text


@dataclass(frozen=True)
class ClipJob:
    """A clip that is to be made.

    Attributes
    ----------
    sheet : Sheet
        Without its titles, if they are left out.
    output : Path
    files : Files
        Knows the inputs and the output.
    shape : Shape
    first, last : int
        Frames of the sheet, `last` excluded.
    slate : Slate or None
    sounds : tuple of Stretch
    notices : tuple of str
    """

    sheet: Sheet
    output: Path
    files: Files
    shape: Shape
    first: int
    last: int
    slate: Slate | None
    sounds: tuple[Stretch, ...]
    notices: tuple[str, ...]

    @property
    def led(self) -> int:
        """Frames of the slate."""
        return 0 if self.slate is None else self.slate.frames

    @property
    def count(self) -> int:
        """How many pictures it has."""
        return len(range(self.first - self.led, self.last, self.shape.step))

    @property
    def numbers(self) -> Sequence[int]:
        """Frames of the sheet that are drawn; two make a picture of two fields."""
        return range(self.first, self.last, 1 if self.shape.fields else self.shape.step)

    @property
    def timecode(self) -> str:
        """Of the first picture, the slate's if there is one."""
        return _timecode(self.sheet, self.shape, self.first - self.led)


def clip_job(
    sheet: Sheet,
    output: PathLike,
    *,
    codec: str | None = None,
    start: str | float | None = None,
    end: str | float | None = None,
    scale: float | None = None,
    interlace: bool = False,
    slate: bool = False,
    textless: bool = False,
    force: bool = False,
) -> ClipJob:
    """Settle what is asked of a clip.

    Parameters
    ----------
    sheet, output, codec, start, end, scale, interlace, slate, textless, force
        As in `keyer.render.clip.render_clip`.

    Raises
    ------
    SheetError, InputFileError, TimeError, SettingError, OutputError
    """
    output = Path(output)
    files = Files(sheet_inputs(sheet), force=force)
    bare: tuple[str, ...] = ()
    if textless:
        sheet, bare = without_text(sheet)
    shape = clip_shape(
        sheet.format, output, codec, scale, clear=_of_nothing(sheet), interlace=interlace
    )
    first, last = _span(sheet, start, end)
    if shape.fields is not None:
        _even(sheet, first, last)
    files.write(output)
    stretches, notices = sheet_sound(sheet)
    notices += duck_words(sheet, stretches)
    ahead = slate_of(sheet, first, last, textless=textless) if slate else None
    if ahead is not None and shape.codec in ANIMATED:
        demand = f"stands before clips, and {shape.codec} plays in a loop. Leave it out."
        raise SettingError(demand, "slate")
    if stretches and shape.codec in ANIMATED:
        notices, stretches = [f"{shape.codec} holds no sound; it is left out."], []
    notices += [f"left out: {', '.join(bare)}."] if bare else []
    return ClipJob(
        sheet, output, files, shape, first, last, ahead, tuple(stretches), tuple(notices)
    )


def _span(sheet: Sheet, start: str | float | None, end: str | float | None) -> tuple[int, int]:
    first = 0 if start is None else sheet.frame(start, "from")
    last = sheet.length if end is None else sheet.frame(end, "to", end=True)
    if last <= first:
        msg = f"to must come after from, got frames {first} and {last}."
        raise TimeError(msg)
    return first, last


def _even(sheet: Sheet, first: int, last: int) -> None:
    """See that frames can be taken two by two, the first of them on a whole timecode."""
    if (last - first) % 2 or (first + sheet.start) % 2:
        msg = (
            "interlace needs an even first frame and an even number of frames, got frames "
            f"{first} to {last}. Move from or to by a frame."
        )
        raise TimeError(msg)


def _timecode(sheet: Sheet, shape: Shape, first: int) -> str:
    """Timecode of the first picture; interlaced ones are counted at their own rate.

    A slate before midnight stands in the day before.
    """
    if shape.fields is None:
        day, drop = frames_per_day(sheet.format.rate, drop=sheet.drop), sheet.drop
        return timecode((first + sheet.start) % day, sheet.format.rate, drop=drop)
    day = frames_per_day(shape.rate, drop=sheet.drop)
    return timecode((first + sheet.start) // 2 % day, shape.rate, drop=sheet.drop)


def _of_nothing(sheet: Sheet) -> bool:
    shown = (sheet.sources[cue.source] for cue in sheet.cues if cue.source is not None)
    return any(isinstance(source.content, Clear) for source in shown)
