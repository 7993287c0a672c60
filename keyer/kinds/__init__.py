"""The things that every layer speaks of: pictures, formats, times, settings, verdicts.

Frozen dataclasses without behaviour beyond their own arithmetic; nothing here
reads a file or computes a pixel.
"""
