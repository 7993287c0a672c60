"""The library's face: numpy arrays in, numpy arrays out.

Pictures are rows x columns x channels (uint8, uint16 or float32 R'G'B', a
fourth channel being straight alpha); results have the depth of the first
picture. Everything is composed by the one renderer.
"""

from __future__ import annotations

from typing import Any

from numpy.typing import DTypeLike, NDArray

from keyer.errors import FrameShapeError
from keyer.kinds.field import Modifiers
from keyer.kinds.picture import Matrix, RgbPicture
from keyer.kinds.ranges import in_range, one_of
from keyer.kinds.settings import Edge, KeySettings, Light, MixKind, parse_colour
from keyer.measure.auto_key import auto_settings
from keyer.measure.backing import Backing
from keyer.measure.backing import survey_backing as _survey
from keyer.measure.coverage import Coverage, measure_coverage
from keyer.measure.spill import Spill
from keyer.measure.spill import measure_spill as _measure_spill
from keyer.pixel.colour.load import from_array, load, to_array
from keyer.render.between import mixed
from keyer.render.effect import Effect, in_light
from keyer.render.evaluate import Evaluator
from keyer.render.graph import Layer, Node
from keyer.render.keying import Key
from keyer.render.leaves import given
from keyer.render.sinks.pictures import picture
from keyer.sheet.effect import Transition

Array = NDArray[Any]


def _pair(a: Array, b: Array, names: tuple[str, str]) -> tuple[RgbPicture, RgbPicture]:
    """Take two pictures of one size in."""
    first, second = from_array(a, name=names[0]), from_array(b, name=names[1])
    if first.planes.shape != second.planes.shape:
        msg = (
            f"{names[1]} must have the size of {names[0]}, {first.width} x {first.height}, "
            f"got {second.width} x {second.height}. Resize it first."
        )
        raise FrameShapeError(msg)
    return first, second


def _made(node: Node, depth: DTypeLike) -> Array:
    return to_array(picture(node, Evaluator(), depth))


def mix(a: Array, b: Array, at: float, *, kind: MixKind = "mix", light: Light = "video") -> Array:
    """Mix two pictures.

    Parameters
    ----------
    a, b : (H, W, 3) uint8, uint16 or float32
    at : float
        Progress: 0 is exactly `a`, 1 exactly `b`.
    kind : {"mix", "additive", "non-additive"}
        `mix` and `additive` are the weighted sum; `non-additive` takes the
        brighter of the two weighted pictures in each component.
    light : {"video", "linear"}
        Mix the coded values, or light (BT.709-6 item 1.2).

    Returns
    -------
    (H, W, 3) of the depth of `a`

    Raises
    ------
    FrameShapeError, SettingError
    """
    one_of("kind", kind, ("mix", "additive", "non-additive"))
    one_of("light", light, ("video", "linear"))
    share = in_range("at", at, 0, 1, "0 is A, 1 is B.")
    first, second = _pair(a, b, ("a", "b"))
    mix_of = mixed(in_light(given(first), light), in_light(given(second), light), share, kind)
    return _made(Effect(mix_of, light=light), first.planes.dtype)


def wipe(
    a: Array,
    b: Array,
    at: float,
    pattern: str | int = "barWipe/leftToRight",
    *,
    soft: float = 0.0,
    border: float = 0.0,
    border_soft: float = 0.0,
    border_colour: str = "#FFFFFF",
    border_ramp: str | None = None,
    border_picture: Array | None = None,
    light: Light = "video",
    pixel_aspect: float = 1.0,
    modifiers: Modifiers | None = None,
    colour: str = "#000000",
) -> Array:
    """Wipe from one picture to another.

    Parameters
    ----------
    a, b : (H, W, 3) uint8, uint16 or float32
    at : float
        Progress: 0 is exactly `a`, 1 exactly `b`.
    pattern : str or int
        SMIL `type/subtype` or SMPTE wipe code; see `keyer patterns`.
    soft, border, border_soft : float
        Percent of picture height, along the normal of the edge.
    border_colour : str
        `#RRGGBB`.
    border_ramp : str, optional
        `#RRGGBB` into which the border runs on the side of `b`.
    border_picture : (H, W, 3), optional
        Fills the border instead of its colours.
    light : {"video", "linear"}
    pixel_aspect : float
        Width of a pixel over its height.
    modifiers : Modifiers, optional
        `reverse`, `position`, `rotation` and what else may be done to a pattern.
    colour : str
        `#RRGGBB` of the patterns that fade to or from a colour.

    Returns
    -------
    (H, W, 3) of the depth of `a`

    Raises
    ------
    FrameShapeError, SettingError
    """
    from keyer.library import load_patterns
    from keyer.render.patterns import between, refuse_misfits

    ramp = None if border_ramp is None else parse_colour(border_ramp, "border_ramp")
    edge = Edge(soft, border, border_soft, parse_colour(border_colour, "border_colour"), ramp)
    transition = Transition(
        "wipe",
        length=1,
        colour=parse_colour(colour),
        pattern=pattern,
        edge=edge,
        modifiers=modifiers or Modifiers(),
        border_source=None if border_picture is None else "border_picture",
    )
    found = load_patterns().find(pattern)
    refuse_misfits(transition, found)
    one_of("light", light, ("video", "linear"))
    share = in_range("at", at, 0, 1, "0 is A, 1 is B.")
    first, second = _pair(a, b, ("a", "b"))
    third = None
    if border_picture is not None:
        third = in_light(given(_pair(a, border_picture, ("a", "border_picture"))[1]), light)
    node = between(
        in_light(given(first), light),
        in_light(given(second), light),
        transition,
        found,
        share,
        pixel_aspect=pixel_aspect,
        border=third,
        light=light,
    )
    return _made(Effect(node, light=light), first.planes.dtype)


