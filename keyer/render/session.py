"""What stays open from picture to picture: sources, what was worked out, keys that were chosen.

A plan describes; a session knows. Whoever plans a sheet again and again, as an
edit of it does, hands the same session to every plan: a source whose
description is the same stays open, and what has the same signature is not
worked out again.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Any, TypeVar

from keyer.kinds.picture import Matrix
from keyer.render.choose import KeyChoice, Surveyed, asked_of_survey, choose_key, survey_key
from keyer.render.evaluate import CACHE_BYTES, Evaluator
from keyer.render.fine import colour_of
from keyer.render.graph import Node
from keyer.render.sources import OpenSource
from keyer.sheet.effect import Key

T = TypeVar("T")


class Session:
    """Open sources, worked-out pictures and chosen keys, kept from plan to plan.

    Parameters
    ----------
    cache_bytes : int
        Bound of what is kept of worked out pictures.
    """

    def __init__(self, cache_bytes: int = CACHE_BYTES) -> None:
        self.evaluator = Evaluator(cache_bytes)
        self._open: dict[Any, OpenSource] = {}
        self._choices: dict[tuple[bytes, Key], KeyChoice] = {}
        self._kept: dict[Hashable, Any] = {}
        self._surveys: dict[tuple[bytes, Hashable], Surveyed] = {}

    @property
    def open_sources(self) -> int:
        """How many sources are open."""
        return len(self._open)

    def source(self, name: Any, open_it: Callable[[], OpenSource]) -> OpenSource:
        """Take a source that is open, or open it."""
        if name not in self._open:
            self._open[name] = open_it()
        return self._open[name]

    def choice(self, recorded: Node, matrix: Matrix, key: Key) -> KeyChoice:
        """Choose what a chroma key leaves open, once a picture.

        Parameters
        ----------
        recorded : Node
            The first picture that is keyed.
        matrix : {"bt601", "bt709"}
        key : Key

        Raises
        ------
        NoBackingError
            If the picture shows no backing of the hue asked for.
        SettingError
            If a setting is out of range.
        """
        name = recorded.signature, key
        if name not in self._choices:
            self._choices[name] = choose_key(self._survey(recorded, matrix, key), key)
        return self._choices[name]

    def kept(self, name: Hashable, make: Callable[[], T]) -> T:
        """Take something that was chosen by this name, or choose it."""
        if name not in self._kept:
            self._kept[name] = make()
        return self._kept[name]  # type: ignore[no-any-return]

    def _survey(self, recorded: Node, matrix: Matrix, key: Key) -> Surveyed:
        name = recorded.signature, asked_of_survey(key)
        if name not in self._surveys:
            ready = self.evaluator.prepare(recorded)
            self._surveys[name] = survey_key(colour_of(recorded, ready), matrix, key)
        return self._surveys[name]

    def close(self) -> None:
        """Let go of every file."""
        for source in self._open.values():
            source.close()
        self._open.clear()
