"""The invented place that the demo is set in: its names and lines. None of it exists."""

from __future__ import annotations

HIRE = "Quillmere Cycles"
"""The bicycle hire by the lake."""

TRADE = "Hire · Repair · Tea"
"""What the board over its door says."""

LINE = "The lake, by the hour"
"""The line of the spot."""

SEASON = "Open from first light"
"""Said below it."""

PEOPLE = (
    ("Wren Hollowby", "Keeps the boats and the bells"),
    ("Tam Oversedge", "Trues the wheels"),
    ("Ilse Marrowfen", "Pours the tea"),
)
"""Names and roles for lower thirds; no real person is meant."""
