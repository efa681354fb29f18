"""Bring the springs of suppliers' lists into the table Catalogue of a book."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar

from orderbook.book.tables import catalogue_rows
from orderbook.catalogue import Catalogue, CatalogueReading, read_catalogue
from orderbook.errors import Finding
from orderbook.records.rows import Row
from orderbook.shown import Shown
from orderbook.xlsx.changes import Changes, commit, replace_rows
from orderbook.xlsx.reading import open_book

OWN = ("leave_out", "note")


@dataclass(frozen=True, slots=True, repr=False)
class BroughtIn(Shown):
    """What was read of lists, how many springs came into the book, and how many of other suppliers stayed."""

    path: Path
    reading: CatalogueReading
    brought: int
    kept: int

    shown_columns: ClassVar[tuple[str, ...]] = CatalogueReading.shown_columns

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What should be known of the lists."""
        return self.reading.findings

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON keys of the command, with the counts of what came in and what stayed."""
        return self.reading.as_dict() | {"brought_in": self.brought, "kept": self.kept}

    def shown_rows(self) -> list[dict[str, Any]]:
        """Return the springs that were read, a row each."""
        return self.reading.shown_rows()

    def text(self, **_: Any) -> str:
        """Say what was understood of the lists, and what came in."""
        return f"{self.reading}\n{self.said}"

    @property
    def said(self) -> str:
        """What came in, in a sentence."""
        return f"{self.brought} springs are in {self.path}, sheet Catalogue; {self.kept} of other suppliers stay as they were."  # noqa: E501


def brought_in(path: Path, lists: Any, **ways: Any) -> BroughtIn:
    """Read suppliers' lists, or take what was read of them, and bring their springs into a book.

    Raises: OrderbookError as `read_catalogue` and `bring_in`.
    """
    reading = lists if isinstance(lists, CatalogueReading) else read_catalogue(lists, **ways)
    return BroughtIn(path, reading, *bring_in(reading.catalogue, path))


def bring_in(catalogue: Catalogue, path: Path) -> tuple[int, int]:
    """Replace what the book holds of these suppliers; other suppliers' rows and your own notes stay.

    Returns: rows brought in, rows of other suppliers kept.
    Raises: OrderbookError if the book is open elsewhere or cannot be written; it is then as it was.
    """
    book = open_book(path)
    there = book.rows("Catalogue")
    notes = {_which(row): {key: row[key] for key in OWN if row[key]} for row in there}
    fresh = [{**row, **notes.get(_which(row), {})} for row in catalogue_rows(catalogue)]
    suppliers = {str(row["supplier"]).casefold() for row in fresh}
    kept = [dict(row.values) for row in there if str(row["supplier"]).casefold() not in suppliers]
    changes = Changes()
    replace_rows(changes, book, "Catalogue", kept + fresh)
    commit(book, changes)
    return len(fresh), len(kept)


def _which(row: Row | dict[str, Any]) -> tuple[str, str]:
    return str(row["supplier"]).casefold(), str(row["item"]).casefold()
