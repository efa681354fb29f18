"""A book in memory: the records of every table, the rows they came from, and what could not be read."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any, TypeVar, cast

from orderbook.errors import Finding, error, finding
from orderbook.measures.money import minor_digits
from orderbook.records import tables as t
from orderbook.records.cells import shown, shows_error, typed
from orderbook.records.definition import book_definition
from orderbook.records.rows import Change, Row, Tables, changed, is_blank, rows_from

Record = TypeVar("Record")
COMPARED = (
    "Restorations", "Barrels", "Readings", "Needs", "Catalogue", "Drawer", "Orders", "Trials", "Work", "Notes",
    "Ledger", "Suppliers", "Rates", "Settings",
)  # fmt: skip
STORED = (
    "Answers",
    "Stages",
    "AlsoFits",
    "DoesNotGoIn",
    "Findings",
    "Torque",
    "Belief",
)  # written by refresh, not by hand


@dataclass(frozen=True, slots=True, eq=False)  # two books are compared with `plain`; each is its own key for indexes
class Books:
    """Everything a book holds, in the book's currency: rows as typed, and records read from them when asked for.

    A table is read once; `after` changes to some tables the others keep what was read of them.
    """

    currency: str
    tables: Tables
    _read: dict[str, tuple[tuple[Any, ...], tuple[Finding, ...]]] = field(default_factory=dict, repr=False)

    def derived(self, table: str, make: Callable[[tuple[Row, ...]], Any]) -> Any:
        """Return what is worked out of the rows of one table alone, once for as long as they stay as they are."""
        name = f"{table}:{make.__name__}"
        if name not in self._read:
            self._read[name] = (make(self.tables.get(table, ())),), ()
        return self._read[name][0][0]

    def records(self, table: str) -> tuple[Any, ...]:
        """Return the records of a table."""
        return self._of(table)[0]

    def _of(self, table: str) -> tuple[tuple[Any, ...], tuple[Finding, ...]]:
        if table not in self._read:
            found: list[Finding] = []
            cls = t.RECORDS[table]
            records = tuple(record_of(cls, row, found) for row in self.tables.get(table, ()))
            self._read[table] = records, tuple(found)
        return self._read[table]

    @property
    def unread(self) -> tuple[Finding, ...]:
        """What stands in the cells a hand fills and cannot be read."""
        return tuple(found for table in t.RECORDS if table not in STORED for found in self._of(table)[1])

    @property
    def restorations(self) -> tuple[t.Restoration, ...]:
        """Timepieces on the bench."""
        return self.records("Restorations")

    @property
    def barrels(self) -> tuple[t.BarrelRow, ...]:
        """Barrels and what is asked of them."""
        return self.records("Barrels")

    @property
    def readings(self) -> tuple[t.ReadingRow, ...]:
        """Readings as they were typed."""
        return self.records("Readings")

    @property
    def needs(self) -> tuple[t.Need, ...]:
        """Parts and what was decided about them."""
        return self.records("Needs")

    @property
    def catalogue(self) -> tuple[t.ListedSpring, ...]:
        """Springs that can be bought."""
        return self.records("Catalogue")

    @property
    def drawer(self) -> tuple[t.DrawerSpring, ...]:
        """Springs owned."""
        return self.records("Drawer")

    @property
    def orders(self) -> tuple[t.OrderLine, ...]:
        """Lines of orders."""
        return self.records("Orders")

    @property
    def trials(self) -> tuple[t.Trial, ...]:
        """Fittings and their verdicts."""
        return self.records("Trials")

    @property
    def work(self) -> tuple[t.Work, ...]:
        """Hours at the bench."""
        return self.records("Work")

    @property
    def notes(self) -> tuple[t.RecordNote, ...]:
        """What the restoration record says in words."""
        return self.records("Notes")

    @property
    def ledger(self) -> tuple[t.LedgerLine, ...]:
        """Costs and credits."""
        return self.records("Ledger")

    @property
    def suppliers(self) -> tuple[t.SupplierRow, ...]:
        """Terms of suppliers."""
        return self.records("Suppliers")

    @property
    def rates(self) -> tuple[t.RateOfDay, ...]:
        """Exchange rates by day."""
        return self.records("Rates")

    @property
    def weights(self) -> tuple[t.WeightRow, ...]:
        """What the choice weighs."""
        return self.records("Weights")

    @property
    def units(self) -> tuple[t.UnitRow, ...]:
        """Units of readings."""
        return self.records("Units")

    @property
    def instruments(self) -> tuple[t.InstrumentRow, ...]:
        """Instruments and their largest error."""
        return self.records("Instruments")

    @property
    def settings(self) -> tuple[t.Setting, ...]:
        """What holds for the whole book."""
        return self.records("Settings")

    @property
    def stages(self) -> tuple[t.StoredStage, ...]:
        """Graded orders as refresh stored them."""
        return self.records("Stages")

    @property
    def answers(self) -> tuple[t.StoredAnswer, ...]:
        """Answers as refresh stored them."""
        return self.records("Answers")

    def setting(self, name: str) -> str:
        """Return a setting of the book; empty where there is none."""
        return next((s.value for s in self.settings if s.setting.casefold() == name.casefold()), "")

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

    def joined(self, other: Books) -> Books:
        """Return a book of the tables of both, in the currency of the other; what was read of either is kept."""
        return Books(other.currency, {**self.tables, **other.tables}, {**self._read, **other._read})

    def after(self, changes: Iterable[Change]) -> Books:
        """Return the book with changes made to its rows."""
        tables = changed(self.tables, changes)
        kept = {name: read for name, read in self._read.items() if _same(name, tables, self.tables)}
        return Books(self.currency, tables, kept)


def _same(name: str, after: Tables, before: Tables) -> bool:
    table = name.partition(":")[0]
    return after.get(table) is before.get(table)


def books_from(
    tables: Mapping[str, Iterable[Row] | Iterable[Mapping[str, Any]]], *, currency: str | None = None
) -> Books:
    """Read a book from rows by table; tables it does not know are kept as rows, blank rows do not count.

    Parameters: tables, rows or plain dictionaries by column key; currency, the book's (ISO 4217), if it is not
    the one of the table Settings; "" where it is left to the choice.
    Raises: OrderbookError(book_currency_missing | currency_not_known).

    >>> book = books_from({"Restorations": [{"restoration": "r-007", "state": "open"}]}, currency="GBP")
    >>> book.restoration("R-007").state
    'open'
    """
    rows = {table: _as_rows(table, given) for table, given in tables.items()}
    own = _book_currency(rows.get("Settings", ())) if currency is None else currency
    if own:
        minor_digits(own, where="book currency")
    return Books(own.upper(), rows)


def _book_currency(settings: Iterable[Row]) -> str:
    for row in settings:
        if str(row.get("setting") or "").strip().casefold() == "book currency" and row.get("value"):
            return str(row.get("value")).strip().upper()
    raise error("book_currency_missing", where="Settings", saw="no row “book currency”")


def record_of(cls: Callable[..., Record], row: Row, found: list[Finding]) -> Record:
    """Read a row as a record; what cannot be read is left empty and added to `found`."""
    cells = {}
    for name, reader in t.READERS[cast("type[Any]", cls)].items():
        value = row.values.get(name)
        if type(value) is str and shows_error(value) and reader not in (typed, shown):
            found.append(finding("cell_holds_error", where=row.place.of(name), saw=f"the cell shows {value}"))
        elif value is not None and value != "":
            cells[name] = reader(value, row, name, found)
    return cls(**cells, row=row)


def unread_of(record: Any) -> tuple[Finding, ...]:
    """Return what stands in the cells of one row and cannot be read.

    >>> row = {"order": "O-0001", "currency": "€"}
    >>> [found.saw for found in unread_of(books_from({"Orders": [row]}, currency="GBP").orders[0])]
    ['“€”']
    """
    found: list[Finding] = []
    record_of(type(record), record.row, found)
    return tuple(found)


def plain(books: Books) -> dict[str, list[dict[str, Any]]]:
    """Return the book as plain values by table and column, places left out, to compare two books by.

    >>> plain(books_from({"Work": [{"need": "N-0001", "hours": "1,5"}]}, currency="GBP"))["Work"][0]["hours"]
    Decimal('1.5')
    """
    return {
        table: [
            {key: value for key in _by_hand(table) if (value := getattr(record, key)) not in (None, "", ())}
            for record in books.records(table)
        ]
        for table in COMPARED
    }


def _by_hand(table: str) -> list[str]:
    """The columns that a hand, a list or refresh fills: not those the sheet works out by itself."""
    worked = {c.key for c in book_definition().tables[table].columns if c.kind == "worked"}
    return [key for key in t.READERS[t.RECORDS[table]] if key not in worked]


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
