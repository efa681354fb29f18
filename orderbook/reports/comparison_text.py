"""Springs side by side for a person to read."""

from __future__ import annotations

from orderbook.barrel.comparing import Compared, Comparison
from orderbook.cautions import caution
from orderbook.measures import plainly
from orderbook.reports.sizing_text import said_findings
from orderbook.reports.tables import TextColumn, table, with_plus_minus


def comparison_text(comparison: Comparison) -> str:
    """Write a comparison as a table and sentences, weakest spring first."""
    fusee = comparison.model.run.drive == "fusee"
    heads = [
        TextColumn("spring, mm"),
        *(TextColumn(head, "right") for head in ("fill\n%", "turns", "delivered", "least\nN·mm", "greatest\nN·mm")),
        *(TextColumn(head, "right") for head in ("drive\n%", "load\n%")),
        *([TextColumn("best set-up\nturns", "right"), TextColumn("evenness", "right")] if fusee else []),
    ]
    parts = [table(heads, [_row(spring, fusee) for spring in comparison.springs], width=118)]
    best, used = comparison.model.reference, comparison.model.used
    width = f"{best.width_mm:.2f} × " if comparison.model.width else ""
    place = "at the fusee " if fusee else ""
    parts.append(
        f"Over {with_plus_minus(used.value, used.u)} turns used ({used.source}). Torque {place}"
        f"without friction, known to ± 30 %; drive and load to the ± shown.\n"
        f"100 % is the strongest useful spring, {width}{best.strength_mm:.3f} × {best.length_mm:.0f} mm; "
        f"useful from {comparison.sweep.useful[0]:.3f} mm (drive 60 %)."
    )
    parts.extend(said_findings(comparison.findings, dict.fromkeys((*comparison.cautions, caution("too_strong")))))
    return "\n\n".join(parts)


def _row(spring: Compared, fusee: bool) -> list[str]:
    row = [
        spring.name,
        f"{100 * spring.fill:.0f}",
        f"{spring.turns:.2f}",
        f"{spring.turns_delivered:.2f}",
        _number(spring.drive_nmm),
        _number(spring.load_nmm),
        with_plus_minus(spring.drive_index, spring.drive_index_u, at_most=0),
        with_plus_minus(spring.load_index, spring.load_index_u, at_most=0),
    ]
    return row + ([f"{spring.set_up_turns:.2f}", f"{spring.evenness:.2f}"] if fusee else [])


def _number(torque: float) -> str:
    return plainly(torque)
