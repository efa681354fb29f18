"""How a row was typed: dates as text, rows under a table."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from typing import Any

from orderbook.errors import Finding, finding
from orderbook.records import tables as t
from orderbook.records.bookkeeping import Step
from orderbook.records.books import STORED, Books
from orderbook.records.definition import book_definition
from orderbook.records.rows import Put, is_blank


def fixes(books: Books) -> Iterator[Step]:
    """Turn numbers and dates typed as text, of which there is only one reading, into numbers and dates."""
    for table, cls in t.RECORDS.items():
        if table in STORED:
            continue
        worked = {c.key for c in book_definition().tables[table].columns if c.kind == "worked"}
        keys = [(key, _NUMBERS) for key in _of_type(cls, "Decimal | None", "int | None")]
        keys += [(key, _DATES) for key in _of_type(cls, "date | None")]
        for record in books.records(table):
            values, place = record.row.values, record.row.place
            if not place.sheet:
                continue  # a file of text has nothing but text
            for key, (code, called) in keys:
                if (
                    key not in worked
                    and type(seen := values.get(key)) is str
                    and (value := getattr(record, key)) is not None
                ):
                    found = finding(code, where=place.of(key), saw=f"“{seen}” is text, read as the {called} {value}")
                    yield Step(Put(table, place.row, {key: value}), found)


_NUMBERS, _DATES = ("number_typed_as_text", "number"), ("date_typed_as_text", "date")


def _of_type(cls: Any, *kinds: str) -> list[str]:
    return [f.name for f in fields(cls) if f.type in kinds]


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
