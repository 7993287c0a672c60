"""Write an effect sheet, load it, and render the middle of its wipe."""

# %%
from pathlib import Path

import imageio.v3 as iio

import keyer

SHEET = """
version = 1

[sheet]
format = "640x360@25"
length = "4s"

[sources.bars]
bars = 75

[sources.sky]
gradient = { first = "#1B2A49", second = "#E0A070" }

[[cues]]
source = "bars"

[[cues]]
source = "sky"
at = "1s"
transition = { kind = "wipe", length = "2s", pattern = "ellipseWipe/circle", soft = 4.0 }
"""

Path("spot.toml").write_text(SHEET, encoding="utf-8")
sheet = keyer.load_sheet("spot.toml")
iio.imwrite("still_of_a_sheet.png", keyer.render_still(sheet, "00:00:02:00"))
