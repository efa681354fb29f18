"""A book as a folder of CSV files, one per table: what `export` writes, and every command reads."""

from __future__ import annotations

import csv
import os
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from io import StringIO
from pathlib import Path

from orderbook.records.rows import Change, Place, Row, Tables, Value, changed, is_blank
from orderbook.workbook.definition import book_definition


def tables_in(folder: Path) -> dict[str, tuple[Row, ...]]:
    """Read every table of a folder; a column is known by its header or by its key, others are kept as they are."""
    return {path.stem: _rows(path) for path in sorted(folder.glob("*.csv"))}


def _rows(path: Path) -> tuple[Row, ...]:
    with path.open(encoding="utf-8-sig", newline="") as file:
        reader = csv.reader(file)
        keys = [key_of(path.stem, header) for header in next(reader, [])]
        places = ((Place(path.stem, number), cells) for number, cells in enumerate(reader, 2))
        return tuple(Row(dict(zip(keys, cells, strict=False)), place) for place, cells in places if any(cells))


def key_of(table: str, header: str) -> str:
    """Return the key of a column of a table by its header or key; an unknown header is its own key."""
    definition = book_definition().tables.get(table)
    plain = header.strip().casefold()
    for column in definition.columns if definition else ():
        if plain in (column.header.casefold(), column.key.casefold()):
            return column.key
    return header.strip()


def save(folder: Path, tables: Tables, changes: Sequence[Change]) -> None:
    """Make changes to the tables of a folder; each file is written beside and put in place whole."""
    after = changed(tables, changes)
    for table in dict.fromkeys(change.table for change in changes):
        path = folder / f"{table}.csv"
        put_whole(path, text_of(table, after[table], headers=_headers(path)))


def _headers(path: Path) -> list[str]:
    if not path.exists():
        return []
    with path.open(encoding="utf-8-sig", newline="") as file:
        return next(csv.reader(file), [])


def put_whole(path: Path, text: str) -> None:
    """Write a file so that it is the old or the new one whole, whatever happens meanwhile."""
    beside = path.with_name(f".{path.name}.new")
    with beside.open(
        "w", encoding="utf-8-sig", newline=""
    ) as file:  # with its mark a spreadsheet reads ± and ü rightly
        file.write(text)
        file.flush()
        os.fsync(file.fileno())
    beside.replace(path)


def text_of(table: str, rows: Iterable[Row], *, headers: Sequence[str] = ()) -> str:
    """Write rows as CSV under the headers given, then under those that the rows need besides."""
    listed = [row for row in rows if not is_blank(row.values)]
    keys = [key_of(table, header) for header in headers]
    named = dict(zip(keys, headers, strict=True))
    for key, header in _defined(table).items():
        if not headers or any(key in row.values and key not in named for row in listed):
            named.setdefault(key, header)
    for row in listed:
        named |= {key: key for key in row.values if key not in named}
    page = StringIO()
    out = csv.writer(page, lineterminator="\r\n")
    out.writerow(named.values())
    out.writerows([as_text(row.get(key)) for key in named] for row in listed)
    return page.getvalue()


def _defined(table: str) -> Mapping[str, str]:
    definition = book_definition().tables.get(table)
    return {column.key: column.header for column in definition.columns} if definition else {}


def as_text(value: Value) -> str:
    """Write a cell as text that is read back as the same value.

    >>> as_text(Decimal("18.50")), as_text(6.0), as_text(date(2026, 3, 4)), as_text(None), as_text(True)
    ('18.50', '6', '2026-03-04', '', 'yes')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, datetime):
        value = value.date()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() else repr(value)
    return str(value)
