"""Keys of a sheet by what people call them: "Shot 2 border colour" is a path."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any

from keyer.documents.faults import nearest
from keyer.documents.locate import read_path, show_path
from keyer.errors import SettingError
from keyer.sheet.labels import TABLES, label_of, paper_word
from keyer.sheet.models import Document
from keyer.sheet.place_names import places
from keyer.sheet.sheet import Sheet

_INSIDE: dict[str, tuple[tuple[str, str, tuple[str, ...]], ...]] = {
    "sheet": (
        ("fade_in", "fade", ("fade in",)),
        ("fade_out", "fade", ("fade out",)),
        ("loudness", "loudness", ("loudness",)),
    ),
    "sound": (("duck", "duck", ("duck",)),),
    "cue": (("transition", "transition", ("", "transition")),),
    "overlay": (
        ("transition_in", "transition", ("", "comes", "transition in")),
        ("transition_out", "transition", ("", "goes", "transition out")),
        ("key", "key", ("", "key")),
        ("placement", "placement", ("", "placement")),
    ),
    "source": (("title", "title", ("", "title")), ("background", "background", ("", "background"))),
    "transition": (("modulate", "modulate", ("wave", "wave on the edge")),),
}
"""Tables inside others: key, model and what may be said for them."""

_SHOWN = 3

_PATH = re.compile(rf"({'|'.join(Document.model_fields)})[.\[]")
"""How a path begins; nothing is called so by people."""


def key_called(sheet: Sheet, said: str, name: str = "key") -> str:
    """Find the key that is meant.

    Parameters
    ----------
    sheet : Sheet
    said : str
        What paper and page call it, `Shot 2 border colour`, or its path in the sheet.
    name : str
        How the user calls the parameter.

    Returns
    -------
    str
        Its path.

    Raises
    ------
    SettingError
        If nothing is called so, or several keys are.
    """
    if _PATH.match(said):  # which is read as such, however many keys there are
        read_path(said)
        return said
    known: dict[str, list[str]] = {}
    spelt: dict[str, str] = {}
    for words, path in _all(sheet):
        known.setdefault(_plain(words), []).append(path)
        spelt.setdefault(_plain(words), words)
    found = list(dict.fromkeys(known.get(_plain(said), ())))
    if len(found) > 1:
        found = [path for path in found if _written(sheet, path)] or found
    if len(found) == 1:
        return found[0]
    if found:
        which = " and ".join(found[:_SHOWN])
        msg = f"{name} must say which, and {said!r:.60} may be {which}. Write one of these."
        raise SettingError(msg)
    if said in Document.model_fields:
        return said
    near = nearest(" ".join(said.split()), spelt.values())
    msg = f"{name} must be a key of the sheet, got {said!r:.60}.{near} A path names any key."
    raise SettingError(msg)


def _plain(words: str) -> str:
    return " ".join(re.sub(r"[,:]", " ", words).casefold().split())


def _all(sheet: Sheet) -> Iterator[tuple[str, str]]:
    """Yield what every key may be called, with its path."""
    yield from _keys("sheet", ("",), "sheet")
    for place in places(sheet):
        table = "cue" if place.path.startswith("cues") else "overlay"
        names = (*place.names, *((place.source,) if place.source else ()))
        yield from _keys(table, names, place.path)
    for index, sound in enumerate(sheet.sounds):
        names = (f"Sound {index + 1}", *((sound.name,) if sound.name else ()))
        yield from _keys("sound", names, f"sound[{index}]")
    for source in sheet.sources:
        yield from _keys("source", (f"Source {source}",), show_path(("sources", source)))
    for variable in sheet.unfilled.get("variables", {}):
        yield variable, show_path(("variables", variable))


def _keys(table: str, before: tuple[str, ...], path: str) -> Iterator[tuple[str, str]]:
    """Yield the keys of a table and of those in it."""
    inside = {key: (model, parts) for key, model, parts in _INSIDE.get(table, ())}
    for field, info in TABLES[table].model_fields.items():
        key = info.alias or field
        here = f"{path}.{key}"
        if key in inside:
            model, parts = inside[key]
            heads = tuple(f"{one} {part}".strip() for one in before for part in parts)
            yield from _keys(model, heads, here)
            continue
        words = dict.fromkeys((label_of(key), paper_word(key), key.replace("_", " ").capitalize()))
        for one in before:
            for word in words:
                yield f"{one} {word.lower()}" if one else word, here


def _written(sheet: Sheet, path: str) -> bool:
    """Whether the table of a key is there."""
    holder: Any = sheet.data
    for step in read_path(path)[:-1]:
        if isinstance(step, int):
            if not isinstance(holder, list) or step >= len(holder):
                return False
        elif not isinstance(holder, Mapping) or step not in holder:
            return False
        holder = holder[step]
    return True
