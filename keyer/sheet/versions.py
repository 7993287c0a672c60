"""Versions of the sheet's form, and the way from each to the next.

A step takes a sheet's plain data at one version and returns it at the next.
When the form changes in a way that older sheets do not survive, `CURRENT`
goes up by one and the step from the former version is added here.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from keyer.documents.faults import show_value

CURRENT = 1
"""Version that this program writes."""

STEPS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {}
"""Way from a version to the next."""


def upgrade(data: Mapping[str, Any]) -> tuple[dict[str, Any], str]:
    """Bring a sheet's plain data to the current version.

    Parameters
    ----------
    data : mapping
        As TOML gives it; not changed.

    Returns
    -------
    data : dict
    refusal : str
        Why its version cannot be read; empty if it can. A version that is
        missing is left to the models.
    """
    data = dict(data)
    version = data.get("version", CURRENT)
    if isinstance(version, bool) or not isinstance(version, int):
        return data, f"must be {CURRENT}, got {show_value(version)}."
    if version > CURRENT:
        return data, (
            f"must be {CURRENT} at most, got {show_value(version)}: the sheet was written for a "
            "later version of the program. Install that one."
        )
    while version in STEPS:
        data = STEPS[version](data)
        version += 1
        data = {**data, "version": version}
    if version != CURRENT:
        return data, f"must be {CURRENT}, got {show_value(version)}."
    return data, ""
