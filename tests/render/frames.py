"""Frames of pictures in memory, written short, as nodes; and what they are worked out to."""

from dataclasses import dataclass, field
from fractions import Fraction

import numpy as np

from keyer.kinds.field import Modifiers
from keyer.kinds.formats import VideoFormat
from keyer.kinds.settings import Edge
from keyer.library import load_patterns
from keyer.render import between as nodes
from keyer.render.effect import Effect, in_light
from keyer.render.evaluate import Evaluator, Whole
from keyer.render.fine import WholeNode
from keyer.render.graph import Layer
from keyer.render.keyed import KeyPlan
from keyer.render.keying import Key
from keyer.render.leaves import Clear, Colour, Lettering, given
from keyer.render.session import Session
from keyer.render.sinks import coded as coded_sink
from keyer.render.sinks import pictures
from keyer.sheet.sheet import Overlay
from keyer.titles.ink import Canvas
from keyer.titles.layers import Drawn


@dataclass(frozen=True)
class Mix:
    """Two pictures weighed."""

    kind: str = "mix"

    def node(self, first, second, progress, *_):
        return nodes.mixed(first, second, progress, self.kind)


@dataclass(frozen=True)
class Fade:
    """Through, to or from a colour."""

    colour: tuple = (0.0, 0.0, 0.0)
    part: str = "through"

    def node(self, first, second, progress, light, _):
        colour = in_light(Colour(self.colour, second.width, second.height), light)
        return nodes.faded(first, second, progress, colour, self.part)


@dataclass(frozen=True)
class Move:
    """A push or a slide."""

    kind: str
    side: str

    def node(self, first, second, progress, *_):
        return nodes.moved(first, second, progress, self.kind, self.side)


@dataclass(frozen=True, eq=False)
class Wipe:
    """A pattern, by its name."""

    pattern: object
    edge: Edge = field(default_factory=Edge)
    seconds: float = 0.0
    border: object = None
    modifiers: Modifiers = field(default_factory=Modifiers)
    pixel_aspect: float = 1.0

    def node(self, first, second, progress, light, within):
        named = isinstance(self.pattern, str)
        return nodes.wiped(
            first,
            second,
            progress,
            pattern=load_patterns().find(self.pattern) if named else self.pattern,
            modifiers=self.modifiers,
            edge=self.edge,
            pixel_aspect=self.pixel_aspect,
            seconds=self.seconds,
            border=None if self.border is None else in_light(given(self.border), light),
            light=light,
            within=within,
        )


@dataclass(frozen=True, eq=False)
class Base:
    """One picture, or two with an effect between them."""

    first: object
    second: object = None
    effect: object = field(default_factory=Mix)
    progress: float = 0.0

    def node(self, light):
        first = in_light(given(self.first), light)
        if self.second is None:
            return first
        second = in_light(given(self.second), light)
        return self.effect.node(first, second, self.progress, light, False)


@dataclass(frozen=True, eq=False)
class Reveal:
    """Brings an overlay in."""

    effect: object
    progress: float


@dataclass(frozen=True, eq=False)
class Ink(WholeNode):
    """A premultiplied picture in memory."""

    of: object
    name: int
    fill: object = field(compare=False)
    matte: object = field(compare=False)

    def prepare(self, _):
        return Whole(self.fill, self.matte)

    @property
    def inputs(self):
        return ()


class _Overlay:
    opacity = 1.0
    reveal = None

    def layer(self, size, path):
        node = self.subject(size)
        if self.reveal is not None:
            clear = Clear(*size)
            effect, progress = self.reveal.effect, self.reveal.progress
            node = effect.node(clear, node, progress, "video", True)
        return Layer(nodes.there(node, self.opacity), path)


@dataclass(frozen=True, eq=False)
class Keyed(_Overlay):
    """A picture laid over through a fast key."""

    picture: object
    settings: object
    opacity: float = 1.0
    reveal: object = None

    def subject(self, _):
        return Key(given(self.picture), self.settings, self.picture.matrix)


@dataclass(frozen=True, eq=False)
class Matted(_Overlay):
    """A premultiplied subject laid over."""

    fill: object
    matte: object
    opacity: float = 1.0
    reveal: object = None
    shade: object = None

    def subject(self, size):
        clear = Clear(*size)
        node = Ink(clear, id(self.fill), self.fill, self.matte)
        if self.shade is None:
            return node
        black = Ink(clear, id(self.shade), np.zeros_like(self.fill), self.shade)
        return Effect(black, (Layer(node),))


@dataclass(frozen=True, eq=False)
class Laid(_Overlay):
    """A picture laid over through its own alpha, perhaps a small one."""

    picture: object
    opacity: float = 1.0
    reveal: object = None
    left: int = 0
    top: int = 0

    def subject(self, size):
        if (self.picture.width, self.picture.height) == size:
            return given(self.picture)
        drawn = Drawn(self.picture, self.left, self.top, Canvas(*size, 1.0), ())
        return Lettering((id(self.picture), self.left, self.top), *size, lambda: drawn)


@dataclass(frozen=True, eq=False)
class Frame:
    """Overlays over a base."""

    base: Base
    overlays: tuple = ()
    light: str = "video"

    @property
    def node(self):
        base = self.base.node(self.light)
        size = base.width, base.height
        layers = [o.layer(size, f"overlays[{i}]") for i, o in enumerate(self.overlays)]
        return Effect(base, tuple(layers), self.light)


def compose(frame, depth=np.uint8, **how):
    """Work a frame out as an opaque picture."""
    return pictures.picture(frame.node, Evaluator(), depth, **how)


def compose_clear(frame, **how):
    """Work a frame out as a picture with alpha."""
    return pictures.picture(frame.node, Evaluator(), np.float32, alpha=True, **how)


def compose_matte(overlay):
    """Work a keyed subject out: premultiplied fill, and matte."""
    size = overlay.picture.width, overlay.picture.height
    found = pictures.subject(overlay.subject(size), Evaluator())
    return found.planes, found.alpha


def compose_coded(frame, out, **how):
    """Work a frame out into coded planes."""
    coded_sink.coded(frame.node, Evaluator(), out, **how)


class InMemory:
    """A source whose pictures are at hand, one a frame; the last one stays."""

    def __init__(self, *pictures):
        first = pictures[0]
        self.pictures, self.matrix = pictures, first.matrix
        self.video = VideoFormat("", first.width, first.height, Fraction(25), Fraction(1), "bt709")

    def node(self, frame, _=0):
        return given(self.pictures[min(frame, len(self.pictures) - 1)])


class ByKey(_Overlay):
    """An overlay with a key as a sheet has it, over pictures in memory."""

    def __init__(self, key, *pictures, light="video", session=None, **others):
        sources = {name: InMemory(picture) for name, picture in others.items()}
        sources["own"] = InMemory(*pictures)
        self.session = session or Session()
        self.plan = KeyPlan(Overlay(0, "own", 0, 99, key), sources, self.session, light)
        self.frame = 0

    def subject(self, _):
        node, shadow = self.plan.subject(self.frame), self.plan.shadow(self.frame)
        return node if shadow is None else Effect(shadow, (Layer(node),))

    def at(self, frame):
        """Work the subject out at a frame."""
        return pictures.subject(self.plan.subject(frame), self.session.evaluator)

    @property
    def fill(self):
        return self.at(self.frame).planes

    @property
    def matte(self):
        return self.at(self.frame).alpha

    @property
    def shade(self):
        return pictures.subject(self.plan.shadow(self.frame), self.session.evaluator).alpha
