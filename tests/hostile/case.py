"""A hostile case: a command to run in a folder that holds something hostile."""

import random
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Case:
    """A command to run in a folder that holds something hostile.

    Attributes
    ----------
    words : list of str
        The command line.
    watched : str
        A damaged picture or clip whose good form has the same name in the good project; or empty.
    asked : tuple
        What the page is asked for while it is served, as `hostile.visit` takes it.
    """

    words: list[str]
    watched: str = ""
    asked: tuple[Any, ...] = ()


def order(rng: random.Random, orders: tuple[str, ...], **names: str) -> list[str]:
    words = rng.choice(orders).split()
    return [word.format(**names) if "{" in word else word for word in words]
