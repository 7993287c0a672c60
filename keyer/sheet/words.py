"""The words that a sheet chooses from; apart from the models, which cost time to load."""

from __future__ import annotations

from typing import Literal

TransitionKind = Literal["cut", "mix", "additive", "non-additive", "fade", "wipe"]
KeyKind = Literal["chroma", "luminance", "linear"]
Fit = Literal["cover", "contain", "fill", "none"]
Flip = Literal["none", "left-right", "up-down", "both"]
