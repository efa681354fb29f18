"""A sizing for a person to read: the table, what to know about it, what can hurt."""

from __future__ import annotations

from collections.abc import Iterable

from orderbook.barrel.sizing import EQUATIONS, SAID, Line, Sizing, in_words
from orderbook.cautions import Caution
from orderbook.errors import Finding
from orderbook.measures import Propagated
from orderbook.reports.tables import TextColumn, plus_minus, table, with_plus_minus, wrapped

MARK = {"note": "Note", "warning": "Warning", "error": "Error"}
SYMBOLS = (
    "R and r are half of bore and arbor, h the depth, b, e and L width, strength and length, φ the fill, M the torque "
    "θ turns up from run down, σ and E flow stress and modulus, η what friction leaves; κ are curvatures."
)
SHARE = 0.01  # of the variance; smaller parts of a ± are not named


def sizing_text(sizing: Sizing, *, explain: bool = False) -> str:
    """Write what warns, a sizing as a table, then notes; with explain each equation and all that makes up each ±."""
    heads = [
        TextColumn("what"),
        TextColumn("", "right"),
        TextColumn("±", "right"),
        TextColumn("unit"),
        TextColumn("from", wraps=True),
        TextColumn("± mostly from", wraps=True),
    ]
    grave = [f for f in sizing.findings if f.severity != "note"]
    notes = [f for f in sizing.findings if f.severity == "note"]
    parts = [*said_findings(grave, ()), table(heads, [_row(line) for line in sizing.lines], width=118)]
    best = sizing.reference
    width = f"{best.width_mm:.2f} × " if sizing.model.width else ""
    parts.append(
        f"Strongest useful spring (drive and load 100 %): {width}{best.strength_mm:.3f} × {best.length_mm:.0f} mm."
    )
    if explain:
        parts.append(_explained(sizing))
    return "\n\n".join([*parts, *said_findings(notes, sizing.cautions)])


def _explained(sizing: Sizing) -> str:
    columns = [TextColumn("what"), TextColumn("worked out as", wraps=True), TextColumn("share of its ±", wraps=True)]
    known = sizing.quantities
    rows = [[what, EQUATIONS.get(key, ""), _shares(known[key])] for key, (what, _, _) in SAID.items() if key in known]
    given = [
        f"  {name if name == 'width' else in_words(name)}: {with_plus_minus(m.value, m.u)} ({m.source})"
        for name, m in sizing.inputs.items()
        if m.source
    ]
    return "\n\n".join([table(columns, rows, width=118), wrapped(SYMBOLS), "\n".join(["Put in:", *given])])


def _shares(known: Propagated) -> str:
    whole = sum(part * part for part in known.parts.values())
    if not known.u > 0:
        return ""
    squares = sorted(((part * part / whole, name) for name, part in known.parts.items()), reverse=True)
    return ", ".join(f"{in_words(name)} {100 * share:.0f} %" for share, name in squares if share >= SHARE)


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
    return f"{in_words(line.dominated_by)} ({100 * line.share:.0f} %)"
