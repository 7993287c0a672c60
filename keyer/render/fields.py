"""Fields of wipe patterns, drawn once and held for as long as they are used."""

from __future__ import annotations
