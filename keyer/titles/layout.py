"""Where everything of a title stands: texts fitted, boxes sized and placed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from keyer.measure.safe_areas import inset
from keyer.titles.design import LONGEST, Box, Design, Text
from keyer.titles.ink import Canvas, Placed
from keyer.titles.lines import Line
from keyer.titles.markup import fill, parse
from keyer.titles.panels import Rectangle
from keyer.titles.paragraphs import Fit, Paragraph, lay_paragraph
from keyer.titles.pictures import picture_shape

_UNBOUND = 1e9
_SHRUNK_NOTE = 0.999


@dataclass(frozen=True)
class BoxLaid:
    """A box with its place, in display pixels.

    Attributes
    ----------
    box : Box
    area : Rectangle
    lines : tuple of Placed
    texts : tuple of Text
        Which text each line is of.
    picture : Rectangle or None
        Where its picture stands.
    """

    box: Box
    area: Rectangle
    lines: tuple[Placed, ...]
    texts: tuple[Text, ...] = ()
    picture: Rectangle | None = None

    def ids(self) -> dict[str, list[Placed]]:
        """Lines by the id of their text, in order."""
        found: dict[str, list[Placed]] = {}
        for text, line in zip(self.texts, self.lines, strict=True):
            found.setdefault(text.id, []).append(line)
        return found


@dataclass
class Layout:
    """All boxes of a title with their places, and notices of what had to give way.

    Attributes
    ----------
    boxes : list of BoxLaid
        Those with something to show, from the back to the front.
    faults : list of str
        Texts that do not fit.
    notes : list of str
        Texts that were shrunk, fonts that stepped in.
    """

    boxes: list[BoxLaid] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


@dataclass
class _Sized:
    box: Box
    texts: list[tuple[Text, Paragraph]]
    shape: float = 0.0
    width: float = 0.0
    height: float = 0.0

    @property
    def empty(self) -> bool:
        """The box has texts or a picture, and none of them holds a letter, or no file is named."""
        if self.box.picture:
            return not self.shape
        return bool(self.box.texts) and not self.texts


def safe_rectangle(design: Design, canvas: Canvas) -> Rectangle:
    """Title-safe area of a design, in display pixels."""
    edge = inset(design.safe, "title", canvas.width, canvas.height)
    aspect = canvas.pixel_aspect
    return Rectangle(
        edge.x * aspect, edge.y, (canvas.width - edge.x) * aspect, canvas.height - edge.y
    )


def lay_out(
    design: Design, values: Mapping[str, str], canvas: Canvas, folder: Path | None = None
) -> Layout:
    """Fit, size and place a title.

    Parameters
    ----------
    design : Design
    values : mapping
        Every field of the design (see `Design.values`).
    canvas : Canvas
    folder : Path, optional
        The design's folder, for fonts and pictures that it names.

    Returns
    -------
    Layout
        With `faults` rather than an exception where a text does not fit.

    Raises
    ------
    SettingError
        If a font or a character is missing.
    InputFileError
        If a picture cannot be read.
    """
    layout = Layout()
    safe = safe_rectangle(design, canvas)
    sized = {
        box.id: _size_texts(design, box, values, canvas, folder, safe, layout)
        for box in design.boxes
    }
    for item in sized.values():
        item.width = _side(item, "width", sized, canvas)
        item.height = _side(item, "height", sized, canvas)
        side = max(item.width, item.height) / canvas.unit
        if item.shape and side > LONGEST:
            layout.faults.append(
                f"box {item.box.id!r}: its picture would be {side:.0f} % of the picture height "
                f"long, and {LONGEST} may be. Give both width and height."
            )
    if layout.faults:
        return layout
    corners: dict[str, tuple[float, float]] = {}
    for item in sized.values():
        left, top = _corner(item, sized, corners, safe, canvas)
        if item.width <= 0 or item.height <= 0 or item.empty:
            continue
        area = Rectangle(left, top, left + item.width, top + item.height)
        area = area.snapped(canvas.pixel_aspect) if item.box.panel else area
        lines = tuple(_place_lines(item, area, canvas))
        texts = tuple(text for text, p in item.texts for _ in p.lines)
        layout.boxes.append(
            BoxLaid(item.box, area, lines, texts, _picture_area(item, area, canvas))
        )
    return layout


def text_room(box: Box, canvas: Canvas, safe: Rectangle) -> float:
    """Width that the texts of a box may take, in display pixels."""
    unit = canvas.unit
    if isinstance(box.width, int | float):
        room = box.width * unit
    elif box.max_width is not None:
        room = box.max_width * unit
    else:
        room = safe.width
    return max(room - 2 * box.padding[1] * unit, 0)


def fit_of(text: Text, design: Design, room: float) -> Fit:
    """Turn a text's rule into the room and the limits that it has."""
    smallest = 1.0
    if text.smallest is not None:
        smallest = min(1.0, text.smallest / design.styles[text.style].size)
    return Fit(text.fit, room, smallest, text.lines)


