"""What each check and measure, and what it looks at, is called where people read it."""

from __future__ import annotations

import re

NAMES = {
    "levels.range": "Signal levels",
    "flash.general": "Flashes",
    "flash.red": "Flashes of saturated red",
    "flash.general_picture": "Flashes, over the whole picture",
    "flash.red_picture": "Flashes of saturated red, over the whole picture",
    "stripes.pattern": "Stripes",
    "timing.length": "Length",
    "timing.black": "Black",
    "timing.head_black": "Black at the head",
    "timing.tail_black": "Black at the tail",
    "timing.stray_frame": "Stray frame",
    "timing.last_frame": "Last frame",
    "timing.source_end": "Source runs out",
    "overlay.seen": "Overlay out of sight",
    "overlay.stays": "Overlay that stays on",
    "title.contrast": "Contrast of the title",
    "title.letter_height": "Size of the letters",
    "title.largest_letters": "Size of the largest letters",
    "title.safe_area": "Safe area",
    "title.zone": "Zone covered",
    "title.reading_time": "Reading time",
    "title.passage": "Crawl or roll",
    "sound.loudness": "Loudness of the mix",
    "sound.true_peak": "True peak of the mix",
    "sound.silence": "Silence",
    "sound.end": "End of the sound",
    "key.backing": "No backing to key",
    "backing.evenness": "Evenness of the backing",
    "backing.shadows": "Shadows on the backing",
    "backing.noise": "Noise of the backing",
    "backing.chroma": "Colour of the backing",
    "coverage.holes": "Holes in the matte",
    "coverage.openings": "Openings in the matte",
    "coverage.specks": "Specks in the matte",
    "coverage.edge_width": "Edge of the matte",
    "coverage.balance": "Matte all clear or all solid",
    "subject.clash": "Subject in the backing's hues",
    "spill.after_p95": "Spill on the subject, 95th percentile",
    "spill.rim_p95": "Spill at the rim, 95th percentile",
}
"""Names for people, by the dotted ones."""

_ROW = re.compile(
    r"(?:(?P<sheets>.+?): )?(?:effects\.(?P<effect>.+?)\.)?"
    r"(?P<kind>cue|overlay|sound)s?\[(?P<index>\d+)\] (?P<name>.+)"
)
"""How checks name a row; see `keyer.render.levels.Level.named`."""


def subject_name(subject: str) -> str:
    """Call a cue or an overlay as people do: by its name, and where it stands within effects."""
    row = _ROW.fullmatch(subject)
    if row is None:
        return subject
    within = [f'effect "{row["effect"]}"'] if row["effect"] else []
    within += [f'sheet of "{name}"' for name in reversed((row["sheets"] or "").split(": ")) if name]
    if not within:
        return row["name"]
    return f"{row['name']} ({', '.join(within)}, {row['kind']} {int(row['index']) + 1})"
