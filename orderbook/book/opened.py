"""A book opened for a command: its records, and how changes are put back where they came from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from orderbook.answers.staleness import stale_answers
from orderbook.errors import Finding, error, finding
from orderbook.records.books import Books, books_from
from orderbook.records.rows import Change

if TYPE_CHECKING:
    import datetime as dt

    from orderbook.answers.answer import Answer
    from orderbook.xlsx.reading import OpenBook
    from orderbook.xlsx.saving import Stamp


NAMED = 3  # columns of a table named one by one where many are lacking


@dataclass(frozen=True, slots=True)
class Opened:
    """A book and the way back into its file or folder; `file` is the workbook, None for a folder of CSV files."""

    path: Path
    books: Books
    file: OpenBook | None = None

    def save(
        self,
        records: Sequence[Change],
        answers: Mapping[str, Answer] | None = None,
        *,
        made_on: dt.date | None = None,
    ) -> None:
        """Put changes of rows back, and with them the answers that were worked out anew: one save, all or nothing."""
        if self.file is None:
            from orderbook.book import csv_folder

            csv_folder.save(self.path, self.books.tables, records)
            return
        from orderbook.book.refresh import with_answers
        from orderbook.xlsx.changes import Changes, commit, with_record_changes

        changes = Changes()
        with_record_changes(changes, self.file, records)
        if answers:
            with_answers(changes, self.file, self.books.after(records), answers, made_on)
        commit(self.file, changes)

    def look(self) -> tuple[Finding, ...]:
        """Return what only the file can show: its own sums, and answers that are not up to date."""
        if self.file is None:
            return ()
        from orderbook.book.native_sheets import sheet_differences
        from orderbook.book.native_sums import native_differences

        older = _older(self.file)
        if empty := _without_values(self.file):
            return (*older, empty)
        native = (*native_differences(self.file, self.books), *sheet_differences(self.file, self.books))
        return (*older, *stale_answers(self.books).values(), *native)


def _older(file: OpenBook) -> tuple[Finding, ...]:
    """Say once which tables and columns of today a book lacks, made before they came or robbed of them."""
    from orderbook.xlsx.reading import lacking

    gone = lacking(file)
    if not gone:
        return ()
    parts = [f"{name}: {_some(heads)}" if heads else f"the whole of {name}" for name, heads in gone.items()]
    return (finding("book_older", where=str(file.path), saw=f"it lacks {'; '.join(parts)}"),)


def _some(heads: Sequence[str]) -> str:
    first, more = ", ".join(heads[:NAMED]), len(heads) - NAMED
    return f"{first} and {more} more" if more > 0 else first


def _without_values(file: OpenBook) -> Finding | None:
    """Say once that a book came back without what its formulas come to, in place of a finding a row."""
    stored = [cell.value is not None for cells in file.cells.values() for cell in cells.values() if cell.formula]
    if any(stored) or not stored:
        return None
    saw = f"none of its {len(stored):,} formulas has a value"
    return finding("book_without_values", where=str(file.path), saw=saw)


def opened(path: Path) -> Opened:
    """Open a book: a workbook, or a folder of CSV files as `export` writes it.

    Raises: OrderbookError(book_not_found | book_currency_missing); as `open_book` for a workbook.
    """
    if not path.exists():
        raise error("book_not_found", where=str(path), saw="no such file or folder")
    if path.is_dir():
        from orderbook.book import csv_folder

        return Opened(path, books_from(csv_folder.tables_in(path)))
    file = workbook(path)
    return Opened(path, file.records(), file)


def workbook(path: Path) -> OpenBook:
    """Return a workbook as it stands, read once for as long as nobody saves it.

    Raises: OrderbookError(book_not_found), and as `open_book`.
    """
    from orderbook.xlsx.saving import stamp

    if not path.is_file():
        raise error("book_not_found", where=str(path), saw="no such file")
    return _workbook(path, stamp(path))


@lru_cache(maxsize=1)
def _workbook(path: Path, since: Stamp) -> OpenBook:
    from orderbook.xlsx.reading import open_book

    return open_book(path)
