"""Variables of a sheet: `[variables]` names values, `${name}` stands for them in texts.

A text that is nothing but `"${name}"` becomes the value with its kind, so a
number or a switch can be a variable too; inside a longer text the value is
written out. `$${` is a plain `${`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from keyer.documents.locate import Path
from keyer.errors import SettingError

Value = str | int | float | bool
"""What a variable can be."""

_USE = re.compile(r"\$?\$\{([^{}]*)\}")


def substitute(
    data: Any, variables: Mapping[str, Value], unknown: Callable[[Path, str], None], path: Path = ()
) -> Any:
    """Put values in the place of variables, in all texts of plain data.

    Parameters
    ----------
    data : dict, list or plain value
        Not changed.
    variables : mapping of str to text, number or switch
    unknown : callable
        Told path and name of each use of a variable that is not there.
    path : tuple of str and int
        Where `data` stands.

    Returns
    -------
    Any
        Of the form of `data`.
    """
    if isinstance(data, Mapping):
        return {
            key: substitute(value, variables, unknown, (*path, key)) for key, value in data.items()
        }
    if isinstance(data, list | tuple):
        return [
            substitute(value, variables, unknown, (*path, index))
            for index, value in enumerate(data)
        ]
    if not isinstance(data, str) or "${" not in data:
        return data

    def value_of(match: re.Match[str]) -> Any:
        if match[0].startswith("$$"):
            return match[0][1:]
        if match[1] not in variables:
            unknown(path, match[1])
            return match[0]
        return variables[match[1]]

    whole = _USE.fullmatch(data)
    if whole:
        return value_of(whole)
    return _USE.sub(lambda match: _written(value_of(match)), data)


def filled_size(data: Any, variables: Mapping[str, Value]) -> int:
    """Count the letters of all texts of plain data as `substitute` would leave them.

    Parameters
    ----------
    data : dict, list or plain value
    variables : mapping of str to text, number or switch

    Returns
    -------
    int
        Without making them: a few uses of a long value are more than memory holds.
    """
    count, waiting = 0, [data]
    while waiting:
        value = waiting.pop()
        if isinstance(value, Mapping):
            waiting += value.values()
        elif isinstance(value, list | tuple):
            waiting += value
        elif isinstance(value, str):
            count += len(value)
            for name in _USE.findall(value) if "${" in value else ():
                count += len(str(variables.get(name, "")))
    return count


def _written(value: Value) -> str:
    return str(value).lower() if isinstance(value, bool) else str(value)


def of_kind(name: str, text: str, like: Value) -> Value:
    """Read what is typed as a variable's own value is: text, number or switch.

    Parameters
    ----------
    name : str
    text : str
    like : text, number or switch
        What the sheet gives it.

    Returns
    -------
    text, number or switch

    Raises
    ------
    SettingError
        If it is of another kind.
    """
    try:
        if isinstance(like, bool):
            return {"true": True, "false": False}[text.strip().lower()]
        if isinstance(like, int) and text.strip().lstrip("+-").isdigit():
            return int(text)
        if isinstance(like, int | float):
            return float(text)
    except (ValueError, KeyError):
        kind = "true or false" if isinstance(like, bool) else "a number"
        msg = f"{name} must be {kind}, as in the sheet, got {text!r:.60}."
        raise SettingError(msg) from None
    return text
