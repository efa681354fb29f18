"""The main job on invented pieces: readings and lists in, a folder with a book, the lists and pictures out."""

from __future__ import annotations

import csv
import tempfile
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from orderbook.barrel.barrel import barrel_from_texts
from orderbook.barrel.sizing import size
from orderbook.book.answer_rows import Answered, strips, torque_rows, window
from orderbook.book.demo_book import write_demo_book
from orderbook.book.own_folder import fill
from orderbook.book.refresh import refresh
from orderbook.choosing.grading import grading_of
from orderbook.choosing.options import Wishes, suppliers_from_rows
from orderbook.choosing.ranking import consider, ranking_of
from orderbook.locate import data_folder
from orderbook.measures.exchange import Rates
from orderbook.reports.stages_figure import stages_png

FOLDER, BOOK = "orderbook-demo", "book.xlsx"
CURRENCY = "GBP"
Report = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Shown:
    """What the demo worked out, and the folder it filled."""

    folder: Path
    pieces: tuple[tuple[str, Answered], ...]


def demo(folder: Path | None = None, report: Report = lambda _: None) -> Shown:
    """Run the main job on the demo's barrels and fill a folder; what is not ours there is never written over.

    Raises: OrderbookError(folder_not_ours) if the folder named holds other things; without a name the next free one
    is taken.
    """
    source = data_folder("demo_catalog")
    barrels = tomllib.loads((source / "barrels.toml").read_text(encoding="utf-8"))
    wishes = _wishes(source)
    pieces = []
    for name, told in barrels.items():
        report(f"{name}: reading {len(told['lists'])} lists, sizing, ranking, choosing")
        pieces.append((told["piece"], _answered(name, told, source, wishes)))
    report("writing the book and the pictures")
    files = _lists(source) | _pictures(pieces) | {BOOK: _book()}
    filled = fill(folder or Path(FOLDER), files, may_step_aside=folder is None)
    return Shown(filled, tuple(pieces))


def _answered(name: str, told: dict[str, Any], source: Path, wishes: Wishes) -> Answered:
    from orderbook.catalogue import read_catalogue

    barrel, said = barrel_from_texts(told["readings"])
    considered = consider(barrel, read_catalogue([source / name for name in told["lists"]]), wishes, said)
    return Answered(name, size(barrel, said), ranking_of(considered), grading_of(considered))


def _wishes(source: Path) -> Wishes:
    rates = Rates.from_rows(CURRENCY, _rows(source / "rates.csv"), where="rates.csv")
    suppliers = suppliers_from_rows(_rows(source / "suppliers.csv"), where="suppliers.csv")
    return Wishes(currency=CURRENCY, rates=rates, suppliers=suppliers, top=13)


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def _lists(source: Path) -> dict[str, bytes]:
    names = [*sorted(p.name for p in source.glob("supplier_*.csv")), "suppliers.csv", "rates.csv"]
    return {f"lists/{name}": (source / name).read_bytes() for name in names}


def _pictures(pieces: list[tuple[str, Answered]]) -> dict[str, bytes]:
    return {f"torque-{answered.barrel}.png": torque_picture(piece, answered) for piece, answered in pieces}


def torque_picture(piece: str, answered: Answered) -> bytes:
    """Draw the torque of one barrel's stages as a PNG."""
    rows = torque_rows(answered)
    drawn = strips(answered)
    lines = {s.name: [r[k] for r in rows if (k := f"{s.name.replace(' ', '_')}_nmm") in r] for s in drawn}
    labels = {s.name: f"{s.name}: {s.width_mm:.4g} × {s.strength_mm:.3f} × {s.length_mm:.0f}" for s in drawn}
    turns = [row["turns"] for row in rows]
    return stages_png(f"{answered.barrel} · {piece}", turns, lines, window(answered), labels)


def _book() -> bytes:
    """Make the book of the same two pieces further on in the story, its answers worked out from its own rows."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / BOOK
        write_demo_book(path)
        refresh(path)
        return path.read_bytes()
