"""Pages to print: a template filled with text, every text escaped, the style sheet inside."""

from __future__ import annotations

from importlib.resources import files
from typing import Any


def filled(template: str, **told: Any) -> str:
    """Fill a template of this room with the style sheet and what is told."""
    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup

    page = Environment(autoescape=True, undefined=StrictUndefined).from_string(_file(template))
    return page.render(css=Markup(_file("record.css")), **told)


def _file(name: str) -> str:
    return files("orderbook.reports").joinpath(name).read_text(encoding="utf-8")
