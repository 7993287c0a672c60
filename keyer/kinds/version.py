"""The version of the whole program."""

__version__ = "0.1.0"
