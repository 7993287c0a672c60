"""The pattern library: wipe patterns as data, read from `patterns/`."""

from keyer.library.load import load_patterns
from keyer.library.patterns import Patterns

__all__ = ["Patterns", "load_patterns"]
