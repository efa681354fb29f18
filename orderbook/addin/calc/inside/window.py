"""What the menu does with an open book: copies it out, puts differences in as one step to undo, reads its choices.

Runs inside LibreOffice's Python (3.8 or later), always in its main thread.
"""

from __future__ import annotations

import os
import shutil
import tempfile

import uno
from com.sun.star.beans import PropertyValue
from com.sun.star.sheet.CellInsertMode import DOWN
from com.sun.star.sheet.FillDateMode import FILL_DATE_DAY
from com.sun.star.sheet.FillDirection import TO_BOTTOM
from com.sun.star.sheet.FillMode import LINEAR
from com.sun.star.table import CellRangeAddress

EXCEL = "Calc MS Excel 2007 XML"
TYPED = 1 | 2 | 4  # com.sun.star.sheet.CellFlags: VALUE, DATETIME, STRING
FORMULAS = 16
FEW = 4  # cells of a column that are set one by one
FAR = 1e9  # where a series would end
SAME = 1e-14  # a number in a file has 15 digits
COLUMNS = 64  # of a row, where the numbers of pieces, barrels and lines stand
MOST_CHOICES = 2000
CALC = "com.sun.star.sheet.SpreadsheetDocument"


class ChangedError(Exception):
    """The open book is no longer what the answer was made from."""


def properties(**values):
    """Return values as LibreOffice takes them."""
    return tuple(PropertyValue(name, 0, value, 0) for name, value in values.items())


def is_spreadsheet(document):
    """Say whether a document is a spreadsheet."""
    return document is not None and document.supportsService(CALC)


def is_book(document, tables):
    """Say whether a document is a book of ours: it has the tables."""
    return is_spreadsheet(document) and all(map(document.DatabaseRanges.hasByName, tables))


def path_of(document):
    """Return the file of a document; empty while it was never saved, or where it is not on this machine."""
    url = document.URL
    return uno.fileUrlToSystemPath(url) if url.startswith("file:") else ""


def own_file(document):
    """Return the file that holds what the window shows, "" where something was typed since or there is none."""
    own = path_of(document)
    return own if own.lower().endswith(".xlsx") and not document.isModified() and os.path.isfile(own) else ""


def copy_of(document, file):
    """Copy a file into a folder of its own, under the name of the book; return the copy's path."""
    return shutil.copyfile(file, _place_of_copy(document))


def copy_out(document):
    """Let LibreOffice write the book as it stands in the window into a folder of its own; return the copy's path.

    The file the window has open, and its lock, are not touched. The window stands still meanwhile.
    """
    path = _place_of_copy(document)
    document.storeToURL(uno.systemPathToFileUrl(path), properties(FilterName=EXCEL))
    return path


def _place_of_copy(document):
    folder, name = tempfile.mkdtemp(prefix="orderbook-"), os.path.basename(path_of(document))
    return os.path.join(folder, (os.path.splitext(name)[0] or "book") + ".xlsx")


def put_in(document, difference, title):
    """Write what differs into the open book, as one step to undo: all of it or nothing.

    Raises: ChangedError if a cell or a table is no longer as it was when the copy was made.
    """
    if difference["other"]:
        raise ChangedError("only this cannot be put in cell by cell: " + ", ".join(difference["other"][:3]))
    if not difference["cells"] and not difference["grown"]:
        return  # even a lock set and lifted leaves a step to undo behind
    _refuse_changed(document, difference)
    manager = document.UndoManager
    manager.enterUndoContext(title)
    document.lockControllers()
    document.addActionLock()  # no working out between two cells
    done = False
    try:
        for growth in difference["grown"]:
            _grow(document, growth)
        for name, cells in difference["cells"].items():
            _write(document.Sheets.getByName(name), cells)
        done = True
    finally:
        document.removeActionLock()
        document.unlockControllers()
        manager.leaveUndoContext()
        if not done:
            manager.undo()


def put_one(document, sheet, cell, value, title):
    """Write one cell, as one step to undo."""
    place = document.Sheets.getByName(sheet).getCellRangeByName(cell)
    manager = document.UndoManager
    manager.enterUndoContext(title)
    try:
        place.setString(value)
    finally:
        manager.leaveUndoContext()


