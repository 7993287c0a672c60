"""Templates filled: one self-contained HTML file, style and face inside, no network."""

from __future__ import annotations

import base64
from functools import cache
from typing import TYPE_CHECKING, Any

from keyer.report.page.fonts import font_rules

if TYPE_CHECKING:
    from jinja2 import Environment

FONTS_HERE = "/* fonts */"


@cache
def _environment() -> Environment:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    return Environment(
        loader=PackageLoader("keyer.report.page", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def render_page(template: str, **values: Any) -> str:
    """Fill a template.

    Parameters
    ----------
    template : str
        File name in the folder of templates.
    values : Any
        What it asks for; texts are escaped.

    Returns
    -------
    str
        HTML.
    """
    page = _environment().get_template(template).render(**values)
    return page.replace(FONTS_HERE, font_rules(page), 1)


def data_uri(data: bytes, kind: str) -> str:
    """Put a file into a page (RFC 2397).

    Parameters
    ----------
    data : bytes
    kind : str
        Media type, e.g. `image/jpeg`.
    """
    return f"data:{kind};base64,{base64.b64encode(data).decode()}"
