"""The demo's book: three invented timepieces, four barrels, a list of springs around their sizes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from orderbook.book.learn import learn
from orderbook.book.tables import catalogue_rows, rows_of_folder
from orderbook.catalogue import read_catalogue
from orderbook.locate import data_folder
from orderbook.sheets.new_book import write_new_book

BARREL, PIECE = "R-007-B1", "R-007"
# depth less clearance of the four barrels, mm; around them the book keeps what could go in, and what just does not
_WIDTHS_MM = (37.65, 36.47, 2.98, 18.13)
_FROM, _TO = 0.96, 1.02


def demo_tables() -> dict[str, list[dict[str, Any]]]:
    """Return the rows of the demo's book, answers not yet among them."""
    folder = data_folder("demo_catalog")
    return rows_of_folder(folder / "book") | {"Catalogue": _listed(folder)}


def write_demo_book(path: Path) -> None:
    """Make the demo's book; its answers come from `refresh`."""
    write_new_book(path, demo_tables(), barrel=BARREL, restoration=PIECE)


def write_earlier_book(path: Path) -> None:
    """Make the book of an earlier year: fifteen invented closed clocks, and what they teach on its page Learned."""
    tables = rows_of_folder(data_folder("demo_catalog") / "earlier")
    write_new_book(path, {name: rows for name, rows in tables.items() if name != "Settings"})
    learn([path])


def _listed(folder: Path) -> list[dict[str, Any]]:
    lists = sorted(folder.glob("supplier_*.csv"))
    catalogue = read_catalogue(lists).catalogue
    near = [i for i, mm in enumerate(catalogue.width_mm) if any(_FROM * w < mm < _TO * w for w in _WIDTHS_MM)]
    return catalogue_rows(catalogue, near)
