"""How a row was typed: dates as text, rows under a table."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from orderbook.errors import Finding, finding
from orderbook.records import tables as t
from orderbook.records.bookkeeping import Step
from orderbook.records.books import Books
from orderbook.records.rows import Put, is_blank


def fixes(books: Books) -> Iterator[Step]:
    """Turn a date typed as text, of which there is only one reading, into a date."""
    by_place = {f.where: f for f in books.unread if f.code == "date_typed_as_text"}
    if not by_place:
        return
    for table, cls in t.RECORDS.items():
        keys = [key for key, _ in t.readers(cls)]
        for record in getattr(books, table.lower()):
            for key in keys:
                place = record.row.place
                if isinstance(when := getattr(record, key), date) and (found := by_place.get(place.of(key))):
                    yield Step(Put(table, place.row, {key: when}), found)


def below_tables(books: Books) -> list[Finding]:
    """Find rows typed under the last row of their table: its totals do not see them."""
    return [
        finding("row_below_table", where=row.place.of(), saw=_first_words(row.values))
        for rows in books.tables.values()
        for row in rows
        if row.place.below and not is_blank(row.values)
    ]


def _first_words(values: object) -> str:
    said = [str(v) for v in getattr(values, "values", dict)() if v not in (None, "")]
    return "“" + ", ".join(said[:3]) + "”"
