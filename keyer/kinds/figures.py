"""A measured value in figures: as many of them as its limits need.

A value that is rounded onto the other side of a limit, or onto the limit
itself, would contradict its own verdict.
"""

from __future__ import annotations

from keyer.kinds.limits import LIMITS


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
    limits = LIMITS[measure].finite if measure in LIMITS else ()
    for count in range(digits, 17):
        text = f"{value:.{count}g}"
        if all(_side(float(text), limit) == _side(value, limit) for limit in limits):
            return text
    return repr(value)


def _side(value: float, limit: float) -> int:
    return (value > limit) - (value < limit)
