"""Names in a title design that lead nowhere, and boxes that go in a circle."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Literal

from keyer.errors import SettingError
from keyer.titles.design import Box, Design, Text, unknown_name
from keyer.titles.markup import parse
from keyer.titles.model import FIELD
from keyer.titles.steps import Fault, step_faults


def cross_faults(design: Design) -> Iterator[Fault]:
    """Find names that lead nowhere: styles, fields, boxes; and boxes that go in a circle.

    Parameters
    ----------
    design : Design
        Each of its parts already valid by itself.

    Yields
    ------
    (path, message)
    """
    yield from _colour_faults(design)
    ids = [box.id for box in design.boxes]
    for i, box in enumerate(design.boxes):
        if box.id in ids[:i]:
            yield ("boxes", i, "id"), f"id must be given once, got {box.id!r} again."
        for key in ("above", "below", "left_of", "right_of", "width", "height"):
            other = getattr(box, key)
            if isinstance(other, str) and other not in ids:
                yield ("boxes", i, key), unknown_name("box", other, ids)
        field = box.picture.field if box.picture else None
        if field and field not in design.fields:
            yield ("boxes", i, "picture", "file"), unknown_name("field", field, design.fields)
        elif field and design.fields[field].kind != "picture":
            message = f'field {field!r} must have kind = "picture" to be used as one.'
            yield ("boxes", i, "picture", "file"), message
        for j, text in enumerate(box.texts):
            yield from ((("boxes", i, "texts", j, key), m) for key, m in _text_faults(design, text))
        if _circular(box, design, "beside") or _circular(box, design, "size"):
            yield ("boxes", i), f"box {box.id!r} must not depend on itself through other boxes."
    for part in ("move", "flash"):
        listed = getattr(getattr(design, part), "boxes", ())
        for i, name in enumerate(listed):
            if name not in ids:
                yield (part, "boxes", i), unknown_name("box", name, ids)
    yield from step_faults(design)
    yield from _table_faults(design)


def _table_faults(design: Design) -> Iterator[Fault]:
    table = design.table
    if table is None:
        return
    box = next((box for box in design.boxes if box.id == table.box), None)
    if box is None:
        yield ("table", "box"), unknown_name("box", table.box, (box.id for box in design.boxes))
    elif isinstance(box.width, str) or isinstance(box.height, str) or box.texts or box.picture:
        yield (
            ("table", "box"),
            f"box {box.id!r} of a table must have no texts, and sides in percent.",
        )
    named: list[tuple[tuple[str | int, ...], str | None]] = [
        (("table", key), getattr(table, key)) for key in ("style", "heading")
    ]
    named += [(("table", "columns", n, "style"), one.style) for n, one in enumerate(table.columns)]
    for path, name in named:
        if name is not None and name not in design.styles:
            yield path, unknown_name("style", name, design.styles)


def _text_faults(design: Design, text: Text) -> Iterator[tuple[str, str]]:
    if text.style not in design.styles:
        yield "style", unknown_name("style", text.style, design.styles)
    try:
        spans = parse(text.text, text.style)
    except SettingError as error:
        yield "text", str(error)
        return
    for span in spans:
        if span.field and span.field not in design.fields:
            yield "text", unknown_name("field", span.field, design.fields)
        if span.style != text.style and span.style not in design.styles:
            yield "text", unknown_name("style", span.style, design.styles)


def _colour_faults(design: Design) -> Iterator[Fault]:
    data = design.model_dump()
    for path, value in _leaves({"styles": data["styles"], "boxes": data["boxes"]}, ()):
        match = FIELD.fullmatch(value) if path[-1] == "colour" and isinstance(value, str) else None
        if match and match[1] not in design.fields:
            yield path, unknown_name("field", match[1], design.fields)
        elif match and design.fields[match[1]].kind != "colour":
            yield path, f'field {match[1]!r} must have kind = "colour" to be used as one.'


def _leaves(node: Any, path: tuple[str | int, ...]) -> Iterator[tuple[tuple[str | int, ...], Any]]:
    if isinstance(node, dict):
        for key, value in node.items():
            yield from _leaves(value, (*path, key))
    elif isinstance(node, tuple | list):
        for i, value in enumerate(node):
            yield from _leaves(value, (*path, i))
    else:
        yield path, node


def _circular(box: Box, design: Design, what: Literal["beside", "size"]) -> bool:
    boxes = {b.id: b for b in design.boxes}
    seen: set[str] = set()
    todo = [box.id]
    while todo:
        current = boxes.get(todo.pop())
        if current is None or current.id in seen:
            continue
        seen.add(current.id)
        nexts = (
            [current.beside[1]]
            if what == "beside" and current.beside
            else [v for v in (current.width, current.height) if isinstance(v, str)]
            if what == "size"
            else []
        )
        if box.id in nexts:
            return True
        todo += nexts
    return False
