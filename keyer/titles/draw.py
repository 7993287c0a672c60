"""Draw a title: design and values in, a picture with straight alpha out."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import replace
from pathlib import Path

from keyer.kinds.arrays import Planes
from keyer.kinds.picture import Matrix, RgbPicture
from keyer.titles.design import rgb
from keyer.titles.ink import Canvas, Coverage, Ink, Mark, draw_ink, shifted
from keyer.titles.layers import Drawn, Layer, bounds, flatten
from keyer.titles.layout import BoxLaid, Layout
from keyer.titles.model import BoxPicture, Panel, Rule, Shadow
from keyer.titles.open_font import letter_height
from keyer.titles.panels import Rectangle, ramp_along, ring, rounded, straight
from keyer.titles.pictures import drawn_picture


def draw_layout(
    layout: Layout,
    values: Mapping[str, str],
    canvas: Canvas,
    *,
    folder: Path | None = None,
    without: Collection[str] = (),
    matrix: Matrix = "bt709",
) -> Drawn:
    """Draw a title that is laid out already.

    Parameters
    ----------
    layout : Layout
    values : mapping
        For colours that a field chooses.
    canvas, folder, without, matrix
        Where it is drawn, the design's folder, boxes to leave out (as a flash does in its dark
        part), and the luma coefficients that the picture carries.
    """
    layers = [
        layer
        for laid in layout.boxes
        if laid.box.id not in without
        for layer in _box_layers(laid, values, canvas, folder)
    ]
    box = bounds((layer.mark for layer in layers), canvas)
    planes, alpha = flatten(layers, box)
    picture = RgbPicture(planes, alpha, matrix)
    return Drawn(picture, box[0], box[1], canvas, tuple(layers), tuple(layout.notes))


def _box_layers(
    laid: BoxLaid, values: Mapping[str, str], canvas: Canvas, folder: Path | None
) -> Iterator[Layer]:
    """Make the layers of a box, from the back to the front."""
    if laid.box.panel:
        yield from _panel_layers(laid, laid.box.panel, values, canvas)
    if laid.box.picture and laid.picture:
        file = laid.box.picture.file_in(values)
        yield _picture_layer(laid.box.picture, file, laid.picture, laid.box.id, canvas, folder)
    for rule in laid.box.rules:
        mark = _rule_mark(rule, laid.area, canvas)
        yield Layer("rule", mark, rgb(rule.colour, values), rule.opacity, laid.box.id)
    inks = [(name, ink) for name, lines in laid.ids().items() for ink in draw_ink(lines, canvas)]
    for name, ink in inks:
        if ink.style.shadow:
            mark = ink.outline or ink.letters
            made = _shadow(mark, ink.style.shadow, values, canvas, laid.box.id)
            yield replace(made, text=name)
    for name, ink in inks:
        line = ink.style.outline
        if line and ink.outline:
            colour = rgb(line.colour, values)
            yield Layer("outline", ink.outline, colour, line.opacity, laid.box.id, text=name)
    for name, ink in inks:
        colour = rgb(ink.style.colour, values)
        size = _letter_size(ink, laid, canvas)
        yield Layer(
            "letters", ink.letters, colour, ink.style.opacity, laid.box.id, size=size, text=name
        )


def _picture_layer(
    picture: BoxPicture,
    file: str,
    area: Rectangle,
    box: str,
    canvas: Canvas,
    folder: Path | None,
) -> Layer:
    aspect = canvas.pixel_aspect
    columns, rows = max(round(area.width / aspect), 1), max(round(area.height), 1)
    planes, alpha = drawn_picture(
        folder,
        file,
        columns,
        rows,
        shape=area.width / area.height if picture.fit == "cover" else None,
    )
    mark = Mark(alpha, round(area.left / aspect), round(area.top))
    mean = planes.mean(axis=(1, 2)) if not alpha.any() else _mean(planes, alpha)
    red, green, blue = (float(value) for value in mean)
    return Layer("picture", mark, (red, green, blue), picture.opacity, box, planes=planes)


def _mean(planes: Planes, alpha: Coverage) -> Planes:
    """Mean colour of a picture, weighed by its opacity; clear pixels beside it carry it."""
    found: Planes = (planes * alpha).sum(axis=(1, 2)) / alpha.sum()
    return found


def _rule_mark(rule: Rule, area: Rectangle, canvas: Canvas) -> Mark:
    """Draw a rule inside its box; one that lies or stands has sharp sides."""
    thick = rule.thickness * canvas.unit
    (x0, y0), (x1, y1) = area.place(rule.start), area.place(rule.end)
    half = thick / 2
    upright, lying = x0 == x1, y0 == y1
    if lying and not rule.round:
        thick = max(round(thick), 1)
        half = thick / 2
        y0 = y1 = round(min(max(y0, area.top + half), area.bottom - half) - half) + half
    elif upright and not rule.round:
        columns = max(round(thick / canvas.pixel_aspect), 1)
        thick = columns * canvas.pixel_aspect
        half = thick / 2
        left = min(max(x0, area.left + half), area.right - half) - half
        x0 = x1 = round(left / canvas.pixel_aspect) * canvas.pixel_aspect + half
    else:
        ends = area.inset(half)
        (x0, y0), (x1, y1) = ends.place(rule.start), ends.place(rule.end)
    return straight((x0, y0), (x1, y1), thick, canvas, round_ends=rule.round)


def _letter_size(ink: Ink, laid: BoxLaid, canvas: Canvas) -> float:
    """Least height of the letters of a style, in percent of the picture height."""
    return min(
        letter_height(piece.face, piece.style.weight, piece.text) * piece.size / canvas.unit
        for placed in laid.lines
        for piece in placed.line.pieces
        if piece.style == ink.style and not piece.text.isspace()
    )


def _shadow(
    mark: Mark, shadow: Shadow, values: Mapping[str, str], canvas: Canvas, box: str
) -> Layer:
    unit = canvas.unit
    moved = shifted(mark, shadow.x * unit, shadow.y * unit, shadow.soft * unit, canvas.pixel_aspect)
    return Layer("shadow", moved, rgb(shadow.colour, values), shadow.opacity, box)


def _panel_layers(
    laid: BoxLaid, panel: Panel, values: Mapping[str, str], canvas: Canvas
) -> Iterator[Layer]:
    area, radius = laid.area, panel.radius * canvas.unit
    if panel.shape == "circle":
        area = area.square()
        radius = area.width / 2
    mark = rounded(area, radius, canvas)
    if panel.shadow:
        yield _shadow(mark, panel.shadow, values, canvas, laid.box.id)
    if panel.border and panel.border.opacity == 1:  # no rim of the panel beyond its border
        wide = panel.border.width * canvas.unit
        under = min(wide / 2, max(wide - 1.5, 0))  # a thin one leaves no gap to the panel
        mark = rounded(area.inset(under), max(radius - under, 0), canvas)
    colour = rgb(panel.colour, values)
    if panel.ramp is None:
        yield Layer("panel", mark, colour, panel.opacity, laid.box.id)
    else:
        along = ramp_along(area, panel.ramp.angle, mark, canvas.pixel_aspect)
        if panel.ramp.smooth:
            along = along * along * (3 - 2 * along)
        end = panel.opacity if panel.ramp.opacity is None else panel.ramp.opacity
        far = rgb(panel.ramp.colour, values) if panel.ramp.colour else colour
        cover = mark.coverage * (panel.opacity + along * (end - panel.opacity))
        faded = Mark(cover, mark.left, mark.top)
        yield Layer("panel", faded, colour, 1.0, laid.box.id, far, along)
    if panel.border:
        edge = ring(area, radius, panel.border.width * canvas.unit, canvas)
        line = rgb(panel.border.colour, values)
        yield Layer("border", edge, line, panel.border.opacity, laid.box.id)
