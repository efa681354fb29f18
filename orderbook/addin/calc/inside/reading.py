"""What stands in an open book, read in short steps; and which typed cells differ from what stood there before.

LibreOffice takes seconds to write a book into a file, and the window stands still for as long. So a book is read while
some file holds the same (it was opened, saved, or an action's result was put in), and once more when an action is
chosen: the cells typed since go to the work beside that file. What is not so plain (a formula, a table that grew, a
format, a heading) is not told cell by cell: then LibreOffice writes the book after all.

Runs inside LibreOffice's Python (3.8 or later), always in its main thread.
"""

from __future__ import annotations

import os
from itertools import zip_longest

ROWS = 200  # of a sheet, read in one step
TRIES = 4  # readings that an edit may fall into; the next one is done in one step
AMBIGUOUS = "AMBIGUOUS_VALUE"  # com.sun.star.beans.PropertyState
NUMBER, TEXT, EMPTY = "VALUE", "TEXT", "EMPTY"  # com.sun.star.table.CellContentType


class BookReading:
    """A document read step by step: `on_end(reading)` is called once, in a later step, when all was read of one state.

    `soon(do)` lets LibreOffice call a function in its main thread; `changes()` counts the changes of the document.
    """

    def __init__(self, document, soon, changes, on_end):
        self.document, self.soon, self.changes, self.on_end = document, soon, changes, on_end
        self.dropped, self.tries = False, 0
        self._begin()
        soon(self._step)

    def drop(self):
        """Read no further."""
        self.dropped = True

    def _begin(self):
        self.at, self.tries = self.changes(), self.tries + 1
        self.sheets, self.tables, self.formats, self.blocks = (), {}, {}, {}
        self.steps = self._all()

    def _step(self):
        if self.dropped:
            return
        if self.changes() != self.at:
            self._begin()
        over = self.tries > TRIES or next(self.steps, True)
        if over:
            for _ in self.steps:
                pass
            self.on_end(self)
        else:
            self.soon(self._step)

    def _all(self):
        document = self.document
        self.sheets = tuple(document.Sheets.ElementNames)
        for name in document.DatabaseRanges.ElementNames:
            place = document.DatabaseRanges.getByName(name).DataArea
            self.tables[name] = (place.Sheet, place.StartRow, place.StartColumn, place.EndRow, place.EndColumn)
        yield False  # more is to come
        for name in self.sheets:
            for top, block in _blocks(document.Sheets.getByName(name)):
                self.blocks[name, top] = block
                yield False
        for name, (sheet, top, left, bottom, right) in self.tables.items():
            cells = document.Sheets.getByIndex(sheet)
            self.formats[name] = [_formats(cells, top, column, bottom, column) for column in range(left, right + 1)]
            yield False

    def typed_since(self, older):
        """Return the cells typed since an older reading as (sheet, row, column, value), None if that is not all."""
        if (self.sheets, self.tables, self.formats) != (older.sheets, older.tables, older.formats):
            return None
        found = []
        for key in {**older.blocks, **self.blocks}:
            for row, column, was, now in _changed(older.blocks.get(key, ()), self.blocks.get(key, ())):
                name, row = key[0], row + key[1]
                if now.startswith(("=", "{=")) or was.startswith("{=") or self._is_heading(name, row, column):
                    return None
                kind, value = _value(self.document.Sheets.getByName(name).getCellByPosition(column, row))
                if kind not in (NUMBER, TEXT, EMPTY):
                    return None
                found.append((name, row, column, value))
        return found

    def _is_heading(self, name, row, column):
        number = self.sheets.index(name)
        return any(
            sheet == number and row == top and left <= column <= right
            for sheet, top, left, _, right in self.tables.values()
        )


class KeptFile:
    """A file that holds what an open book held when it was read."""

    def __init__(self, path, reading):
        self.path, self.reading, self.stamp = path, reading, _stamp(path)

    def holds(self):
        """Say whether the file is still the one that was read."""
        return _stamp(self.path) == self.stamp


def _stamp(path):
    try:
        found = os.stat(path)
    except OSError:
        return None
    return found.st_size, found.st_mtime_ns


def _blocks(sheet):
    cursor = sheet.createCursor()
    cursor.gotoEndOfUsedArea(False)
    last = cursor.RangeAddress
    for top in range(0, last.EndRow + 1, ROWS):
        bottom = min(top + ROWS - 1, last.EndRow)
        yield top, sheet.getCellRangeByPosition(0, top, last.EndColumn, bottom).FormulaArray


def _changed(was, now):
    """Yield row, column, old and new of the cells of a block that differ; what is beyond a block is empty."""
    for row, (old, new) in enumerate(zip_longest(was, now, fillvalue=())):
        if old != new:
            for column, (one, other) in enumerate(zip_longest(old, new, fillvalue="")):
                if one != other:
                    yield row, column, one, other


def _formats(sheet, top, left, bottom, right):
    """Return the number format of cells, halved until each part has one."""
    cells = sheet.getCellRangeByPosition(left, top, right, bottom)
    if top == bottom or cells.getPropertyState("NumberFormat").value != AMBIGUOUS:
        return cells.NumberFormat
    middle = (top + bottom) // 2
    return (_formats(sheet, top, left, middle, right), _formats(sheet, middle + 1, left, bottom, right))


def _value(cell):
    kind = cell.Type.value
    if kind == NUMBER:
        return kind, cell.Value
    return kind, cell.DataArray[0][0] if kind == TEXT else None
