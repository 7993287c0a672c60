"""The house face inside a page, as WOFF: the letters of Western Europe, and others that it uses.

To cut a face takes a third of a second, and most pages need the same letters: cut once, they
serve every page that a process writes.
"""

from __future__ import annotations

import base64
import io
import logging
from functools import lru_cache
from pathlib import Path

from keyer.titles.fonts import shipped_faces

WEIGHTS = (300, 400, 600)
_ALWAYS = {chr(code) for code in (*range(0x20, 0x7F), *range(0xA0, 0x100))} | set("…–→−’‘“”≤≥")


def font_rules(text: str) -> str:
    """Make the style rules that bring the face in.

    Parameters
    ----------
    text : str
        All that the page says; other letters fall to the reader's own fonts.

    Returns
    -------
    str
        CSS (CSS Fonts Level 4, 4.3).
    """
    letters = "".join(sorted(_ALWAYS | set(text)))
    return "\n".join(_rule(weight, letters) for weight in WEIGHTS)


def _rule(weight: int, letters: str) -> str:
    data = base64.b64encode(_subset(face_file(weight), letters)).decode()
    return (
        f"@font-face{{font-family:House;font-weight:{weight};"
        f"src:url(data:font/woff;base64,{data}) format('woff')}}"
    )


def face_file(weight: int) -> Path:
    """Find the house face's TrueType outlines, which make the smaller subset.

    Parameters
    ----------
    weight : int
        One of `WEIGHTS`.
    """
    face = next(f for f in shipped_faces() if f.weight == weight and not f.italic)
    twin = Path(face.path).with_suffix(".ttf")
    return twin if twin.is_file() else Path(face.path)


@lru_cache(maxsize=12)
def _subset(path: Path, letters: str) -> bytes:
    from fontTools import subset
    from fontTools.ttLib import TTFont

    logging.getLogger("fontTools").setLevel(logging.ERROR)
    options = subset.Options()
    options.layout_features = ["kern", "liga", "tnum", "mark"]
    options.hinting = False
    options.flavor = "woff"
    font = TTFont(path, recalcTimestamp=False)  # the same page has the same bytes
    try:
        subsetter = subset.Subsetter(options)
        subsetter.populate(text=letters)
        subsetter.subset(font)
        memory = io.BytesIO()
        font.flavor = "woff"
        font.save(memory)
    finally:
        font.close()
    return memory.getvalue()
