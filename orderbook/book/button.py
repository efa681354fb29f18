"""The button of a live book: works the picked barrel out and writes the answers into the open book, never to the file.

For Excel on macOS, which has no worksheet functions in Python; it does the same on Windows.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from typing import Any

from orderbook.answers.answer import answer_about
from orderbook.answers.fingerprint import fingerprints
from orderbook.book.answer_rows import answer_rows
from orderbook.errors import OrderbookError, error, speaking
from orderbook.functions.call import one_line
from orderbook.functions.ranges import rows_in
from orderbook.records.books import books_from
from orderbook.records.definition import book_definition
from orderbook.records.identifiers import tidy
from orderbook.records.spelling import in_cells

PICKED = ("Bench", "D1")


def refresh_open_book() -> None:
    """Refresh the book whose button was pressed; what goes wrong is one line on Excel's status bar."""
    import xlwings

    book = xlwings.Book.caller()
    book.app.status_bar = refreshed(book, dt.date.today())


def refreshed(book: Any, today: dt.date) -> str:
    """Work out the picked barrel of an open book (an xlwings Book), write its answers, and say so in one line."""
    barrel = tidy(str(book.sheets[PICKED[0]][PICKED[1]].value or ""))
    try:
        tables = {
            name: rows_in(name, _read(book, name), name) for name in book_definition().tables if name != "Choices"
        }
        books = books_from(tables)
        with speaking(in_cells):
            rows = answer_rows(answer_about(books, barrel), today)
    except OrderbookError as problem:
        return one_line(problem)
    stage = rows["Stages"][0]["stage"] if rows["Stages"] else None
    now = fingerprints(books)
    kept = {"kept_inputs": now.inputs.get(barrel, ""), "kept_lists": now.lists, "next_stage": stage}
    rows["Answers"] = [row | kept for row in rows["Answers"]]
    try:
        for name, found in rows.items():
            _write(book, name, barrel, found)
    except OrderbookError as problem:
        return one_line(problem)
    return f"orderbook: {barrel} is worked out anew"


def _table(book: Any, name: str) -> Any:
    return book.sheets[book_definition().tables[name].sheet].tables[name]


def _read(book: Any, name: str) -> list[list[Any]]:
    """Read a table with its header; xlwings gives numbers as floats and empty cells as None."""
    return [list(row) for row in _table(book, name).range.value]


def _write(book: Any, name: str, barrel: str, rows: Sequence[Mapping[str, Any]]) -> None:
    """Put the rows of one barrel in place of its old ones; worked columns are left to the sheet.

    Raises: OrderbookError(too_many_rows) where the table has no blank rows left.
    """
    whole = _read(book, name)
    columns = [c for c in book_definition().tables[name].columns if c.kind != "worked"]
    at = {c.key: [str(head) for head in whole[0]].index(c.header) for c in columns}
    others = [row for row in whole[1:] if row[at["barrel"]] not in (None, "", barrel)]
    blank = len(whole) - 1 - len(others) - len(rows)
    if blank < 0:
        raise error("too_many_rows", where=f"table {name}", saw="it has no blank rows left", try_this="Add rows to it.")
    body = _table(book, name).range
    for column in columns:  # one call a column: on macOS each call is a message to Excel
        values = [row[at[column.key]] for row in others] + [_cell(row.get(column.key)) for row in rows]
        body[1:, at[column.key]].value = [[value] for value in values + [None] * blank]


def _cell(value: Any) -> Any:
    if value is None or isinstance(value, (str, dt.date, bool)):
        return value
    return float(value)
