"""Which characters a face can draw, and which face steps in where it cannot."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from functools import cache, lru_cache

from keyer.errors import InputFileError, SettingError
from keyer.titles.fonts import Face, nearest_face, sound_font, system_faces

_EMOJI_PLANE = range(0x1F000, 0x1FB00)


def clusters(text: str) -> list[str]:
    """Split text into what readers count as one character: extended grapheme clusters (UAX #29)."""
    import regex

    return list(regex.findall(r"\X", text))


def _ignorable(char: str) -> bool:
    """Whether a character shows nothing, so that no face needs a glyph for it."""
    code = ord(char)
    return (
        unicodedata.category(char) == "Cf" or 0xFE00 <= code <= 0xFE0F or 0xE0100 <= code <= 0xE01EF
    )


@cache
def characters(face: Face) -> frozenset[int]:
    """Code points for which a face has a glyph."""
    from fontTools.ttLib import TTFont

    with sound_font(face.path), TTFont(face.path, fontNumber=face.index, lazy=True) as font:
        return frozenset(font.getBestCmap() or ())


@cache
def _places_marks(face: Face) -> bool:
    """Whether a face says where marks stand on letters (OpenType GPOS, features of marks)."""
    from fontTools.ttLib import TTFont

    with sound_font(face.path), TTFont(face.path, fontNumber=face.index, lazy=True) as font:
        table = font["GPOS"].table if "GPOS" in font else None
        records = table.FeatureList.FeatureRecord if table and table.FeatureList else ()
        return any(record.FeatureTag in {"mark", "abvm", "blwm"} for record in records)


@lru_cache(maxsize=65536)
def has(face: Face, cluster: str, *, marks: bool = True) -> bool:
    """Whether a face draws a cluster, composed or in parts.

    The layout engine composes and decomposes by itself, so either form will
    do; but marks that do not melt into their letter want a face that places them.

    Parameters
    ----------
    face : Face
    cluster : str
    marks : bool
        False: glyphs for all of it are enough, wherever the marks may fall.
    """
    if any(unicodedata.category(c) == "Cc" for c in cluster):
        return False  # some fonts have an empty glyph for them
    known = characters(face)
    composed = unicodedata.normalize("NFC", cluster)
    if all(ord(c) in known or _ignorable(c) for c in composed):
        loose = any(unicodedata.category(c) == "Mn" for c in composed)
        return not (marks and loose) or _places_marks(face)
    parts = unicodedata.normalize("NFD", cluster)
    if not all(ord(c) in known or _ignorable(c) for c in parts):
        return False
    # a letter that exists composed looks right only from a face that has it so
    return not marks or (len(composed) > 1 and _places_marks(face))


def missing(face: Face, text: str) -> list[str]:
    """Clusters of `text` that a face cannot draw, each once, in order."""
    return [cluster for cluster in dict.fromkeys(clusters(text)) if not has(face, cluster)]


@cache
def _helpers(wanted: frozenset[str], weight: int) -> tuple[Face, ...]:
    """Faces of this system that draw some of `wanted`, best first."""
    ranked: dict[tuple[int, bool, str], list[Face]] = {}
    for face in system_faces():
        try:
            count = sum(has(face, cluster, marks=False) for cluster in wanted)
        except InputFileError:  # a broken font of the system is passed over
            continue
        if count:
            plain = "sans" in face.family.lower()
            ranked.setdefault((-count, not plain, face.family), []).append(face)
    return tuple(nearest_face(tuple(ranked[k]), weight, italic=False) for k in sorted(ranked))


def assign_faces(text: str, faces: Sequence[Face]) -> list[tuple[str, Face]]:
    """Split text into stretches that one face can draw.

    Parameters
    ----------
    text : str
    faces : sequence of Face
        The style's face, then those that it names to step in. Faces found on
        this system come after them.

    Returns
    -------
    list of (text, Face)
        In order; joined they are `text`.

    Raises
    ------
    SettingError
        If a character is in no font at hand.
    """
    main = faces[0]
    lacking = missing(main, text)
    if not lacking:
        return [(text, main)] if text else []
    chain = [*faces, *_helpers(frozenset(lacking), main.weight)]
    result: list[tuple[str, Face]] = []
    for cluster in clusters(text):
        # a blank goes on in the face before it, so that a phrase is not cut up
        before = result[-1][1] if result else main
        stay = cluster.isspace() and has(before, cluster)
        face = before if stay else _first(chain, cluster)
        if face is None:
            raise SettingError(_no_glyph(cluster, faces))
        if result and result[-1][1] == face:
            result[-1] = (result[-1][0] + cluster, face)
        else:
            result.append((cluster, face))
    return result


def _first(chain: Sequence[Face], cluster: str) -> Face | None:
    """First face that draws a cluster well, or else at all."""
    well = next((face for face in chain if has(face, cluster)), None)
    return well or next((face for face in chain if has(face, cluster, marks=False)), None)


def _no_glyph(cluster: str, faces: Sequence[Face]) -> str:
    bad = next((c for c in cluster if not has(faces[0], c, marks=False)), cluster[0])
    code = ord(bad)
    families = ", ".join(dict.fromkeys(face.family for face in faces))
    if unicodedata.category(bad) == "Cc":
        return (
            f"text must hold printable characters, got the control character U+{code:04X}. "
            "Take it out of the row."
        )
    name = unicodedata.name(bad, "a character without a name")
    cure = (
        "Emoji come as colour pictures, which cannot be keyed as lettering: take it out."
        if code in _EMOJI_PLANE
        else "Install a font that has it, or name one in the style's `fallback`."
    )
    return (
        f"text must be in a font that is here, got {bad!r} (U+{code:04X} {name}), which is "
        f"neither in {families} nor in a font of this system. {cure}"
    )
