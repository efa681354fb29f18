"""What the demo says: the answer in under a screen, and what to open next."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from orderbook.barrel.sizing import Sizing
from orderbook.cautions import caution
from orderbook.choosing.grading import Grading
from orderbook.reports.tables import TextColumn, table, with_plus_minus, wrapped

Piece = tuple[str, Sizing, Grading]
HEADS = [
    TextColumn("stage"),
    TextColumn("supplier and item"),
    TextColumn("b × e × L, mm"),
    TextColumn("drive %", "right"),
    TextColumn("load %", "right"),
    TextColumn("chance %", "right"),
    TextColumn("price GBP", "right"),
]


def demo_text(folder: Path, pieces: Sequence[Piece]) -> str:
    """Write the demo's answer for each barrel, then what the folder holds."""
    blocks = ["Every piece, reading, supplier and price here is invented."]
    blocks += [_piece(*piece) for piece in pieces]
    blocks.append(
        "Fit stage 1 first; stop at the first that runs well. Let a wound spring down before you open the barrel.\n"
        f"Open next: {folder / 'book.xlsx'}: the same pieces some weeks later, when the first spring of the going\n"
        "train was too weak; its Bench says what to do next. Beside it: the pictures torque-*.png, lists/, and\n"
        "earlier.xlsx, a book of an earlier year: its page Learned says what fifteen closed clocks teach."
    )
    return "\n\n".join(blocks)


def _piece(piece: str, sizing: Sizing, grading: Grading) -> str:
    known = sizing.quantities
    sizes = (known[key] for key in ("width_mm", "strength_mm", "length_mm") if key in known)
    belongs = " × ".join(with_plus_minus(one.value, one.u) for one in sizes)
    rows = [_stage(stage) for stage in grading.stage_dicts()]
    cut = any(stage["trim_to_mm"] for stage in grading.stage_dicts())
    below = "\n" + wrapped(f"Caution: {caution('cutting')}") if cut else ""
    return f"{piece[:1].upper()}{piece[1:]}. Belongs there: {belongs} mm\n{table(HEADS, rows)}{below}"


def _stage(stage: dict[str, object]) -> list[str]:
    size = f"{stage['width_mm']:g} × {stage['strength_mm']:g} × {stage['length_mm']:g}"
    cut = f", cut to {stage['trim_to_mm']:.0f}" if stage["trim_to_mm"] else ""
    return [
        str(stage["stage"]),
        f"{stage['supplier']} {stage['item']}",
        size + cut,
        f"{stage['drive_index']:.0f} ± {2 * float(str(stage['drive_index_u'])):.0f}",
        f"{stage['load_index']:.0f} ± {2 * float(str(stage['load_index_u'])):.0f}",
        f"{100 * float(str(stage['chance_it_is_the_one'])):.0f}",
        str(stage["price"]),
    ]
