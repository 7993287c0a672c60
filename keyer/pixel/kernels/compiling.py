"""All kernels compiled in one go, so that it is waited for once, and not command by command.

`keyer.pixel.kernels.signatures` lists what they are called with, in these words:
`f4`, `u1`, `i8`, `b1` and so on are numbers as in numpy's type strings, `f4:2` a
C-contiguous array of two dimensions and `f4:2A` any other, `(f4 f4)` a tuple, and
`module.Name(f4 f4)` a named tuple.
"""

from __future__ import annotations

import importlib
import re
from collections.abc import Iterator
from typing import Any, cast

import numpy as np

from keyer.pixel.kernels.jit import Kernel
from keyer.pixel.kernels.signatures import SIGNATURES

_WORDS = re.compile(r"[\w:.]+|[()]")


def kernel_named(name: str) -> Kernel:
    """Find a kernel by its module and its own name, joined by a dot."""
    return cast("Kernel", _named(name))


def _named(name: str) -> Any:
    module, _, own = name.rpartition(".")
    return getattr(importlib.import_module(module), own)


def types_of(signature: str) -> tuple[Any, ...]:
    """Return the compiler's types for a signature in words.

    Parameters
    ----------
    signature : str
        One word for each argument.

    Returns
    -------
    tuple of numba types
    """
    return tuple(_types(iter(_WORDS.findall(signature))))


def _types(words: Iterator[str]) -> Iterator[Any]:
    """Read words up to a closing parenthesis, or to the end."""
    from numba import from_dtype, types

    tuples: Any = types.BaseTuple
    array: Any = types.Array
    for word in words:
        if word == ")":
            return
        if word == "(":
            yield tuples.from_types(tuple(_types(words)))
        elif "." in word:
            next(words)  # its parenthesis
            yield tuples.from_types(tuple(_types(words)), _named(word))
        else:
            kind, _, shape = word.partition(":")
            number = from_dtype(np.dtype(kind))
            layout = "A" if shape.endswith("A") else "C"
            yield array(number, int(shape[0]), layout) if shape else number


def compile_all() -> None:
    """Compile what is not kept on disk yet, for all signatures that are listed."""
    for name, signatures in SIGNATURES.items():
        kernel = kernel_named(name)
        for signature in signatures:
            kernel.compile(types_of(signature))