def _size_texts(
    design: Design,
    box: Box,
    values: Mapping[str, str],
    canvas: Canvas,
    folder: Path | None,
    safe: Rectangle,
    layout: Layout,
) -> _Sized:
    moving = design.move is not None and design.move.kind == "crawl"
    room = _UNBOUND if moving else text_room(box, canvas, safe)
    texts = []
    for text in box.texts:
        spans = parse(text.text, text.style)
        runs = [(t, design.styles[name]) for t, name in fill(spans, values) if t]
        if not "".join(t for t, _ in runs).strip():
            continue
        fit = fit_of(text, design, room)
        paragraph, fault = lay_paragraph(runs, canvas.unit, fit, folder)
        if fault:
            layout.faults.append(f"box {box.id!r}: {fault}")
        elif paragraph.scale < _SHRUNK_NOTE:
            size = design.styles[text.style].size * paragraph.scale
            layout.notes.append(f"box {box.id!r}: text shrunk to {size:.2f} % to fit")
        _note_faces(box, paragraph, layout)
        texts.append((text, paragraph))
    file = box.picture.file_in(values) if box.picture else ""
    return _Sized(box, texts, picture_shape(folder, file) if file else 0.0)


def _note_faces(box: Box, paragraph: Paragraph, layout: Layout) -> None:
    """Say which fonts stepped in for a style's own."""
    for line in paragraph.lines:
        for piece in line.pieces:
            own = piece.style.font.rsplit("/", 1)[-1]
            asked = piece.face.family == own or piece.face.path.endswith(own)
            note = f"box {box.id!r}: {piece.face.family} draws what {own} lacks"
            if not asked and not piece.text.isspace() and note not in layout.notes:
                layout.notes.append(note)


def _side(item: _Sized, side: str, sized: Mapping[str, _Sized], canvas: Canvas) -> float:
    """Width or height of a box; cycles were ruled out when the design was read."""
    stated = getattr(item.box, side)
    if item.empty:
        return 0.0
    if stated is not None:
        given = _side(sized[stated], side, sized, canvas) if isinstance(stated, str) else None
        return float(stated) * canvas.unit if given is None else given
    down, across = (pad * canvas.unit for pad in item.box.padding)
    if item.shape:
        other = _side(item, "height" if side == "width" else "width", sized, canvas)
        wide = max(other - 2 * down, 0) * item.shape + 2 * across
        return wide if side == "width" else max(other - 2 * across, 0) / item.shape + 2 * down
    if side == "width":
        return max((p.width for _, p in item.texts), default=0.0) + 2 * across
    gaps = sum(text.gap * canvas.unit for text, _ in item.texts[1:])
    return sum(p.height for _, p in item.texts) + gaps + 2 * down


