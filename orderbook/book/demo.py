"""The main job on invented pieces: readings and lists in, a folder with a book, the lists and pictures out."""

from __future__ import annotations

import csv
import tempfile
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from orderbook.answers.answer import Answer
from orderbook.answers.terms import options_of
from orderbook.barrel.barrel import barrel_from_texts
from orderbook.barrel.sizing import size
from orderbook.book.answer_rows import strips, torque_rows, window
from orderbook.book.demo_book import write_demo_book, write_earlier_book
from orderbook.book.demo_pictures import demo_photographs
from orderbook.book.own_folder import fill
from orderbook.book.photographs import folder_beside
from orderbook.book.refresh import refresh
from orderbook.choosing.considering import consider
from orderbook.choosing.grading import grading_of
from orderbook.choosing.options import Options
from orderbook.choosing.ranking import ranking_of
from orderbook.locate import data_folder
from orderbook.records.books import books_from
from orderbook.reports.demo_text import demo_text
from orderbook.reports.stages_figure import stages_png
from orderbook.shown import Shown

FOLDER, BOOK, EARLIER = "orderbook-demo", "book.xlsx", "earlier.xlsx"
CURRENCY = "GBP"
Report = Callable[[str], None]


@dataclass(frozen=True, slots=True, repr=False)
class Demonstration(Shown):
    """What the demo worked out, and the folder it filled."""

    folder: Path
    pieces: tuple[tuple[str, Answer], ...]

    def as_dict(self) -> dict[str, Any]:
        """Return the folder, and of each piece the answers of `size` and `grade`."""
        pieces = [
            {"piece": piece, "size": answer.sizing.as_dict(), "grade": answer.grading.as_dict()}
            for piece, answer in self.pieces
        ]
        return {"folder": str(self.folder), "pieces": pieces}

    def shown_rows(self) -> list[dict[str, Any]]:
        """Return the stages of every piece, a row each."""
        return [{"piece": piece, **stage} for piece, answer in self.pieces for stage in answer.grading.stage_dicts()]

    def text(self, **_: Any) -> str:
        """Say the answer for each piece and what the folder holds, as the command prints it."""
        return demo_text(self.folder, [(piece, answer.sizing, answer.grading) for piece, answer in self.pieces])


def demo(folder: Path | None = None, report: Report = lambda _: None) -> Demonstration:
    """Run the main job on the demo's barrels and fill a folder; what is not ours there is never written over.

    Raises: OrderbookError(folder_not_ours) if the folder named holds other things; without a name the next free one
    is taken.

    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     done = demo(Path(folder) / "demo")
    ...     (done.folder / "book.xlsx").exists()
    True
    """
    source = data_folder("demo_catalog")
    barrels = tomllib.loads((source / "barrels.toml").read_text(encoding="utf-8"))
    options = _options(source)
    pieces = []
    for name, told in barrels.items():
        report(f"{name}: reading {len(told['lists'])} lists, sizing, ranking, choosing")
        pieces.append((told["piece"], _answered(name, told, source, options)))
    report("writing the book and the pictures")
    # the same pieces further on in the story, their answers from the book's own rows; and what an earlier year teaches
    books = {BOOK: _made(BOOK, write_demo_book, refresh), EARLIER: _made(EARLIER, write_earlier_book)}
    files = _lists(source) | _pictures(pieces) | _photographs() | books
    filled = fill(folder or Path(FOLDER), files, may_step_aside=folder is None)
    return Demonstration(filled, tuple(pieces))


def _answered(name: str, told: dict[str, Any], source: Path, options: Options) -> Answer:
    from orderbook.catalogue import read_catalogue

    barrel, _ = barrel_from_texts(told["readings"])
    considered = consider(barrel, read_catalogue([source / name for name in told["lists"]]), options)
    return Answer(name, size(barrel), ranking_of(considered), grading_of(considered))


def _options(source: Path) -> Options:
    tables = {name: _rows(source / f"{name.lower()}.csv") for name in ("Rates", "Suppliers")}
    return options_of(books_from(tables, currency=CURRENCY), top=13)


def _rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


def _lists(source: Path) -> dict[str, bytes]:
    names = [*sorted(p.name for p in source.glob("supplier_*.csv")), "suppliers.csv", "rates.csv"]
    return {f"lists/{name}": (source / name).read_bytes() for name in names}


def _photographs() -> dict[str, bytes]:
    """Return the pictures of the pieces, in the folder in which a record looks for them."""
    home = folder_beside(Path(BOOK)).name
    return {f"{home}/{name}": picture for name, picture in demo_photographs().items()}


def _pictures(pieces: list[tuple[str, Answer]]) -> dict[str, bytes]:
    return {f"torque-{answered.barrel}.png": torque_picture(piece, answered) for piece, answered in pieces}


def torque_picture(piece: str, answered: Answer) -> bytes:
    """Draw the torque of one barrel's stages as a PNG."""
    rows = torque_rows(answered)
    drawn = strips(answered)
    lines = {s.name: [r[k] for r in rows if (k := f"{s.name.replace(' ', '_')}_nmm") in r] for s in drawn}
    labels = {s.name: f"{s.name}: {s.width_mm:.4g} × {s.strength_mm:.3f} × {s.length_mm:.0f}" for s in drawn}
    turns = [row["turns"] for row in rows]
    return stages_png(f"{answered.barrel} · {piece}", turns, lines, window(answered), labels)


def _made(name: str, *steps: Callable[[Path], object]) -> bytes:
    """Make a book by what is done to its path, step by step."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / name
        for step in steps:
            step(path)
        return path.read_bytes()
