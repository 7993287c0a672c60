"""Fields of the patterns: from a library entry, a raster and modifiers to a `Field`."""

from keyer.pixel.wipes.fields.build import build
from keyer.pixel.wipes.fields.functions import FUNCTIONS

__all__ = ["FUNCTIONS", "build"]
