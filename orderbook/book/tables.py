"""Rows of a new book from a folder of CSV files and from suppliers' lists."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from decimal import Decimal, InvalidOperation
from pathlib import Path
from typing import Any

from orderbook.book.csv_folder import tables_in
from orderbook.catalogue import Catalogue
from orderbook.measures.money import Money
from orderbook.records.definition import Column, book_definition


def rows_of_folder(folder: Path) -> dict[str, list[dict[str, Any]]]:
    """Return table → rows of a folder of CSV files, numbers and days as such, ready for a new book."""
    definition = book_definition()
    found = {}
    for name, rows in tables_in(folder).items():
        if name in definition.tables:
            columns = {column.key: column for column in definition.tables[name].columns}
            found[name] = [
                {key: typed(value, columns[key]) for key, value in row.values.items() if key in columns} for row in rows
            ]
    return found


def typed(value: Any, column: Column) -> Any:
    """Return a text as the number or the day its column holds; what is neither stays text, as it would in a sheet."""
    if not isinstance(value, str) or column.kind == "worked":
        return value if column.kind != "worked" else None
    text = value.strip()
    if column.format == "date":
        try:
            return dt.date.fromisoformat(text)
        except ValueError:
            return text or None
    if column.format or column.key in ("value", "postage"):
        try:
            return Decimal(text)
        except InvalidOperation:
            return text or None
    return text or None


def catalogue_rows(catalogue: Catalogue, rows: Sequence[int] | None = None) -> list[dict[str, Any]]:
    """Return rows for the table Catalogue; the price is the price of a pack, as printed."""
    return [_listed(catalogue.row(i)) for i in (rows if rows is not None else range(len(catalogue)))]


def _listed(row: Mapping[str, Any]) -> dict[str, Any]:
    return {
        **{key: row[key] or None for key in ("supplier", "item", "end", "material", "file")},
        **{key: float(row[key]) for key in ("width_mm", "strength_mm", "length_mm")},
        "price": Decimal(Money(int(row["price_minor"]), row["currency"]).text) if row["price_minor"] >= 0 else None,
        "currency": row["currency"] or None,
        "pack": int(row["pack"]),
        "stock": int(row["stock"]) if row["stock"] >= 0 else None,
        "supplier_note": row["note"] or None,
        "line": int(row["line"]),
    }
