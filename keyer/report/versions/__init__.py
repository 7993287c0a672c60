"""Versions of a spot: approved, held against each other, converted, made again."""
