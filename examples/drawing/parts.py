"""Building blocks of drawn subjects: lit tubes, cushions, strands and glass."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import cv2
import numpy as np
from numpy.typing import NDArray

from examples.drawing import light, raster
from examples.drawing.stage import Stage, Window

Floats = NDArray[np.float32]
Points = NDArray[np.float64]

Texture = Callable[[Floats, Floats], Floats]
"""From two coordinates in picture heights to one value for each pixel."""

Cast = tuple[float, float, float, float]
"""Shadow on what lies below: strength, softness, shift right and down (picture heights)."""


def turned(points: Points, angle: float, pivot: tuple[float, float]) -> Points:
    """Turn places about a pivot, clockwise on screen, by radians."""
    c, s = np.cos(angle), np.sin(angle)
    centre = np.array(pivot)
    return np.asarray((points - centre) @ np.array([[c, s], [-s, c]]) + centre, np.float64)


def mixed(first: Floats, second: Floats, share: Floats) -> Floats:
    """Blend two linear colours by a plane of shares."""
    weight = np.asarray(share, np.float32)[..., None]
    return np.asarray(first + (second - first) * weight, np.float32)


def step(edge: float, soft: float, value: Floats) -> Floats:
    """Go smoothly from 0 below `edge` to 1 above it, over a width of `soft`."""
    t = np.clip((value - np.float32(edge)) / np.float32(soft) + np.float32(0.5), 0, 1)
    return np.asarray(t * t * (3 - 2 * t), np.float32)


def tube(
    stage: Stage,
    points: Points,
    radii: Points,
    albedo: Floats | Callable[[Floats, Floats], Floats],
    *,
    bump: Texture | None = None,
    gloss: float = 0.0,
    sharp: float = 30.0,
    sheen: float = 0.0,
    metal: float = 0.0,
    coat: float = 0.0,
    flat: float = 1.0,
    opacity: float = 1.0,
    cast: Cast | None = None,
    shade: Texture | None = None,
    cut: str = "",
    lamps: light.Lamps = light.STUDIO,
) -> None:
    """Lay a round bar along a curve.

    Parameters
    ----------
    stage : Stage
    points : (N, 2) float64
        The curve, picture heights.
    radii : (N,) float64
        Radius at each point, picture heights.
    albedo : (3,) float32 or a function
        Linear reflectance; a function takes length along and distance across
        the bar in picture heights.
    bump, shade : functions of the same coordinates, optional
        Relief in picture heights; factor on the light.
    gloss, sharp, sheen, metal, coat, lamps
        As in `light.lit`.
    flat : float
        1 is round, less is flatter.
    opacity : float
    cast : Cast, optional
    cut : {"", "start", "end", "both"}
        Ends that are cut off, as a pipe's, instead of rounded.
    """
    window = stage.window(points, float(radii.max()))
    if window is None:
        return
    if cast is not None:
        _cast_tube(stage, points, radii, cast)
    scale = window.scale
    near, along, across = raster.sweep(
        window.to_paint(points), radii * scale, window.shape, reach=3.0
    )
    along /= np.float32(scale)
    mean = np.float32(radii.mean())
    over = np.clip(across, -1, 1)
    out_x, out_y = light.slopes(np.clip(near, -1e3, 4))
    size = np.maximum(np.hypot(out_x, out_y), np.float32(1e-3))
    lean = np.abs(over) * np.float32(flat)
    out_x = np.asarray(out_x / size * lean, np.float32)
    out_y = np.asarray(out_y / size * lean, np.float32)
    if bump is not None:
        right, down = light.slopes(bump(along, over * mean) * np.float32(scale))
        inside = near < 0
        out_x -= np.where(inside, right, 0)
        out_y -= np.where(inside, down, 0)
    depth = np.sqrt(np.maximum(1 - lean * lean, 0.02))
    size = np.sqrt(out_x * out_x + out_y * out_y + depth * depth)
    normal = (out_x / size, out_y / size, depth / size)
    paint = light.lit(
        normal,
        albedo(along, over * mean) if callable(albedo) else albedo,
        gloss=gloss,
        sharp=sharp,
        sheen=sheen,
        metal=metal,
        coat=coat,
        shade=None if shade is None else shade(along, over * mean),
        where=near < 1.5,
        lamps=lamps,
    )
    mask = tube_mask(window, points, radii)
    if cut in {"start", "both"}:
        mask *= _beyond(window, points[0], points[1] - points[0], float(radii[0]))
    if cut in {"end", "both"}:
        mask *= _beyond(window, points[-1], points[-2] - points[-1], float(radii[-1]))
    stage.lay(window, paint, mask * np.float32(opacity))


def _beyond(window: Window, end: Points, way: Points, radius: float) -> Floats:
    """Coverage of what lies on the inner side of a cut; the cut bows like the rim of a pipe."""
    size = window.scale * window.fine
    place = window.to_mask(end[None])[0]
    rows, columns = window.mask_shape
    x = (np.arange(columns, dtype=np.float32) + np.float32(0.5 - place[0]))[None, :]
    y = (np.arange(rows, dtype=np.float32) + np.float32(0.5 - place[1]))[:, None]
    ux, uy = (np.float32(part) for part in way / np.hypot(*way))
    side = (x * uy - y * ux) / np.float32(radius * size)
    inside = x * ux + y * uy + np.float32(0.16 * radius * size) * (1 - np.clip(side * side, 0, 1))
    return np.asarray(np.clip(inside + np.float32(0.5), 0, 1), np.float32)


def tube_mask(window: Window, points: Points, radii: Points) -> Floats:
    """Coverage of a swept bar at the size of masks."""
    size = window.scale * window.fine
    near, _, _ = raster.sweep(window.to_mask(points), radii * size, window.mask_shape)
    return np.asarray(np.clip(np.float32(0.5) - near, 0, 1), np.float32)


def _cast_tube(stage: Stage, points: Points, radii: Points, cast: Cast) -> None:
    strength, soft, right, down = cast
    moved = points + np.array([right, down])
    window = stage.window(moved, float(radii.max()) + 3 * soft)
    if window is None:
        return
    near, _, _ = raster.sweep(window.to_paint(moved), radii * window.scale, window.shape)
    stage.darken_mask(window, np.clip(np.float32(0.5) - near, 0, 1), strength, soft)


def cushion(
    stage: Stage,
    outlines: Sequence[Points],
    albedo: Floats | Callable[[Floats, Floats], Floats],
    *,
    round_at: float,
    soften: float = 0.35,
    bump: Texture | None = None,
    gloss: float = 0.0,
    sharp: float = 30.0,
    sheen: float = 0.0,
    metal: float = 0.0,
    coat: float = 0.0,
    opacity: float = 1.0,
    cast: Cast | None = None,
    shade: Texture | None = None,
    within: Sequence[Points] | None = None,
    lamps: light.Lamps = light.STUDIO,
) -> None:
    """Lay an outline blown up like a cushion.

    Parameters
    ----------
    stage : Stage
    outlines : sequence of (N, 2) float64
        Outline, and holes in it, picture heights.
    albedo : (3,) float32 or a function of x and y in picture heights
    round_at : float
        Radius of the rounding along the outline, picture heights.
    soften : float
        Smoothing of the relief, as part of `round_at`.
    bump, shade : functions of x and y, optional
        Relief in picture heights; factor on the light.
    gloss, sharp, sheen, metal, coat, lamps
        As in `light.lit`.
    opacity : float
    cast : Cast, optional
    within : outlines, optional
        Only what lies inside these is laid.
    """
    window = stage.window(np.concatenate(list(outlines)))
    if window is None:
        return
    if cast is not None:
        strength, soft, right, down = cast
        stage.darken(outlines, strength, soft, (right, down))
    mask = raster.polygon([window.to_mask(line) for line in outlines], window.mask_shape)
    cover = window.coarse(mask)
    height = light.inflate(cover, round_at * window.scale, soften)
    x, y = window.places()
    if bump is not None:
        height = height + bump(x, y) * np.float32(window.scale)
    paint = light.lit(
        light.normals(height),
        albedo(x, y) if callable(albedo) else albedo,
        gloss=gloss,
        sharp=sharp,
        sheen=sheen,
        metal=metal,
        coat=coat,
        shade=None if shade is None else shade(x, y),
        where=cover > 0,
        lamps=lamps,
    )
    if within is not None:
        mask = mask * raster.polygon([window.to_mask(line) for line in within], window.mask_shape)
    stage.lay(window, paint, mask * np.float32(opacity))


def strands(
    stage: Stage, lines: Sequence[Points], widths: Sequence[Points], colour: Floats, opacity: float
) -> None:
    """Lay thin lines of one coded colour.

    Parameters
    ----------
    stage : Stage
    lines : sequence of (N, 2) float64, picture heights
    widths : sequence of (N,) float64, picture heights
    colour : (3,) float32, coded
    opacity : float
    """
    window = stage.window(np.concatenate(list(lines)), 0.004)
    if window is None:
        return
    size = window.scale * window.fine
    cover = raster.strokes(
        [window.to_mask(line) for line in lines],
        [width * size for width in widths],
        window.mask_shape,
    )
    paint = np.broadcast_to(np.asarray(colour, np.float32), (*window.shape, 3))
    stage.lay(window, paint, cover * np.float32(opacity))


def wash(
    stage: Stage,
    outlines: Sequence[Points],
    colour: Floats,
    opacity: float,
    soft: float = 0.0,
    *,
    on_subject: bool = True,
) -> None:
    """Lay a flat, soft-edged tint of one coded colour.

    Parameters
    ----------
    stage : Stage
    outlines : sequence of (N, 2) float64, picture heights
    colour : (3,) float32, coded
    opacity : float
    soft : float
        Softness of the edge, picture heights.
    on_subject : bool
        Tint only what is already on the stage, so that the alpha stays.
    """
    window = stage.window(np.concatenate(list(outlines)), 3 * soft)
    if window is None:
        return
    mask = raster.polygon([window.to_mask(line) for line in outlines], window.mask_shape)
    if soft > 0:
        mask = light.blurred(mask, soft * window.scale * window.fine)
    mask = np.clip(mask, 0, 1) * np.float32(opacity)
    if on_subject:
        top, left = window.top * stage.fine, window.left * stage.fine
        rows, columns = window.mask_shape
        under = stage.alpha[top : top + rows, left : left + columns]
        colours = stage.colour[top : top + rows, left : left + columns]
        tint = np.asarray(colour, np.float32) * under[..., None]
        colours += (tint - colours) * mask[..., None]
        return
    paint = np.broadcast_to(np.asarray(colour, np.float32), (*window.shape, 3))
    stage.lay(window, paint, mask)


def knit(x: Floats, y: Floats, pitch: float) -> Floats:
    """Relief of knitted stitches: columns of small Vs, 0..1.

    Parameters
    ----------
    x, y : float32
        Across the columns and along them, picture heights.
    pitch : float
        Width of a column, picture heights.
    """
    column = x / np.float32(pitch)
    within = np.abs(column - np.floor(column) - np.float32(0.5)) * 2
    row = y / np.float32(pitch * 0.82) - within * np.float32(0.55)
    rise = np.sin(np.float32(2 * np.pi) * row) * np.float32(0.5) + np.float32(0.5)
    arch = np.sqrt(np.maximum(1 - (within * 2 - 1) ** 2, 0))
    return np.asarray(rise * (np.float32(0.35) + np.float32(0.65) * arch), np.float32)


def cast_of(strength: float, soft: float = 0.012, right: float = 0.006, down: float = 0.01) -> Cast:
    """Describe a shadow that falls away from the main light."""
    return strength, soft, right, down


def resized(plane: Floats, shape: tuple[int, int]) -> Floats:
    """Bring a plane to another size, smoothly."""
    size = (shape[1], shape[0])
    return np.asarray(cv2.resize(plane, size, interpolation=cv2.INTER_CUBIC), np.float32)


def wash_line(stage: Stage, line: Points, widths: Points, colour: Floats, opacity: float) -> None:
    """Tint along a line of changing half-width."""
    way = np.gradient(line, axis=0)
    side = np.stack([-way[:, 1], way[:, 0]], axis=1) / np.hypot(way[:, 0], way[:, 1])[:, None]
    outline = np.concatenate([line + side * widths[:, None], (line - side * widths[:, None])[::-1]])
    wash(stage, [outline], np.asarray(colour, np.float32), opacity, 0.0006)


def circle(centre: tuple[float, float], radius: float, count: int = 56) -> Points:
    """Return the points of a circle."""
    angle = np.linspace(0, 2 * np.pi, count, endpoint=False)
    return np.stack(
        [centre[0] + radius * np.cos(angle), centre[1] + radius * np.sin(angle)], axis=1
    )