def _refuse_changed(document, difference):
    if document.isReadonly():
        raise ChangedError("the book is open for reading only")
    for name, (sheet, *place) in difference["tables"].items():
        if not document.DatabaseRanges.hasByName(name):
            raise ChangedError(f"the table {name} is gone")
        area = document.DatabaseRanges.getByName(name).DataArea
        if document.Sheets.getByIndex(area.Sheet).Name != sheet:
            raise ChangedError(f"the sheet {sheet} was renamed")
        if [area.StartRow, area.StartColumn, area.EndRow, area.EndColumn] != place:
            raise ChangedError(f"the table {name} was moved or changed its size meanwhile")
    for name, cells in difference["cells"].items():
        _refuse_sheet(document, name, cells)
    for growth in difference["grown"]:  # the old last row is written anew
        last = [(growth["bottom"], c, was, None) for c, was in zip(growth["typed"], growth["last"])]
        _refuse_sheet(document, growth["sheet"], last)


def _refuse_sheet(document, name, cells):
    if not document.Sheets.hasByName(name):
        raise ChangedError(f"the sheet {name} is gone")
    sheet = document.Sheets.getByName(name)
    if sheet.isProtected():
        raise ChangedError(f"the sheet {name} is protected")
    for row, column, old, _ in cells:
        cell = sheet.getCellByPosition(column, row)
        if not _is(cell, old):
            raise ChangedError(f"{cell.AbsoluteName.replace('$', '')} was changed meanwhile")


def _is(cell, value):
    kind = cell.Type.value
    if kind == "FORMULA":
        return False
    if isinstance(value, float):
        return kind == "VALUE" and abs(cell.Value - value) <= SAME * max(abs(cell.Value), abs(value))
    return kind != "VALUE" and held(cell) == (value or "")


def _write(sheet, cells):
    """Set cells: a column of values in which several change in one go, others one by one.

    `setDataArray` is fast, for what looks at the cells is told once; but undoing it leaves what was put into an empty
    cell, and doing it again leaves what was to be emptied. So cells are filled and emptied before that.
    """
    by_column = {}
    for row, column, old, value in cells:
        by_column.setdefault(column, []).append((row, old, value))
    for column, own in by_column.items():
        whole = _values_around(sheet, column, own) if len(own) > FEW else None
        for first, last in _runs([row for row, _, value in own if value is None]):
            sheet.getCellRangeByPosition(column, first, column, last).clearContents(TYPED)
        if whole is not None:
            for first, last in _runs([row for row, old, value in own if old is None and value is not None]):
                _fill_in(sheet.getCellRangeByPosition(column, first, column, last))
            top, rows = whole.RangeAddress.StartRow, [row[0] for row in whole.DataArray]
            for row, _, value in own:
                rows[row - top] = "" if value is None else value
            whole.setDataArray(tuple((value,) for value in rows))
            continue
        for row, _, value in own:
            if value is not None:
                _set(sheet.getCellByPosition(column, row), value)


def _fill_in(cells):
    """Put anything into empty cells of a column: by one series where all look alike, for a series takes looks along."""
    height = cells.RangeAddress.EndRow - cells.RangeAddress.StartRow + 1
    if height > FEW and cells.CellFormatRanges.Count == 1:
        cells.getCellByPosition(0, 0).setValue(0)
        cells.fillSeries(TO_BOTTOM, LINEAR, FILL_DATE_DAY, 0, FAR)
    if not cells.queryEmptyCells().Count:
        return
    for row in range(height):
        cells.getCellByPosition(0, row).setValue(0)


def _values_around(sheet, column, cells):
    """Return the part of a column from the first to the last of some cells, None where a formula stands in it."""
    rows = [row for row, *_ in cells]
    whole = sheet.getCellRangeByPosition(column, min(rows), column, max(rows))
    return None if whole.queryContentCells(FORMULAS).Count else whole