def survey_backing(
    picture: Array, *, hue: str | float = "auto", matrix: Matrix = "bt709"
) -> Backing:
    """Find the backing of a key plate and measure it.

    Parameters
    ----------
    picture : (H, W, 3) uint8, uint16 or float32
    hue : {"auto", "green", "blue"} or float
        Where to look; degrees on the vectorscope.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    Backing

    Raises
    ------
    FrameShapeError, SettingError
    NoBackingError
        If the picture shows none.
    """
    return _survey(load(from_array(picture)), matrix, hue)


def chroma_key(
    foreground: Array,
    background: Array,
    settings: KeySettings | None = None,
    *,
    matrix: Matrix = "bt709",
) -> Array:
    """Key a subject over a background with the fast chroma key.

    Parameters
    ----------
    foreground, background : (H, W, 3) uint8, uint16 or float32
    settings : KeySettings, optional
        Default: chosen from the foreground. Give them where many frames are to
        be keyed alike.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    (H, W, 3) of the depth of `foreground`

    Raises
    ------
    FrameShapeError, SettingError
    NoBackingError
        If no settings are given and the foreground shows no backing.
    """
    over, under = _pair(foreground, background, ("foreground", "background"))
    keyed = _keyed(over, settings, matrix)
    return _made(Effect(given(under), (Layer(keyed),)), over.planes.dtype)


def cut_out(
    foreground: Array, settings: KeySettings | None = None, *, matrix: Matrix = "bt709"
) -> Array:
    """Cut a subject out with the fast chroma key: its colour, and the matte as alpha.

    Parameters
    ----------
    foreground : (H, W, 3) uint8, uint16 or float32
    settings : KeySettings, optional
        Default: chosen from the foreground.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    (H, W, 4) of the depth of `foreground`
        Straight colour; the fourth channel is the matte, full where the subject is solid.

    Raises
    ------
    FrameShapeError, SettingError
    NoBackingError
        If no settings are given and the foreground shows no backing.
    """
    whole = from_array(foreground, name="foreground")
    keyed = _keyed(whole, settings, matrix)
    return to_array(picture(keyed, Evaluator(), whole.planes.dtype, alpha=True))


def _keyed(plate: RgbPicture, settings: KeySettings | None, matrix: Matrix) -> Key:
    """Key a plate, by settings of its own if none are given."""
    if settings is None:
        planes = load(plate)
        settings = auto_settings(planes, _survey(planes, matrix), matrix).settings
    return Key(given(RgbPicture(plate.planes, matrix=matrix)), settings, matrix)


def measure_matte(matte: Array) -> Coverage:
    """Measure what a matte covers.

    Parameters
    ----------
    matte : (H, W) uint8, uint16 or float32
        White = subject.

    Returns
    -------
    Coverage
    """
    return measure_coverage(load(from_array(matte, name="matte"))[0])


def measure_spill(
    picture: Array, matte: Array, hue_deg: float, *, matrix: Matrix = "bt709"
) -> Spill:
    """Measure the spill on a subject.

    Parameters
    ----------
    picture : (H, W, 3) uint8, uint16 or float32
        Straight colour.
    matte : (H, W) uint8, uint16 or float32
        White = subject.
    hue_deg : float
        Key hue on the vectorscope.
    matrix : {"bt601", "bt709"}

    Returns
    -------
    Spill
    """
    colour = load(from_array(picture))
    cover = load(from_array(matte, name="matte"))[0]
    if cover.shape != colour.shape[1:]:
        msg = f"matte must have the picture's size, {colour.shape[1:]}, got {cover.shape}."
        raise FrameShapeError(msg)
    return _measure_spill(colour, cover, hue_deg, matrix)
