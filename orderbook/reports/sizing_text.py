"""A sizing for a person to read: the table, what to know about it, what can hurt."""

from __future__ import annotations

import math
import textwrap
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
SCREEN = 80  # columns of the first screen
LABEL, VALUE = 19, 17  # columns of what is said, and of its value
INDICES = "Drive is the least pull over the run, in per cent of what the strongest useful spring of this barrel gives."
SHORT_CAUTION = "A wound spring can injure hand and eye: let it down fully before you open the barrel."
MOST_WARNED = 3


def sizing_screen(sizing: Sizing) -> str:
    """Write the first screen of `size`: width, strength, length, turns and the useful range, and what to look at."""
    rows = [
        _short("width", sizing, "width_mm"),
        _short("strength", sizing, "strength_mm"),
        _short("length", sizing, "length_mm"),
        _short("turns", sizing, "turns", _turns(sizing)),
        _useful(sizing),
        _short("just sufficient", sizing, "strength_need_mm"),
        _short("set-up", sizing, "set_up_clicks", "clicks, the most even of the usual ones"),
    ]
    found = [f for f in sizing.findings if f.severity != "note"]
    warned = [wrapped(f"{MARK[f.severity]}: {f.saw}.", SCREEN) for f in found[:MOST_WARNED]]
    more = f", {len(sizing.findings)} notes and warnings" if sizing.findings else ""
    last = f"More: --all (every quantity, what its ± is made of{more}), --explain (equations)"
    blocks = [
        "The spring that belongs there, lengths in mm:",
        "\n".join(row for row in rows if row),
        wrapped(INDICES, SCREEN),
        "\n".join(warned),
        wrapped(SHORT_CAUTION, SCREEN) + "\n" + wrapped(last, SCREEN),
    ]
    return "\n\n".join(block for block in blocks if block)


def _short(label: str, sizing: Sizing, key: str, source: str = "") -> str:
    """One line of the first screen; nothing where the quantity was not worked out."""
    line = next((line for line in sizing.lines if (line.what, line.unit) == SAID[key][:2]), None)
    if line is None:
        return ""
    return _laid_out(label, with_plus_minus(line.value, line.u), source or line.source)


def _laid_out(label: str, value: str, source: str) -> str:
    first, *rest = textwrap.wrap(source, SCREEN - LABEL - VALUE) or [""]
    behind = [" " * (LABEL + VALUE) + more for more in rest]
    return "\n".join([f"{label:<{LABEL}}{value:<{VALUE}}{first}".rstrip(), *behind])


def _turns(sizing: Sizing) -> str:
    known = sizing.quantities
    delivered = known["turns_delivered"].value if "turns_delivered" in known else math.nan
    carry = f", {delivered:.1f} of them with torque" if math.isfinite(delivered) else ""
    return f"run down to wound{carry}; {sizing.model.used.value:.3g} used a winding"


def _useful(sizing: Sizing) -> str:
    low, high = (sizing.quantities.get(key) for key in ("strength_low_mm", "strength_high_mm"))
    if low is None or high is None:
        return ""
    said = "from a drive of 60 % up to the strongest useful: beyond it more load, no more drive"
    return _laid_out("useful strengths", f"{low.value:.3f} to {high.value:.3f}", said)


def sizing_text(sizing: Sizing, *, everything: bool = False, explain: bool = False) -> str:
    """Write the first screen of `size`; with `everything` or `explain` all of it.

    All is what warns, every quantity, then notes; with `explain` each equation and each ±.
    """
    if not (everything or explain):
        return sizing_screen(sizing)
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