def _corner(
    item: _Sized,
    sized: Mapping[str, _Sized],
    corners: dict[str, tuple[float, float]],
    safe: Rectangle,
    canvas: Canvas,
) -> tuple[float, float]:
    """Left and top of a box."""
    if item.box.id not in corners:
        corners[item.box.id] = _standing(item, item.box, sized, corners, safe, canvas)
    return corners[item.box.id]


def _standing(
    item: _Sized,
    box: Box,
    sized: Mapping[str, _Sized],
    corners: dict[str, tuple[float, float]],
    safe: Rectangle,
    canvas: Canvas,
) -> tuple[float, float]:
    """Left and top of an item that stands where a box would: its own, or one that is left out."""
    right, down = box.x * canvas.unit, box.y * canvas.unit
    if box.place is not None:
        return _hung(box.place, item, safe, right, down)
    side, name = box.beside or ("", "")
    other = sized[name]
    if other.empty and not item.empty:  # who is left out gives its place to its neighbour
        x, y = _standing(item, other.box, sized, corners, safe, canvas)
        return x + right, y + down
    x, y = _corner(other, sized, corners, safe, canvas)
    gap = 0.0 if item.empty else box.gap * canvas.unit
    corner = {
        "above": (x, y - gap - item.height),
        "below": (x, y + other.height + gap),
        "left_of": (x - gap - item.width, y),
        "right_of": (x + other.width + gap, y),
    }[side]
    return corner[0] + right, corner[1] + down


def _hung(
    place: str, item: _Sized, safe: Rectangle, inwards_x: float, inwards_y: float
) -> tuple[float, float]:
    if "left" in place:
        left = safe.left + inwards_x
    elif "right" in place:
        left = safe.right - inwards_x - item.width
    else:
        left = (safe.left + safe.right - item.width) / 2 + inwards_x
    if "top" in place:
        top = safe.top + inwards_y
    elif "bottom" in place:
        top = safe.bottom - inwards_y - item.height
    else:
        top = (safe.top + safe.bottom - item.height) / 2 + inwards_y
    return left, top


def _picture_area(item: _Sized, area: Rectangle, canvas: Canvas) -> Rectangle | None:
    """Where a picture stands: whole, in its box less the padding, on whole pixels."""
    if not item.shape:
        return None
    down, across = (pad * canvas.unit for pad in item.box.padding)
    room, tall = area.width - 2 * across, area.height - 2 * down
    if room <= 0 or tall <= 0:
        return None
    if item.box.picture and item.box.picture.fit == "cover":
        whole = Rectangle(
            area.left + across, area.top + down, area.right - across, area.bottom - down
        )
        return whole.snapped(canvas.pixel_aspect)
    width, height = min(room, tall * item.shape), min(tall, room / item.shape)
    spare = {"left": 0.0, "start": 0.0, "right": 1.0, "centre": 0.5}[item.box.align]
    left = area.left + across + (room - width) * spare
    top = area.top + down + (tall - height) / 2
    return Rectangle(left, top, left + width, top + height).snapped(canvas.pixel_aspect)


def _place_lines(item: _Sized, area: Rectangle, canvas: Canvas) -> list[Placed]:
    box = item.box
    down, across = (pad * canvas.unit for pad in box.padding)
    placed: list[Placed] = []
    y = area.top + down
    for n, (text, paragraph) in enumerate(item.texts):
        y += text.gap * canvas.unit if n else 0.0
        baseline = y + paragraph.lines[0].capitals
        for line, step in zip(paragraph.lines, [0.0, *paragraph.steps], strict=True):
            baseline += step
            placed.append(Placed(line, _line_left(line, box, area, across), baseline))
        y = baseline
    return placed


def _line_left(line: Line, box: Box, area: Rectangle, across: float) -> float:
    align = box.align
    if align == "start":
        align = "right" if line.rtl else "left"
    if align == "left":
        return area.left + across
    if align == "right":
        return area.right - across - line.width
    return (area.left + area.right - line.width) / 2
