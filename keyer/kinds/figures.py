"""A measured value in figures: as many of them as its limits need.

A value that is rounded onto the other side of a limit, or onto the limit
itself, would contradict its own verdict.
"""

from __future__ import annotations

_FLASHES, _STRIPES, _SPILL = (3.0,), (25.0, 40.0), (2.5, 10.0)

LIMITS: dict[str, tuple[float, ...]] = {
    "backing.chroma": (15.0, 30.0),
    "backing.evenness": (0.5, 1.5),
    "backing.noise": (2.0, 5.0),
    "backing.shadows": (0.5, 1.5),
    "coverage.balance": (99.5, 99.99),
    "coverage.edge_width": (4.0, 10.0),
    "coverage.holes": (0.005, 0.05),
    "coverage.openings": (0.005,),
    "coverage.specks": (0.005, 0.05),
    "flash.general": _FLASHES,
    "flash.general_picture": _FLASHES,
    "flash.red": _FLASHES,
    "flash.red_picture": _FLASHES,
    "levels.range": (1.0,),
    "spill.after_p95": _SPILL,
    "spill.blue_p95": _SPILL,
    "spill.green_p95": _SPILL,
    "spill.rim_p95": _SPILL,
    "stripes.pattern": _STRIPES,
    "subject.clash": (0.2, 2.0),
    "title.contrast": (3.0, 4.5),
    "title.letter_height": (2.5, 4.0),
    "title.reading_time": (1.5, 2.0),
}
"""What each measure is held against, in its own unit; `docs/measures.md`, `docs/checking.md`."""


def figures(measure: str, value: float, digits: int = 3) -> str:
    """Write a value so that it stands on the same side of each limit as it does itself.

    Parameters
    ----------
    measure : str
        A key of `LIMITS`, or any other name for a value without one.
    value : float
    digits : int
        Significant figures, where they are enough.

    Examples
    --------
    >>> figures("title.contrast", 2.9953), figures("title.contrast", 4.499)
    ('2.995', '4.499')
    >>> figures("title.contrast", 3.0), figures("title.contrast", 12.3456)
    ('3', '12.3')
    """
    for count in range(digits, 17):
        text = f"{value:.{count}g}"
        if all(
            _side(float(text), limit) == _side(value, limit) for limit in LIMITS.get(measure, ())
        ):
            return text
    return repr(value)


def _side(value: float, limit: float) -> int:
    return (value > limit) - (value < limit)
