"""A book as Python sees it: rows read, added and changed, answers worked out; each change is saved at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from orderbook.errors import error

if TYPE_CHECKING:
    from orderbook.barrel.barrel import Barrel
    from orderbook.barrel.sizing import Sizing
    from orderbook.book.refresh import Refreshed
    from orderbook.choosing.grading import Grading
    from orderbook.choosing.ranking import Ranking
    from orderbook.records.definition import Table
    from orderbook.records.rows import Row
    from orderbook.xlsx.reading import OpenBook
    from orderbook.xlsx.saving import Stamp


@dataclass(frozen=True, slots=True)
class Book:
    """A workbook of restorations on disk; nothing of it is held open, and what another program saves is seen at once.

    Parameters: path, the book (`.xlsx` or `.xlsm`). Tables are named as in the book, columns by the keys of the
    reference of columns; money is a Decimal, a day a date, an empty cell None.
    Raises: OrderbookError from each method if the book cannot be read, or (where it writes) is open elsewhere; the
    book is then as it was. What was there before a write is kept beside it as `.bak`.

    >>> import tempfile
    >>> from orderbook import Book
    >>> folder = tempfile.TemporaryDirectory()
    >>> book = Book.new(Path(folder.name) / "clocks.xlsx")
    >>> book.append("Restorations", {"restoration": "R-001", "piece": "a lever watch", "state": "open"})
    >>> book.append("Barrels", {"barrel": "R-001-B1", "restoration": "R-001", "drive": "going", "turns_asked": 7})
    >>> book.append("Readings", *(
    ...     {"barrel": "R-001-B1", "what": what, "value": mm, "unit": "mm"}
    ...     for what, mm in (("bore", 15.6), ("arbor", 4.9), ("depth", 3.1))))
    >>> round(book.size("R-001-B1").as_dict()["width_mm"], 2)
    2.98
    >>> book.update("Restorations", "R-001", {"note": "it ticks"})
    >>> [row["note"] for row in book.rows("Restorations")]
    ['it ticks']
    >>> folder.cleanup()
    """

    path: Path

    def __post_init__(self) -> None:
        """Take the path as text too."""
        object.__setattr__(self, "path", Path(self.path))

    @classmethod
    def new(cls, path: Path | str) -> Book:
        """Make a new book and return it; one that exists is never overwritten."""
        from orderbook.book.new import new

        return cls(new(Path(path)).path)

    def rows(self, table: str) -> tuple[Row, ...]:
        """Return the rows of a table that count, each read as `row["key"]`."""
        _table(table)
        return self._read().rows(table)

    def row(self, table: str, key: str) -> Row:
        """Return the row of an identifier, such as `book.row("Orders", "O-003")`."""
        _table(table)
        return self._read().row(table, key)

    def barrel(self, barrel: str) -> Barrel:
        """Return what the book says of one barrel: readings with their ±, fitted and tried springs, drive and turns."""
        from orderbook.answers.answer import asked_barrel

        return asked_barrel(self._read().records(), barrel)

    def append(self, table: str, *rows: Mapping[str, Any]) -> None:
        """Add rows to a table, each a mapping of column key to value, and save."""
        from orderbook.xlsx.changes import Changes, append_rows, commit

        for row in rows:
            _known_columns(table, row)
        book, changes = self._read(), Changes()
        append_rows(changes, book, table, rows)
        commit(book, changes)

    def update(self, table: str, which: str | Row, values: Mapping[str, Any]) -> None:
        """Set cells of one row, named by its identifier or given as it was read, and save; None empties a cell.

        A row given as it was read is looked at again: if the book now holds another there, nothing is written.
        """
        from orderbook.xlsx.changes import Changes, commit, update_row

        _known_columns(table, values)
        book, changes = self._read(), Changes()
        row = book.row(table, which) if isinstance(which, str) else _same(book, table, which)
        update_row(changes, book, table, row.number, values)
        commit(book, changes)

    def refresh(self, *barrels: str, everything: bool = False) -> Refreshed:
        """Work out the answers of the barrels that changed (or of those named) and store them in the book."""
        from orderbook.book.refresh import refresh

        return refresh(self.path, barrels, everything=everything)

    def size(self, barrel: str) -> Sizing:
        """Return the spring of a barrel."""
        from orderbook.book.on_book import sizing_in

        return sizing_in(self.path, barrel)

    def rank(self, barrel: str, **options: Any) -> Ranking:
        """Return the book's springs for a barrel, nearest to the task first."""
        from orderbook.book.on_book import considered_in
        from orderbook.choosing.ranking import ranking_of

        return ranking_of(considered_in(self.path, barrel, **options))

    def grade(self, barrel: str, **options: Any) -> Grading:
        """Return the graded order for a barrel, weakest first."""
        from orderbook.book.on_book import considered_in
        from orderbook.choosing.grading import grading_of

        return grading_of(considered_in(self.path, barrel, **options))

    def _read(self) -> OpenBook:
        from orderbook.xlsx.saving import stamp

        if not self.path.is_file():
            raise error("book_not_found", where=str(self.path), saw="no such file")
        return _read(self.path, stamp(self.path))


@lru_cache(maxsize=1)
def _read(path: Path, since: Stamp) -> OpenBook:
    """Read a book once for as long as nobody saves it."""
    from orderbook.xlsx.reading import open_book

    return open_book(path)


def _table(name: str) -> Table:
    from orderbook.records.definition import book_definition

    tables = book_definition().tables
    if name not in tables:
        raise error("book_table_unknown", where=f"table {name}", saw=f"a book has: {', '.join(sorted(tables))}")
    return tables[name]


def _known_columns(name: str, values: Mapping[str, Any]) -> None:
    keys = [column.key for column in _table(name).columns if column.kind != "worked"]
    for key in values:
        if key not in keys:
            raise error("book_column_unknown", where=f"table {name}", saw=f"{key}; to fill in are: {', '.join(keys)}")


def _same(book: OpenBook, table: str, row: Row) -> Row:
    worked = {column.key for column in _table(table).columns if column.kind == "worked"}

    def typed(one: Row) -> dict[str, Any]:
        """Return what a hand filled: a formula's value may follow from other rows."""
        return {key: value for key, value in one.values.items() if key not in worked}

    for now in book.rows(table):
        if now.number == row.number and typed(now) == typed(row):
            return now
    where = f"{book.path}, table {table}, row {row.number + 1}"
    raise error("book_row_moved", where=where, saw="another row is there now")
