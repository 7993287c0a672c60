"""The kinds of file that are opened as clips and sound: those that hold them, and no others.

libav reads some 350 kinds. Among them are playlists, which follow a text to other files and
hosts, text that is drawn as pictures, and devices: whatever a file calls itself, none of them is
opened.
"""

from __future__ import annotations

from keyer.kinds.formats import MOST_PIXELS

CLIPS = (
    "mov", "matroska", "avi", "mpeg", "mpegts", "mpegvideo", "m4v", "h264", "hevc", "av1", "obu",
    "ivf", "vc1", "dnxhd", "dirac", "mjpeg", "mxf", "gxf", "gif", "apng", "ogg", "flv", "asf",
    "nut", "dv", "yuv4mpegpipe",
)  # fmt: skip
"""Names that libav gives to containers and bare streams of pictures."""

SOUNDS = (
    "wav", "w64", "aiff", "au", "caf", "flac", "mp3", "aac", "ac3", "eac3", "amr", "wv", "tta",
)  # fmt: skip
"""The same of sound alone."""


def opening(*names: str) -> dict[str, str]:
    """Make the options with which libav opens a file: nothing is fetched, nothing else is opened.

    Parameters
    ----------
    *names : str
        Of `CLIPS` and `SOUNDS`.

    Returns
    -------
    dict
        No picture that is far too large is decoded to find out what it is.
    """
    return {
        "protocol_whitelist": "file",
        "format_whitelist": ",".join(names),
        "max_pixels": str(2 * MOST_PIXELS),
    }
