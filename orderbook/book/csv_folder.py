"""A book as a folder of CSV files, one per table: what `export` writes, and every command reads."""

from __future__ import annotations

import csv
import os
from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from io import StringIO
from pathlib import Path

from orderbook.errors import error
from orderbook.records.csv_cells import as_typed, harmless
from orderbook.records.definition import book_definition
from orderbook.records.rows import Change, Place, Row, Tables, Value, changed, is_blank


def tables_in(folder: Path) -> dict[str, tuple[Row, ...]]:
    """Read every table of a folder; a column is known by its header or by its key, others are kept as they are."""
    return {path.stem: _rows(path) for path in sorted(folder.glob("*.csv"))}


def _rows(path: Path) -> tuple[Row, ...]:
    text, mark = _opened(path)
    reader = csv.reader(StringIO(text, newline=""), delimiter=mark)
    keys = [key_of(path.stem, as_typed(header)) for header in next(reader, [])]
    places = ((Place(path.stem, number), list(map(as_typed, cells))) for number, cells in enumerate(reader, 2))
    return tuple(Row(dict(zip(keys, cells, strict=False)), place) for place, cells in places if any(cells))


def _opened(path: Path) -> tuple[str, str]:
    """Return the text of a table and the mark between its cells, whatever program saved it.

    Raises: OrderbookError(no_column_known) where a table of the book has headers, and none of them is known.
    """
    data = path.read_bytes()
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        from orderbook.catalogue.letters import decode  # only for what an older program saved

        text = decode(data, str(path)).text
    if not text.strip() or _knows(path.stem, text, ","):
        return text, ","
    from orderbook.book.outside_lists import mark_between

    mark = mark_between(text, str(path))
    if path.stem in book_definition().tables and not _knows(path.stem, text, mark):
        raise error("no_column_known", where=str(path), saw=f"its first row is {text.strip().splitlines()[0][:80]!r}")
    return text, mark


def _knows(table: str, text: str, mark: str) -> bool:
    """Whether the first row names a column of the table, cut by this mark."""
    defined = _defined(table)
    return any(key_of(table, cell) in defined for cell in next(csv.reader(StringIO(text), delimiter=mark), []))


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
        headers, mark = _headers(path)
        put_whole(path, text_of(table, after[table], headers=headers, mark=mark))


def _headers(path: Path) -> tuple[list[str], str]:
    if not path.exists():
        return [], ","
    text, mark = _opened(path)
    first = next(csv.reader(StringIO(text, newline=""), delimiter=mark), [])
    return list(map(as_typed, first)), mark


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


def text_of(table: str, rows: Iterable[Row], *, headers: Sequence[str] = (), mark: str = ",") -> str:
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
    out = csv.writer(page, lineterminator="\r\n", delimiter=mark)
    out.writerow(map(harmless, named.values()))
    out.writerows([_cell(row.get(key)) for key in named] for row in listed)
    return page.getvalue()


def _cell(value: Value) -> str:
    return harmless(value) if isinstance(value, str) else as_text(value)


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
