"""How cells look: palette, type and the named styles of `look.toml`, as formats of XlsxWriter."""

from __future__ import annotations

import tomllib
from functools import cache
from typing import Any

from orderbook.locate import data_folder
from orderbook.xlsx.page import Look

_EDGES = {"box": ("border", "border_color"), "top": ("top", "top_color"), "bottom": ("bottom", "bottom_color")}


@cache
def look_definition() -> dict[str, Any]:
    """Read `look.toml` of the template."""
    return tomllib.loads((data_folder("workbook_template") / "look.toml").read_text(encoding="utf-8"))


def color(name: str) -> str:
    """Return a colour of the palette by name.

    >>> color("steel")
    '#27486B'
    """
    return str(look_definition()["palette"][name])


def size(name: str) -> int:
    """Return a size of the type scale, in points."""
    return int(look_definition()["type"][name])


def font(name: str = "small") -> dict[str, Any]:
    """Return the font of chart words."""
    return {"name": look_definition()["type"]["family"], "size": size(name), "bold": False, "color": color("ink")}


def properties(look: Look) -> dict[str, Any]:
    """Return the properties of a format for XlsxWriter."""
    style = look_definition()["styles"][look.style]
    props = _base(style)
    if look.format:
        props["num_format"] = look_definition()["formats"][look.format]
    props |= {"align": look.align} if look.align else {}
    props |= {"indent": look.indent} if look.indent and look.align != "center" else {}
    props |= {"bold": True} if look.bold else {}
    props |= {"bg_color": color(look.fill)} if look.fill else {}
    props |= {"font_size": size(look.size)} if look.size else {}
    props |= {"text_wrap": look.wrap} if look.wrap is not None else {}
    props |= {"shrink": True} if look.shrink else {}
    props |= {"left": 1, "left_color": color(look.left)} if look.left else {}
    return props


def _base(style: dict[str, Any]) -> dict[str, Any]:
    family = look_definition()["type"]["family"]
    props: dict[str, Any] = {
        "font_name": family, "font_scheme": False, "font_size": size(style.get("size", "body")),
        "font_color": color(style.get("color", "ink")), "valign": style.get("valign", "vcenter"),
    }  # fmt: skip
    for key, (edge, edge_color) in _EDGES.items():
        if key in style:
            props |= {edge: 1, edge_color: color(style[key])}
    if "rule" in style:
        props |= {"bottom": 2, "bottom_color": color(style["rule"])}
    props |= {"bold": True} if style.get("bold") else {}
    props |= {"bg_color": color(style["fill"])} if "fill" in style else {}
    props |= {"text_wrap": True} if style.get("wrap") else {}
    props |= {"align": style["align"]} if "align" in style else {}
    return props
