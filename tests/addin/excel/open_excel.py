"""A stand-in for a book that is open in Excel, as xlwings gives it: cells, tables, selection, status bar."""

from __future__ import annotations

import re
import types
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from orderbook.xlsx.reading import open_book


class Range:
    """A range from its first to its last place, counted from 0."""

    def __init__(self, sheet: Sheet, first: tuple[int, int], last: tuple[int, int]) -> None:
        self.sheet, self.first, self.last = sheet, first, last
        self.row, self.column = first[0] + 1, first[1] + 1
        self.shape = (last[0] - first[0] + 1, last[1] - first[1] + 1)
        self.rows = types.SimpleNamespace(count=self.shape[0])

    def options(self, **_: Any) -> types.SimpleNamespace:
        return types.SimpleNamespace(value=self._rows())

    def _rows(self) -> list[list[Any]]:
        down, across = range(self.first[0], self.last[0] + 1), range(self.first[1], self.last[1] + 1)
        return [[self.sheet.cells.get((r, c)) for c in across] for r in down]

    @property
    def value(self) -> Any:
        return self._rows()[0][0] if self.shape == (1, 1) else self._rows()

    @value.setter
    def value(self, value: Any) -> None:
        assert self.shape == (1, 1)
        if isinstance(value, str):
            assert value.startswith("'"), "Excel would read this text as it likes: a formula, a number, a day"
            value = value[1:]
        self.sheet.cells[self.first] = value
        self.sheet.written.append(self.first)

    def select(self) -> None:
        self.sheet.book.app.selection = self


class Sheet:
    """One sheet; `written` keeps what was written, in order."""

    def __init__(self, book: OpenExcel, name: str, cells: dict[tuple[int, int], Any]) -> None:
        self.book, self.name, self.cells = book, name, cells
        self.written: list[tuple[int, int]] = []
        self.tables: dict[str, Table] = {}

    def __getitem__(self, place: Any) -> Range:
        if isinstance(place, str):
            letters, row = re.fullmatch(r"([A-Z]+)([0-9]+)", place).groups()  # type: ignore[union-attr]
            column = 0
            for letter in letters:
                column = column * 26 + ord(letter) - 64
            place = (int(row) - 1, column - 1)
        return Range(self, place, place)

    def range(self, first: tuple[int, int], last: tuple[int, int]) -> Range:
        return Range(self, (first[0] - 1, first[1] - 1), (last[0] - 1, last[1] - 1))

    def activate(self) -> None:
        self.book.active = self.name


class Table:
    """A table and where it stands."""

    def __init__(self, found: Range) -> None:
        self.range = found

    def resize(self, wanted: Range) -> None:
        assert wanted.first == self.range.first
        self.range = wanted


class Sheets(dict[str, Sheet]):
    """The sheets by name; walked through, they come themselves."""

    def __iter__(self) -> Iterator[Sheet]:  # type: ignore[override]
        return iter(self.values())


class OpenExcel:
    """A book that stands open."""

    def __init__(self, path: Path) -> None:
        read = open_book(path)
        self.name, self.fullname, self.active = path.name, str(path), ""
        self.opened: list[str] = []
        self.app = types.SimpleNamespace(
            status_bar="", screen_updating=True, selection=None, books=types.SimpleNamespace(open=self.opened.append)
        )
        self.sheets = Sheets()
        for name, cells in read.cells.items():
            values = {place: cell.value for place, cell in cells.items() if cell.formula is None}
            self.sheets[name] = Sheet(self, name, values | {p: c.value for p, c in cells.items() if c.formula})
        for name, table in read.anatomy.tables.items():
            sheet = self.sheets[table.sheet]
            sheet.tables[name] = Table(Range(sheet, (table.top, table.left), (table.bottom, table.right)))

    def stand_on(self, sheet: str, cell: str) -> None:
        self.sheets[sheet][cell].select()

    def column(self, table: str, header: str) -> list[Any]:
        """Return the values of one column of a table."""
        found = next(sheet.tables[table] for sheet in self.sheets.values() if table in sheet.tables)
        heads, *rows = found.range._rows()
        return [row[heads.index(header)] for row in rows]

    def row_of(self, table: str, header: str, value: Any) -> tuple[str, str]:
        """Return sheet and cell of the first row that holds a value in a column."""
        sheet = next(sheet for sheet in self.sheets.values() if table in sheet.tables)
        return sheet.name, f"B{sheet.tables[table].range.row + 1 + self.column(table, header).index(value)}"

    def all_written(self) -> list[tuple[str, tuple[int, int]]]:
        return [(name, place) for name, sheet in self.sheets.items() for place in sheet.written]
