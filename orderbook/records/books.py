"""A book in memory: the records of every table, the rows they came from, and what could not be read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from orderbook.errors import Finding, error
from orderbook.measures.money import minor_digits
from orderbook.records import tables as t
from orderbook.records.rows import Change, Row, Tables, changed, is_blank, rows_from


@dataclass(frozen=True, slots=True, eq=False)  # two books are compared with `plain`; each is its own key for indexes
class Books:
    """Everything a book holds, in the book's currency; `tables` are the rows as typed."""

    currency: str
    tables: Tables
    restorations: tuple[t.Restoration, ...] = ()
    barrels: tuple[t.Barrel, ...] = ()
    readings: tuple[t.Reading, ...] = ()
    needs: tuple[t.Need, ...] = ()
    catalogue: tuple[t.ListedSpring, ...] = ()
    drawer: tuple[t.DrawerSpring, ...] = ()
    orders: tuple[t.OrderLine, ...] = ()
    trials: tuple[t.Trial, ...] = ()
    work: tuple[t.Work, ...] = ()
    ledger: tuple[t.LedgerLine, ...] = ()
    suppliers: tuple[t.Supplier, ...] = ()
    rates: tuple[t.RateOfDay, ...] = ()
    settings: tuple[t.Setting, ...] = ()
    unread: tuple[Finding, ...] = ()

    def restoration(self, name: str) -> t.Restoration:
        """Return a restoration by its identifier.

        Raises: OrderbookError(not_in_the_book).
        """
        found: t.Restoration = _found("Restorations", name, self.restorations, "restoration")
        return found

    def order(self, name: str) -> t.OrderLine:
        """Return an order line by its identifier.

        Raises: OrderbookError(not_in_the_book).
        """
        found: t.OrderLine = _found("Orders", name, self.orders, "order")
        return found

    def after(self, changes: Iterable[Change]) -> Books:
        """Return the book with changes made to its rows."""
        return books_from(changed(self.tables, changes), currency=self.currency)


def books_from(
    tables: Mapping[str, Iterable[Row] | Iterable[Mapping[str, Any]]], *, currency: str | None = None
) -> Books:
    """Read a book from rows by table; tables it does not know are kept as rows, blank rows do not count.

    Parameters: tables, rows or plain dictionaries by column key; currency, the book's (ISO 4217), if it is not
    the one of the table Settings.
    Raises: OrderbookError(book_currency_missing | currency_not_known).

    >>> book = books_from({"Restorations": [{"restoration": "r-007", "state": "open"}]}, currency="GBP")
    >>> book.restoration("R-007").state
    'open'
    """
    rows = {table: _as_rows(table, given) for table, given in tables.items()}
    unread: list[Finding] = []
    records = {
        table.lower(): tuple(t.record_of(cls, row, unread) for row in rows.get(table, ()))
        for table, cls in t.RECORDS.items()
    }
    own = currency or _book_currency(records["settings"])
    minor_digits(own, where="book currency")
    return Books(currency=own, tables=rows, unread=tuple(unread), **records)


def _book_currency(settings: tuple[t.Setting, ...]) -> str:
    for setting in settings:
        if setting.setting.casefold() == "book currency" and setting.value:
            return setting.value.upper()
    raise error("book_currency_missing", where="Settings", saw="no row “book currency”")


def plain(books: Books) -> dict[str, list[dict[str, Any]]]:
    """Return the book as plain values by table and column, places left out, to compare two books by.

    >>> plain(books_from({"Work": [{"need": "N-0001", "hours": "1,5"}]}, currency="GBP"))["Work"][0]["hours"]
    Decimal('1.5')
    """
    return {
        table: [
            {key: value for key, _ in t.readers(cls) if (value := getattr(record, key)) not in (None, "", ())}
            for record in getattr(books, table.lower())
        ]
        for table, cls in t.RECORDS.items()
    }


def _as_rows(table: str, given: Iterable[Any]) -> tuple[Row, ...]:
    listed = list(given)
    rows = tuple(listed) if all(isinstance(row, Row) for row in listed) else rows_from(table, listed)
    return tuple(row for row in rows if not is_blank(row.values))


def _found(table: str, name: str, records: Iterable[Any], key: str) -> Any:
    known = []
    for record in records:
        if getattr(record, key) == name:
            return record
        known.append(getattr(record, key))
    near = ", ".join(known[-5:]) or "none"
    raise error("not_in_the_book", where=name, saw=f"not in {table}", expected=f"Expected one of those there: {near}.")
