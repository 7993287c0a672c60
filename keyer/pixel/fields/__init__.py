"""Fields of the patterns: from a library entry, a raster and modifiers to a `Field`."""

from keyer.pixel.fields.build import FUNCTIONS, build

__all__ = ["FUNCTIONS", "build"]
