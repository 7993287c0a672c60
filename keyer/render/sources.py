"""Sources on air: files opened and generated pictures drawn, fitted to the format.

A source describes the picture that is due at a frame of the sheet, and brings it
when it is asked; clip time is worked out in exact fractions.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING

from keyer.errors import KeyerError, SettingError
from keyer.kinds.field import Geometry, Pattern
from keyer.kinds.formats import VideoFormat
from keyer.kinds.look import Look
from keyer.kinds.picture import Matrix, Picture, RgbPicture
from keyer.media.contract import Source as OpenFile
from keyer.media.sequence import is_pattern, sequence_files
from keyer.media.source import open_source
from keyer.pixel.compose import generate
from keyer.pixel.compose.fit import cut_off, fit
from keyer.render.clock import Clock
from keyer.render.correcting import corrected
from keyer.render.graph import Node
from keyer.render.leaves import Clear as Nothing
from keyer.render.leaves import Colour, Lettering
from keyer.render.leaves import Source as Leaf
from keyer.sheet.source import (
    Background,
    Bars,
    Checkerboard,
    Clear,
    File,
    Gradient,
    PlainColour,
    Ramp,
    Source,
    Title,
)

if TYPE_CHECKING:
    from keyer.pixel.wipes.background import Background as LaidBackground
    from keyer.titles.moving import TimedTitle
    from keyer.titles.read import DesignFile


def _drawn(source: Source, video: VideoFormat) -> Picture:
    """Draw a generated source, as it is seen with the format's pixels."""
    content, width, height, aspect = source.content, video.width, video.height, video.pixel_aspect
    match content:
        case Gradient():
            colours = content.first, content.second
            return generate.gradient(
                width, height, *colours, content.angle_deg, pixel_aspect=aspect
            )
        case Bars():
            return generate.bars(width, height, content.percent)
        case Ramp():
            return generate.ramp(width, height)
        case Checkerboard():
            colours = content.first, content.second
            return generate.checkerboard(
                width, height, *colours, squares=content.squares, pixel_aspect=aspect
            )
        case _:
            msg = "a file is opened, a title or a background laid out, all else a node"
            raise AssertionError(msg)


LEAST_LOSS = 0.005
"""Share of a picture's side that may be cut off without a word: rounding to whole pixels."""


def stamp(source: Source) -> tuple[object, ...]:
    """Tell the files of a source from others, and from themselves when changed; else nothing."""
    try:
        match source.content:
            case File(path=path):
                return _stamp(path)
            case Title(design=Path()) as title:
                from keyer.render.lettering import shown_pictures, title_parts

                design, fields, _ = title_parts(title)
                files = (*design.files(), *shown_pictures(design, fields))
                return tuple(_stamp(file) for file in files)
    except (KeyerError, OSError):
        pass  # found out, and said, when it is opened
    return ()


def _stamp(path: Path) -> tuple[object, ...]:
    """Tell a file from others, and from itself when it was changed."""
    if path.is_dir() or (is_pattern(path) and not path.exists()):
        return tuple(part for file in sequence_files(path) for part in _stamp(file))
    found = path.stat()
    return str(path), found.st_dev, found.st_ino, found.st_size, found.st_mtime_ns


