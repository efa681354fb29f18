"""Suppliers, rates and springs of the drawer that a person hands over: a data frame, rows, or a CSV file.

They are tables of a book, and read as those of a book are.
"""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from orderbook.errors import error
from orderbook.measures.given import rows_of
from orderbook.records.definition import book_definition
from orderbook.records.rows import Row, rows_from

NEEDED = {
    "rates": ("date", "currency", "rate"),
    "suppliers": ("supplier", "currency"),
    "drawer": ("label", "width_mm", "strength_mm", "length_mm"),
}


def side_table(name: str, given: Any) -> tuple[Row, ...]:
    """Return the rows of a table that was handed over, columns by key, whatever their headings' capitals.

    Raises: OrderbookError(side_file_columns | side_file_not_read | rows_not_read); OSError if a file cannot be opened.

    >>> rows = side_table("suppliers", [{"Supplier": "Supplier North", "Currency": "GBP", "Lead days": 4}])
    >>> rows[0]["lead_days"]
    4
    """
    is_file = isinstance(given, (str, Path))
    where = str(given) if is_file else f"⟨{name}⟩"
    table = book_definition().tables[name.capitalize()]
    keys = {column.header.casefold(): column.key for column in table.columns}
    rows = _rows_of_file(Path(given)) if is_file else rows_of(given, where=where)
    rows = [{_key(head, keys): cell for head, cell in row.items()} for row in rows]
    columns = list(dict.fromkeys(key for row in rows for key in row))
    known = [*columns, "label"] if "drawer" in columns else columns  # its number, under either heading
    if missing := [key for key in NEEDED[name] if key not in known and (rows or is_file)]:
        saw = f"columns {', '.join(columns) or 'none'}; no {', '.join(missing)}"
        raise error("side_file_columns", where=where, saw=saw)
    kept = [row for row in rows if any(cell not in (None, "") for cell in row.values())]
    return rows_from(name.capitalize(), kept, sheet=where if is_file else name, first_row=2 if is_file else 0)


def side_weights(given: Any) -> tuple[Mapping[str, Any], str]:
    """Return the weights of the choice that were handed over, by name, and where they stand: a mapping or a TOML file.

    Raises: OrderbookError(side_file_not_read); OSError if a file cannot be opened.
    """
    if not isinstance(given, (str, Path)):
        return dict(given), "⟨weights⟩"
    try:
        return tomllib.loads(_text(Path(given))), str(given)
    except tomllib.TOMLDecodeError as problem:
        raise error("side_file_not_read", where=str(given), saw=str(problem)) from problem


def _key(head: str, keys: Mapping[str, str]) -> str:
    plain = head.strip().casefold()
    return keys.get(plain, plain.replace(" ", "_"))


def _rows_of_file(path: Path) -> list[dict[str, Any]]:
    text = _text(path)
    head = text.partition("\n")[0]
    delimiter = max(",;\t", key=head.count)
    rows = csv.DictReader(io.StringIO(text), delimiter=delimiter, skipinitialspace=True)
    found = [{k: v or "" for k, v in row.items() if k} for row in rows]
    return found or [dict.fromkeys(rows.fieldnames or (), "")]


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as problem:
        raise error("side_file_not_read", where=str(path), saw="not text in UTF-8") from problem
