"""Languages of texts, as their codes name them.

A tag is a code of ISO 639-1 or, for languages that have none there, ISO 639-2, with a script, a
region and variants if need be (BCP 47, RFC 5646, 2.1): `tr`, `sr-Cyrl`, `zh-Hant-HK`.
"""

from __future__ import annotations

import difflib
import re
from functools import cache
from importlib.resources import files

_TAG = re.compile(
    r"([a-z]{2,3})(-[a-z]{4})?(-(?:[a-z]{2}|[0-9]{3}))?((?:-(?:[a-z0-9]{5,8}|[0-9][a-z0-9]{3}))*)",
    re.IGNORECASE,
)
_NAMES = {
    "arabic": "ar", "azerbaijani": "az", "chinese": "zh", "dutch": "nl", "english": "en",
    "french": "fr", "german": "de", "greek": "el", "hebrew": "he", "hindi": "hi",
    "italian": "it", "japanese": "ja", "korean": "ko", "lithuanian": "lt", "polish": "pl",
    "romanian": "ro", "russian": "ru", "serbian": "sr", "spanish": "es", "turkish": "tr",
    "ukrainian": "uk", "vietnamese": "vi",
}  # fmt: skip


def check_language(tag: str) -> str:
    """Refuse a code that names no language.

    Parameters
    ----------
    tag : str
        Empty: not said.

    Raises
    ------
    ValueError
        With the nearest code.
    """
    match = _TAG.fullmatch(tag)
    if not tag or (match and match[1].lower() in _codes()):
        return tag
    known = _NAMES.get(tag.lower())
    near = [known] if known else difflib.get_close_matches(tag.lower(), sorted(_codes()), 1)
    hint = f" Is it {near[0]!r}?" if near else ""
    msg = f"language must be a code of ISO 639 such as tr, sr or zh-Hant, got {tag!r:.40}.{hint}"
    raise ValueError(msg)


@cache
def _codes() -> frozenset[str]:
    """ISO 639-1 and 639-2, as the Library of Congress lists them."""
    return frozenset(files("keyer.titles").joinpath("languages.txt").read_text("ascii").split())


def language_of(tag: str) -> str:
    """Return the language alone of a tag, in lower case; empty if it is not said."""
    return tag.partition("-")[0].lower()
