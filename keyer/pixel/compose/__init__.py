"""Pictures brought to size, placed, moved, mixed and laid on each other.

`fit` brings a picture to the format, `place` puts it in a box, `move` pushes and
slides it, `mix` adds two, `over` lays one on another, `stack` lays flat colours;
`generate` draws what needs no file; `codes` does the commonest of these on
8-bit codes in one pass.
"""
