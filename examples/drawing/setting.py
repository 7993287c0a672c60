"""What the boards of the drawn shop say. None of it exists."""

from __future__ import annotations

HIRE = "Quillmere Cycles"
"""The bicycle hire by the lake."""

TRADE = "Hire · Repair · Tea"
"""What the board over its door says."""