class OpenSource:
    """One source of a sheet, ready to show pictures of the format's size.

    Parameters
    ----------
    source : Source
    video : VideoFormat
        What the pictures are fitted to.
    look : tuple of Look and Pattern, or None
        Of a background.

    Raises
    ------
    InputFileError
        If a file cannot be opened.
    TimeError
        If its in or out lies outside the clip.
    """

    def __init__(
        self, source: Source, video: VideoFormat, look: tuple[Look, Pattern] | None = None
    ) -> None:
        self.source = source
        self.video = video
        self._file: OpenFile | None = None
        self.title: TimedTitle | None = None
        self._design: DesignFile | None = None
        self._title_notices: tuple[str, ...] = ()
        self._look = look
        self._laid: LaidBackground | None = None
        self._turn = Lock()
        self._name: tuple[object, ...] = (source.content, video.width, video.height)
        self._clock = Clock(source, video.rate)
        if isinstance(source.content, Title):
            from keyer.render.lettering import title_parts

            self._design, fields, notices = title_parts(source.content)
            self.refill(fields)
            self._title_notices = notices + (self.title.whole.notes if self.title else ())
        if isinstance(source.content, File):
            self._file = open_source(source.content.path, video.rate)
            self._name = (_stamp(source.content.path), source.fit, source.keep, *self._name[1:])
            self._name += (self._file.props.fields, self._file.props.pixel_aspect)
            self._name += (video.pixel_aspect,)
            props = self._file.props
            if props.frames is not None:
                rate = props.rate or video.rate
                each = props.fields
                first, end = source.window(rate / each, props.frames // each)
                self._clock = Clock(source, video.rate, each * first, each * end, rate)
        if isinstance(source.content, Background):
            self._name = (look, *self._name[1:], video.pixel_aspect)
            if source.content.loop:
                self._clock = Clock(source, video.rate, 0, source.content.loop, video.rate)

    @property
    def notices(self) -> tuple[str, ...]:
        """What had to be assumed when the file was opened, and what is lost of its picture."""
        return (*self._file.props.notices, *self._cropped()) if self._file else self._title_notices

    def _cropped(self) -> Iterator[str]:
        """Say how much of a file's picture lies beyond the frame that it fills."""
        if self._file is None:
            return
        props, video = self._file.props, self.video
        lost = cut_off(
            props.width,
            props.height,
            video.width,
            video.height,
            props.pixel_aspect / video.pixel_aspect,
            self.source.fit,
        )
        sides = {"width": lost.across, "height": lost.down}
        for side, share in sides.items():
            if share > LEAST_LOSS:
                yield (
                    f"{100 * share:.0f} % of the {side} of its {props.width} x {props.height} is "
                    f"cut off, half at either end, to fill {video.width} x {video.height}."
                )

    @property
    def deep(self) -> bool:
        """Whether its file stores more than 8 bits."""
        return self._file is not None and self._file.props.bits > 8

    @property
    def matrix(self) -> Matrix:
        """Luma coefficients of its pictures."""
        if self._file is not None:
            return self._file.props.matrix
        return self.video.matrix if self.title else "bt709"

    def frames_on_air(self) -> int | None:
        """Frames of the sheet that it lasts; None for one without end."""
        return self._clock.frames_on_air()

    def seconds(self, frame: int, came_on_air: int) -> Fraction | None:
        """Say how far into its file the picture stands that is due; None for what stands still."""
        return self._clock.seconds(frame, came_on_air)

    def node(self, frame: int, came_on_air: int = 0, goes_off: int | None = None) -> Node:
        """Describe the picture that is due.

        Parameters
        ----------
        frame : int
            Of the sheet.
        came_on_air : int
            Frame of the sheet at which this showing of it began; used where
            the source has no time of its own.
        goes_off : int, optional
            Frame of the sheet at which this showing ends, for a title's way out.

        Returns
        -------
        Node
            Of the format's size. A file that cannot be decoded is found out when it is asked.
        """
        node = self._as_it_is(frame, came_on_air, goes_off)
        return corrected(node, self.source.correction, self.matrix)

    def _as_it_is(self, frame: int, came_on_air: int, goes_off: int | None) -> Node:
        """Describe the picture, not yet corrected."""
        video, content = self.video, self.source.content
        if self.title:
            on_air = None if goes_off is None else goes_off - came_on_air
            return self._lettering(self.title, frame - came_on_air, on_air)
        if isinstance(content, PlainColour):
            return Colour(content.rgb, video.width, video.height)
        if isinstance(content, Clear):
            return Nothing(video.width, video.height)
        index = self._clock.index(frame, came_on_air)
        return Leaf(
            (*self._name, index),
            video.width,
            video.height,
            lambda: self._fitted(index),
            opaque=self._file is None or self._file.props.opaque,
            matrix=self.matrix,
        )

    def _lettering(self, title: TimedTitle, local: int, on_air: int | None) -> Lettering:
        """Describe a title at a frame of its own."""
        video = self.video
        return Lettering(
            (*self._name, title.state(local, on_air)),
            video.width,
            video.height,
            lambda: title.at(local, on_air),
            matrix=video.matrix,
        )

    def refill(self, fields: Mapping[str, str]) -> None:
        """Fill a title anew.

        Parameters
        ----------
        fields : mapping
            Field name to text.

        Raises
        ------
        SettingError
            If the title cannot be made so.
        """
        content = self.source.content
        if self._design is None or not isinstance(content, Title):
            msg = f"source {self.source.name!r} must be a title to be filled."
            raise SettingError(msg)
        from keyer.render.lettering import shown_pictures, timed

        video, design = self.video, self._design
        self.title = timed(design, fields, video, allow_flash=content.allow_flash)
        said = tuple(sorted(fields.items()))
        files = (*design.picture_files(), *shown_pictures(design, fields))
        pictures = tuple(_stamp(file) for file in files)
        self._name = (design.digest, str(design.folder), pictures, said, video, content.allow_flash)

    def _fitted(self, index: int) -> Picture:
        video = self.video
        with self._turn:  # an open file serves one thread at a time
            if self._look is not None:
                return self._background(*self._look, index)
            if self._file is None:
                return _drawn(self.source, video)
            recorded = self._file.read(index)
        return fit(
            recorded,
            video.width,
            video.height,
            pixel_aspect_in=self._file.props.pixel_aspect,
            pixel_aspect_out=video.pixel_aspect,
            how=self.source.fit,
            keep=self.source.keep,
        )

    def _background(self, look: Look, pattern: Pattern, index: int) -> Picture:
        """Draw a background at a frame of its loop."""
        from keyer.pixel.wipes.background import draw_background, lay_background

        if self._laid is None:
            video = self.video
            geometry = Geometry(video.width, video.height, float(video.pixel_aspect))
            self._laid = lay_background(look, pattern, geometry)
        return RgbPicture(draw_background(self._laid, index / self._clock.end))

    def close(self) -> None:
        """Let go of the file."""
        if self._file:
            self._file.close()
