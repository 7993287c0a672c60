"""How the pictures of one overlay are keyed, frame by frame."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from keyer.kinds.settings import Light
from keyer.render.choose import KeyChoice
from keyer.render.fine import Fine, Plate
from keyer.render.finishing import Finished, Masks, Shadow
from keyer.render.graph import Node
from keyer.render.keying import Key as FastKey
from keyer.render.keying import Level
from keyer.render.nested import Nested
from keyer.render.session import Session
from keyer.render.sources import OpenSource
from keyer.sheet.effect import Key
from keyer.sheet.masks import Mask
from keyer.sheet.sheet import Overlay


class KeyPlan:
    """Plans the key of an overlay: its settings, plate, masks and shadow.

    Parameters
    ----------
    overlay : Overlay
        With a key.
    sources : mapping of str to OpenSource or Nested
    session : Session
        Chooses what a chroma key leaves open.
    light : {"video", "linear"}
        In which the subject is laid.
    chosen : callable, optional
        Chooses what the key leaves open, from larger pictures.
    """

    def __init__(
        self,
        overlay: Overlay,
        sources: Mapping[str, OpenSource | Nested],
        session: Session,
        light: Light,
        chosen: Callable[[], KeyChoice] | None = None,
    ) -> None:
        if overlay.key is None:
            msg = "overlay has no key"
            raise AssertionError(msg)
        self._overlay, self._key = overlay, overlay.key
        self._sources, self._session, self._light = sources, session, light
        self._source = sources[overlay.source]
        self._choice: KeyChoice | None = None
        self._chosen = chosen

    def choice(self) -> KeyChoice:
        """Choose what the key leaves open, once, on the first picture that it is shown.

        Raises
        ------
        NoBackingError
            If that picture shows no backing of the hue asked for.
        """
        if self._choice is None and self._chosen is not None:
            self._choice = self._chosen()
        if self._choice is None:
            first, start = self._overlay, self._overlay.start
            recorded = self._sources[first.source].node(start, start)
            self._choice = self._session.choice(recorded, self._source.matrix, self._key)
        return self._choice

    def _node(self, name: str, frame: int) -> Node:
        return self._sources[name].node(frame, self._overlay.start)

    def _clean(self, frame: int) -> Node | None:
        plate = self._key.clean_plate
        return None if plate is None else self._node(plate, frame)

    def plate(self, frame: int) -> Plate:
        """Describe the plate of a chroma key, with its backing."""
        choice = self.choice()
        return Plate(
            self._node(self._overlay.source, frame),
            self._clean(frame),
            choice.backing.rgb,
            choice.backing.noise_percent / 100,
            choice.settings.hue_deg,
            self._key.spill_percent,
            self._source.matrix,
        )

    def _bare(self, frame: int) -> Node:
        """Describe the subject as it is keyed, nothing done to its matte by hand."""
        key, recorded = self._key, self._node(self._overlay.source, frame)
        clip = 0.0 if key.clip_percent is None else key.clip_percent
        gain = 1.0 if key.gain is None else key.gain
        if key.kind == "chroma" and key.quality == "fine":
            return Fine(self.plate(frame), self.plate(self._overlay.start), clip, gain)
        if key.kind == "chroma":
            return FastKey(recorded, self.choice().settings, self._source.matrix)
        signal, matrix = recorded, self._source.matrix
        if key.source is not None:
            signal, matrix = self._node(key.source, frame), self._sources[key.source].matrix
        channel = key.channel if key.kind == "linear" else "luma"
        return Level(recorded, signal, channel, clip, gain, key.invert, matrix)

    def _masks(self, masks: Sequence[Mask], frame: int) -> Masks | None:
        """Join masks."""
        if not masks:
            return None
        video = self._source.video
        local = frame - self._overlay.start
        shapes = tuple(
            mask.at(local).drawn(video.width, video.height) for mask in masks if mask.shape
        )
        pictures = tuple(
            (self._node(mask.source, frame), self._sources[mask.source].matrix)
            for mask in masks
            if mask.source
        )
        return Masks(video.width, video.height, shapes, pictures)

    def by_hand(self, frame: int) -> list[Masks]:
        """List the masks under which the matte is decided by hand."""
        masks = self._masks(self._key.garbage, frame), self._masks(self._key.hold, frame)
        return [one for one in masks if one is not None]

    def subject(self, frame: int) -> Node:
        """Describe the subject at a frame, without its shadow."""
        bare, key = self._bare(frame), self._key
        if _untouched(key):
            return bare
        return Finished(
            bare,
            self._node(self._overlay.source, frame),
            self._masks(key.garbage, frame),
            self._masks(key.hold, frame),
            key.finish,
            self.choice().settings if key.kind == "chroma" else None,
            self._source.matrix,
        )

    def shadow(self, frame: int) -> Node | None:
        """Describe its shadows at a frame; None without any."""
        key = self._key
        if key.kind != "chroma" or key.shade.strength_percent == 0:
            return None
        choice = self.choice()
        return Shadow(
            self._bare(frame),
            self._node(self._overlay.source, frame),
            self._clean(frame),
            self._masks(key.garbage, frame),
            key.shade,
            choice.backing.rgb,
            choice.backing.noise_percent / 100,
            self._light,
            self._source.matrix,
        )


def _untouched(key: Key) -> bool:
    """Whether nothing is done to the matte by hand."""
    return not (key.garbage or key.hold) and key.finish == type(key.finish)()
