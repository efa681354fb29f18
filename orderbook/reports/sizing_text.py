"""A sizing for a person to read: the table, what to know about it, what can hurt."""

from __future__ import annotations

from collections.abc import Iterable

from orderbook.cautions import Caution
from orderbook.errors import Finding
from orderbook.reports.tables import Column, plus_minus, table, wrapped
from orderbook.verbs.sizing import Line, Sizing

MARK = {"note": "Note", "warning": "Warning", "error": "Error"}
WORDS = {
    "flow_stress": "flow stress of the steel",
    "modulus": "modulus of the steel",
    "need": "what the movement needs",
    "used": "turns used",
    "rule": "the rule of thumb",
    "width": "depth",
    "free_shape": "the shape the strip takes lying free",
}


def sizing_text(sizing: Sizing) -> str:
    """Write a sizing as a table and sentences."""
    heads = [
        Column("what"),
        Column("", "right"),
        Column("±", "right"),
        Column("unit"),
        Column("from", wraps=True),
        Column("± mostly from", wraps=True),
    ]
    parts = [table(heads, [_row(line) for line in sizing.lines], width=118)]
    best = sizing.reference
    width = f"{best.width_mm:.2f} × " if sizing.model.width else ""
    parts.append(
        f"Strongest useful spring (drive and load 100 %): {width}{best.strength_mm:.3f} × {best.length_mm:.0f} mm."
    )
    return "\n\n".join([*parts, *said_findings(sizing.findings, sizing.cautions)])


def said_findings(findings: Iterable[Finding], cautions: Iterable[Caution]) -> list[str]:
    """Write findings one a line, and cautions after them."""
    lines = [wrapped(f"{MARK[f.severity]}: {f}") for f in findings]
    return (["\n".join(lines)] if lines else []) + [wrapped(f"Caution: {caution}") for caution in cautions]


def _row(line: Line) -> list[str]:
    number, spread = plus_minus(line.value, line.u)
    return [line.what, number, spread, line.unit, line.source, _mostly(line)]


def _mostly(line: Line) -> str:
    if not line.dominated_by:
        return ""
    name = line.dominated_by
    said = WORDS.get(name, name.replace("_", " "))
    if name.startswith(("original_", "groove_")):
        said = "the original" if name.startswith("original_") else "groove radii"
    return f"{said} ({100 * line.share:.0f} %)"
