"""The sheet's own sums against ours: two independent ways to the same number, row by row."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from orderbook.errors import Finding, finding
from orderbook.measures.exchange import Rates
from orderbook.measures.money import Money
from orderbook.records.accounts import ledger_value, to_come_cost, work_value
from orderbook.records.books import Books
from orderbook.records.conversion import dated_rates
from orderbook.records.definition import book_definition
from orderbook.records.packs import in_a_pack, packs_bought
from orderbook.records.sheet_names import no_such_piece
from orderbook.records.tables import OrderLine
from orderbook.xlsx.page import letters
from orderbook.xlsx.reading import OpenBook, columns_of

ADDED = (("Ledger", "in_book"), ("Work", "amount"), ("Orders", "packs"), ("Orders", "to_come"))


def native_differences(book: OpenBook, books: Books) -> Iterator[Finding]:
    """Find rows whose native formula says something else than Python, or has been typed over."""
    ours = _ours(books)
    for table, key in ADDED:
        found = book.anatomy.tables.get(table)
        columns = columns_of(found, book_definition().tables[table]) if found else {}
        if found is None or key not in columns:
            continue
        cells, place = book.cells[found.sheet], columns[key]
        for row in book.counting(table):
            cell = cells.get((row.number, place))
            where = f"{found.sheet}!{letters(place)}{row.number + 1} ({key.replace('_', ' ')})"
            if cell is None or cell.formula is None:
                yield finding("formula_missing", where=where, saw=f"“{cell.value}”" if cell else "nothing")
            elif (wanted := ours[table, key].get(row.number + 1, "")) is not None and not _same(cell.value, wanted):
                saw = f"the sheet says {_shown(cell.value)}, the rows say {wanted or 'nothing'}"
                yield finding("native_sum_differs", where=where, saw=saw)


def _ours(books: Books) -> dict[tuple[str, str], dict[int, str | None]]:
    """Return column → row → amount in the book's currency as text; empty where a row cannot be added."""
    rates = dated_rates(books)

    def text(value: int | Finding | None) -> str:
        return Money(value, books.currency).text if isinstance(value, int) else ""

    own = Rates(books.currency)  # the sheet knows only the rate of the row
    return {
        ("Ledger", "in_book"): {
            r.row.place.row: text(no_such_piece(books, r) or ledger_value(r, books.currency, rates))
            for r in books.ledger
        },
        ("Work", "amount"): {w.row.place.row: text(work_value(w, books.currency)) for w in books.work},
        ("Orders", "packs"): {o.row.place.row: _packs(o) if o.order else "" for o in books.orders},
        ("Orders", "to_come"): {
            o.row.place.row: text(to_come_cost(books, o, own)) if o.state in ("planned", "ordered") else None
            for o in books.orders
        },
    }


def _packs(line: OrderLine) -> str:
    """Return the packs of a line as the sheet works them out: a part of one where lines of a parcel share it."""
    if line.qty_bought is None or in_a_pack(line) == 1:
        return str(packs_bought(line))
    return str(line.qty_bought / in_a_pack(line))


def _same(stored: Any, wanted: str) -> bool:
    if stored in (None, ""):
        return wanted == ""
    try:
        return wanted != "" and Decimal(str(stored)) == Decimal(wanted)
    except ArithmeticError:
        return False


def _shown(stored: Any) -> str:
    if isinstance(stored, (int, float)):
        return f"{Decimal(str(stored)).normalize():f}"
    return str(stored) or "nothing" if stored is not None else "nothing"