def _set(cell, value):
    if isinstance(value, float):
        cell.setValue(value)
    else:
        cell.setString(value)  # as text, even where it reads like a number or a formula


def _grow(document, growth):
    """Make room inside the table, so that all that covers it (formulas, charts, drop-downs, looks) grows with it."""
    left, right, bottom, to = (growth[key] for key in ("left", "right", "bottom", "to"))
    number = document.DatabaseRanges.getByName(growth["table"]).DataArea.Sheet
    document.Sheets.getByIndex(number).insertCells(CellRangeAddress(number, left, bottom, right, to - 1), DOWN)
    sheet = document.Sheets.getByIndex(number)  # one held over an insertion that is undone covers fewer rows
    sheet.getCellRangeByPosition(left, bottom - 1, right, to).fillAuto(TO_BOTTOM, 1)  # formulas and looks
    for first, last in _runs(growth["typed"]):
        at = growth["typed"].index(first)
        rows = tuple(tuple("" if v is None else v for v in row[at : at + last - first + 1]) for row in growth["rows"])
        sheet.getCellRangeByPosition(first, bottom, last, to).setDataArray(rows)  # undone with the insertion


def _runs(places):
    """Return first and last of each run of neighbours among rows or columns."""
    found = []
    for place in places:
        if found and place == found[-1][1] + 1:
            found[-1] = (found[-1][0], place)
        else:
            found.append((place, place))
    return found


def choices_of(document, question):
    """Return what a question offers: its own words, and rows of the open book with words to know them by."""
    found = list(question["choices"])
    for source in question["sources"]:
        if is_spreadsheet(document) and document.DatabaseRanges.hasByName(source["table"]):
            found += _rows_of(document, source)
    return tuple(dict.fromkeys(found))[:MOST_CHOICES]


def _rows_of(document, source):
    area = document.DatabaseRanges.getByName(source["table"]).ReferredCells
    heads, rows = area.DataArray[0], area.DataArray[1:]
    at = {head: number for number, head in enumerate(heads)}
    if source["name"] not in at:
        return []
    about = [at[head] for head in source["about"] if head in at]
    state = at.get(source["state"])
    return [
        "  ".join([str(row[at[source["name"]]]), *(_said(row[n]) for n in about if row[n] != "")])
        for row in rows
        if row[at[source["name"]]] != "" and (not source["states"] or state is None or row[state] in source["states"])
    ]


def _said(value):
    return f"{value:g}" if isinstance(value, float) else str(value)


def held(cell):
    """Return the text a cell holds; what it shows may have more in it, such as the mark of a list to pick from."""
    value = cell.DataArray[0][0]
    return value if isinstance(value, str) else ""


def words_here(controller, picks):
    """Return what stands in the rows one is in, or what a page shows that has a box to pick it (`picks`)."""
    sheet = controller.ActiveSheet
    if sheet.Name in picks:
        return {held(sheet.getCellRangeByName(picks[sheet.Name]))}
    selected = controller.Selection
    areas = selected.RangeAddresses if hasattr(selected, "RangeAddresses") else ()
    areas = areas or ((selected.RangeAddress,) if hasattr(selected, "RangeAddress") else ())
    found = set()
    for area in areas:
        last = min(area.EndRow, area.StartRow + MOST_CHOICES)
        for row in sheet.getCellRangeByPosition(0, area.StartRow, COLUMNS, last).DataArray:
            found.update(value for value in row if isinstance(value, str) and value)
    return found


def chosen_here(choices, words):
    """Return the choices that the rows one is in speak of: by their number, or a piece by the number of its barrel."""
    return [choice for choice in choices if _speaks_of(words, choice.split("  ")[0])]


def _speaks_of(words, name):
    return any(word == name or word.startswith(name + "-B") for word in words)


def show_cell(controller, sheet, cell):
    """Show a cell and stand on it; return whether there is such a sheet."""
    sheets = controller.Model.Sheets
    if not sheets.hasByName(sheet):
        return False
    controller.setActiveSheet(sheets.getByName(sheet))
    controller.select(sheets.getByName(sheet).getCellRangeByName(cell))
    return True
