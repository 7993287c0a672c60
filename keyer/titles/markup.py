"""Texts with named fields and tagged styles: `${name}, <small>${role}</small>`.

Fields are put in after the tags are read, so a name from a spreadsheet can
hold any character. `$${` stands for a plain `${`, as in a sheet, and `<<` for `<`.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass

from keyer.errors import SettingError

_TOKEN = re.compile(r"\$\$\{|<<|\$\{([^{}]*)\}|<(/?)([A-Za-z][A-Za-z0-9_-]*)>|[^$<]+|.", re.DOTALL)


@dataclass(frozen=True)
class Span:
    """A stretch of one text in one style; `field` is filled in later if set."""

    style: str
    text: str = ""
    field: str = ""


def parse(text: str, style: str) -> tuple[Span, ...]:
    """Read a text of a design.

    Parameters
    ----------
    text : str
    style : str
        Style of what stands in no tag.

    Raises
    ------
    SettingError
        If a tag is not closed.
    """
    spans: list[Span] = []
    open_tags = [style]
    for match in _TOKEN.finditer(text):
        token, field, closing, tag = match[0], match[1], match[2], match[3]
        if field is not None:
            spans.append(Span(open_tags[-1], field=field.strip()))
        elif tag and not closing:
            open_tags.append(tag)
        elif tag:
            if len(open_tags) == 1 or open_tags.pop() != tag:
                msg = f"text must close its tags in order, got {token} in {text!r}."
                raise SettingError(msg)
        elif token in {"$${", "<<"}:
            spans.append(Span(open_tags[-1], token[1:]))
        else:
            spans.append(Span(open_tags[-1], token))
    if len(open_tags) > 1:
        msg = f"text must close its tags, got <{open_tags[-1]}> without </{open_tags[-1]}>."
        raise SettingError(msg)
    return tuple(spans)


def fill(spans: tuple[Span, ...], values: Mapping[str, str]) -> list[tuple[str, str]]:
    """Put the values of the fields into a text.

    Parameters
    ----------
    spans : tuple of Span
    values : mapping
        Field name to text.

    Returns
    -------
    list of (text, style name)

    Raises
    ------
    SettingError
        If a field has no value.
    """
    filled: list[tuple[str, str]] = []
    for span in spans:
        text = values.get(span.field) if span.field else span.text
        if text is None:
            near = difflib.get_close_matches(span.field, values, 1)
            hint = f"Is it {near[0]!r}?" if near else f"Known: {', '.join(values) or 'none'}."
            msg = f"field ${{{span.field}}} must have a value. {hint}"
            raise SettingError(msg)
        if filled and filled[-1][1] == span.style:
            filled[-1] = (filled[-1][0] + text, span.style)
        elif text:
            filled.append((text, span.style))
    return filled
