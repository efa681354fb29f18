"""Make a new book: empty, or with the rows of another; plain, or live."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from orderbook.book.export import by_hand
from orderbook.errors import Finding, finding, spelled
from orderbook.records.definition import book_definition
from orderbook.sheets.blank_book import copy_template
from orderbook.shown import Shown

if TYPE_CHECKING:
    from orderbook.xlsx.reading import OpenBook

MACRO_BOOK = ".xlsm"


@dataclass(frozen=True, slots=True, repr=False)
class Made(Shown):
    """A new book, how many rows came from another, and what could not come along."""

    path: Path
    live: bool
    rows: int = 0
    source: Path | None = None
    findings: tuple[Finding, ...] = ()

    shown_columns: ClassVar[tuple[str, ...]] = ("path", "live", "rows")

    def as_dict(self) -> dict[str, Any]:
        """Return the book, whether it is live, its rows, and findings."""
        return {**self.shown_rows()[0], "findings": [f.as_dict() for f in self.findings]}

    def shown_rows(self) -> list[dict[str, Any]]:
        """Return the book as one row."""
        return [{"path": str(self.path), "live": self.live, "rows": self.rows}]

    def text(self, **_: Any) -> str:
        """Say what is ready and where to begin, as the command prints it."""
        taken = f" It holds {self.rows} rows of {self.source}." if self.source else ""
        begin = "" if self.source else " Open it, and begin on the sheets Restorations, Barrels and Readings."
        lines = [f"{self.path} is ready.{taken}{begin}"]
        if self.live:
            program = "excel" if self.path.suffix.lower() == MACRO_BOOK else "calc"
            said = f"Its answers are live functions; to set them up on a machine: ⟨!addin {program}⟩"
            lines.append(spelled(said))
        return "\n".join([*lines, *(f"{found.severity}: {found}" for found in self.findings)])


def new(book: Path | str, *, live: bool = False, source: Path | str | None = None) -> Made:
    """Make a new book; one that exists is never overwritten.

    A name that ends in .xlsm makes a live book for Excel, `live` with .xlsx one for Calc. `source` is a book, plain or
    live, whose rows are taken over; it is not changed.
    Raises: OrderbookError for a name that cannot be, or a source that cannot be read.

    >>> import tempfile
    >>> folder = tempfile.TemporaryDirectory()
    >>> made = new(Path(folder.name) / "clocks.xlsx")
    >>> made.live, made.path.name
    (False, 'clocks.xlsx')
    >>> folder.cleanup()
    """
    book, source = Path(book), None if source is None else Path(source)
    live = live or book.suffix.lower() == MACRO_BOOK
    if source is None and not live:
        copy_template(book)
        return Made(book, live)
    tables: dict[str, list[dict[str, Any]]] = {}
    picked = {"barrel": "", "restoration": ""}
    findings: tuple[Finding, ...] = ()
    if source is not None:
        tables, picked, findings = _taken_over(source)
    _write(book, live, tables, picked)
    return Made(book, live, sum(map(len, tables.values())), source, findings)


def _write(book: Path, live: bool, tables: Mapping[str, list[dict[str, Any]]], picked: Mapping[str, str]) -> None:
    if live:
        from orderbook.addin.excel.new_live_book import write_live_book

        write_live_book(book, tables, **picked)
    else:
        from orderbook.sheets.new_book import write_new_book

        write_new_book(book, tables, **picked)


def _taken_over(source: Path) -> tuple[dict[str, list[dict[str, Any]]], dict[str, str], tuple[Finding, ...]]:
    """Read every row of a book that a hand or refresh filled; what the sheet works out by itself it does again."""
    from orderbook.xlsx.reading import open_book

    old = open_book(source)
    tables = {
        name: [dict(by_hand(row).values) for row in old.tables.get(name, ())] for name in book_definition().tables
    }
    picked = {"barrel": _cell(old, "Bench", (0, 3)), "restoration": _cell(old, "Account", (0, 2))}
    return {name: rows for name, rows in tables.items() if rows}, picked, _left_behind(old)


def _cell(old: OpenBook, sheet: str, place: tuple[int, int]) -> str:
    cell = old.cells.get(sheet, {}).get(place)
    return str(cell.value) if cell is not None and cell.value is not None else ""


def _left_behind(old: OpenBook) -> tuple[Finding, ...]:
    """Name the sheets that are not of the book's definition: they stay in the old book."""
    from orderbook.sheets.live_book import CONFIGURATION, LIVE

    known = {*book_definition().sheets, LIVE, CONFIGURATION}
    own = [sheet for sheet in old.anatomy.sheets if sheet not in known]
    return tuple(finding("sheet_left_behind", where=str(old.path), saw=f"sheet {sheet}") for sheet in own)
