"""Output names that every file system takes: no way out of the folder, no two alike.

A name may hold any script. What Windows, macOS or Linux refuses or treats
specially is replaced; two names that differ only in case, or only in how
their letters are composed, count as alike.
"""

from __future__ import annotations

import re
import unicodedata

LONGEST_BYTES = 180
"""UTF-8 bytes of a name without its suffix: file systems end at 255, and temporary names and
the parts of a key and fill need room."""

_FORBIDDEN = re.compile(r'[<>:"/\\|?*\x00-\x1f\x7f]+')
_SPACE, _ENDS = re.compile(r"\s+"), re.compile(r"^[\s.\-]+|[\s.\-]+$")
_UNSEEN = {"Cc", "Cs", "Co", "Cn", "Cf"}
_DEVICES = re.compile(r"(con|prn|aux|nul|conin\$|conout\$|com[0-9¹²³]|lpt[0-9¹²³])", re.IGNORECASE)
_SUFFIXES = (".png", ".mp4", ".mov", ".mkv", ".tif", ".tiff", ".jpg", ".jpeg")


def safe_name(text: str) -> str:
    """Turn a cell into the stem of a file name.

    Parameters
    ----------
    text : str
        A picture's suffix at its end is dropped.

    Returns
    -------
    str
        Empty if nothing usable is left.

    Examples
    --------
    >>> safe_name("../../Ines Marlow.png")
    'Ines Marlow'
    >>> safe_name("CON")
    'CON_'
    """
    name = unicodedata.normalize("NFC", text).strip()
    if name.lower().endswith(_SUFFIXES):
        name = name[: name.rindex(".")]
    name = _FORBIDDEN.sub("-", name)
    if not name.isascii():
        name = "".join(c for c in name if _may_stand(c))
    name = _ENDS.sub("", _SPACE.sub(" ", name))
    if _DEVICES.fullmatch(name.split(".")[0].strip()):
        name = f"{name}_"
    return _shortened(name)


def _may_stand(char: str) -> bool:
    """Whether a letter is assigned, and no invisible mark but those that join or part letters."""
    return char in "\u200c\u200d" or unicodedata.category(char) not in _UNSEEN


def _shortened(name: str) -> str:
    """Return a name cut to the length that files may have, at a whole character."""
    if 4 * len(name) <= LONGEST_BYTES:
        return name
    cut = name.encode()[:LONGEST_BYTES].decode(errors="ignore")
    while cut != name and cut and unicodedata.combining(cut[-1]):
        cut = cut[:-1]
    return cut.rstrip(" .-") if cut != name else name


def alike(name: str) -> str:
    """Fold a name so that two names are equal if some file system holds them to be the same."""
    if name.isascii():
        return name.lower()
    return unicodedata.normalize("NFC", unicodedata.normalize("NFKD", name).casefold())
