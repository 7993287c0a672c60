"""How the arithmetic runs: compiled kernels, bands of rows on threads, planes used again.

`jit` compiles a function when it is first called, `kernel_cache` keeps it on
disk, `bands` deals rows out to threads, `scratch` lends them planes.
"""
