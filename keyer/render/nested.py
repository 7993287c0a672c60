"""An effect as a source: one of the sheet's own, or another sheet."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import TYPE_CHECKING

from keyer.errors import SettingError
from keyer.kinds.formats import VideoFormat
from keyer.kinds.picture import Matrix
from keyer.render.clock import Clock
from keyer.render.correcting import corrected
from keyer.render.graph import Node
from keyer.render.placing import fitted
from keyer.sheet.source import Source

if TYPE_CHECKING:
    from keyer.render.plan import Plan


class Nested:
    """A planned effect, ready to show its pictures; what is clear in it stays clear.

    Parameters
    ----------
    source : Source
    video : VideoFormat
        What its pictures are fitted to.
    plan : Plan
        Of the effect.

    Raises
    ------
    TimeError
        If its in or out lies outside the effect.
    """

    title = None

    def __init__(self, source: Source, video: VideoFormat, plan: Plan) -> None:
        self.source, self.video = source, video
        self.plan = plan
        own = plan.sheet.format
        self._clock = Clock(
            source, video.rate, *source.window(own.rate, plan.sheet.length), own.rate
        )

    @property
    def notices(self) -> tuple[str, ...]:
        """What had to be assumed within another sheet; of an effect, the sheet itself says it."""
        return () if self.plan.sheet.prefix else tuple(self.plan.notices)

    def seconds(self, frame: int, came_on_air: int) -> Fraction | None:
        """Say how far into the effect the picture stands that is due."""
        return self._clock.seconds(frame, came_on_air)

    @property
    def deep(self) -> bool:
        """Whether its base shows a file of more than 8 bits."""
        return self.plan.deep

    @property
    def matrix(self) -> Matrix:
        """Luma coefficients of its pictures."""
        return self.plan.sheet.format.matrix

    def frames_on_air(self) -> int | None:
        """Frames of the sheet that it lasts; None for one without end."""
        return self._clock.frames_on_air()

    def node(self, frame: int, came_on_air: int = 0, goes_off: int | None = None) -> Node:  # noqa: ARG002
        """Describe the picture that is due, as `keyer.render.sources.OpenSource.node`."""
        own = self.plan.sheet.format
        node = fitted(
            self.plan.frame(self._clock.index(frame, came_on_air)),
            self.video.width,
            self.video.height,
            own.pixel_aspect / self.video.pixel_aspect,
            self.source.fit,
            self.source.keep,
        )
        return corrected(node, self.source.correction, self.matrix)

    def refill(self, fields: Mapping[str, str]) -> None:  # noqa: ARG002  it has none
        """Refuse title fields: an effect or a sheet has none."""
        msg = f"source {self.source.name!r} must be a title to be filled."
        raise SettingError(msg)
