"""The tab of a live book in Excel: an action done on a copy of the open book, and what differs put into the open book.

The macro code saves the copy (unsaved edits and all) and calls `run` through xlwings, on Windows and macOS; what was
typed or chosen arrives as hex digits. Excel stands still meanwhile, so nobody can type between copy and answer; every
cell to be written is looked at first all the same, and nothing is written where one differs. A macro empties Excel's
list of steps to undo, so the copy as it was is kept beside the book as `NAME.before.xlsm`.
"""

from __future__ import annotations

import datetime as dt
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from orderbook.actions import ACTIONS, PAGES_THAT_PICK, Action, ChoiceRows, Question, in_menu
from orderbook.book.differences import SAME, Difference, GrownTable, Typed
from orderbook.book.menu import Answered, Request, answered
from orderbook.book.menu_words import Point
from orderbook.book.opened import opened
from orderbook.errors import OrderbookError, error, speaking
from orderbook.records.books import Books
from orderbook.records.definition import book_definition
from orderbook.xlsx.page import address

COLUMNS = 64  # of a row, where the numbers of pieces, barrels and lines stand
MOST_ROWS = 500  # of a selection that are looked at
FIRST_DAY = dt.datetime(1899, 12, 30)  # day 0 of Excel's calendar
BENCH, HELP = "Bench", "Help"
LIVE_BOOK = ".xlsm"


def decoded(digits: str) -> str:
    """Return what was typed.

    >>> decoded("0074006F006F0020007700650061006B")
    'too weak'
    """
    return bytes.fromhex(digits).decode("utf-16-be")


def run(action: str, **coded: str) -> None:
    """Do an action for the book whose tab was used; how it went is one line on Excel's status bar."""
    import xlwings

    book = xlwings.Book.caller()
    given = {key: decoded(digits) for key, digits in coded.items()}
    with tempfile.TemporaryDirectory(prefix="orderbook-") as folder:
        copy = given.pop("copy", "")
        if copy:
            copy = shutil.move(copy, str(Path(folder) / f"book{Path(copy).suffix}"))
        book.app.status_bar = done(book, ACTIONS[action], str(copy), given)


def done(book: Any, action: Action, copy: str, given: Mapping[str, Any]) -> str:
    """Do an action for an open book (an xlwings Book); return the line to show."""
    with speaking(in_menu):
        try:
            return _done(book, action, copy, dict(given))
        except OrderbookError as problem:
            found = problem.finding
            return " ".join(f"{found.where}: {found.saw.rstrip('.')}. {found.expected} {found.try_this}".split())


def _done(book: Any, action: Action, copy: str, given: dict[str, Any]) -> str:
    if action.key == "help":
        book.sheets[HELP].activate()
        return ""
    if action.key == "bench":
        return _show_on_bench(book)
    if action.key == "finding":
        return _next_finding(book, copy)
    if action.way == "new" and not Path(given.get("path", LIVE_BOOK)).suffix:
        given["path"] += LIVE_BOOK  # Excel's dialog gives back what was typed
    if copy:
        given |= _by_row(book, action, opened(Path(copy)).books)
    report = _reporter(book)
    found = answered(Request(action.key, copy, given, str(book.fullname)), report)
    if found.refused:
        return found.headline
    if action.way == "new":
        book.app.books.open(found.files[0])
        return found.headline
    if action.way == "change" and found.difference:
        kept = _keep_before(book, Path(copy))
        put_in(book, found.difference)
        return f"{found.headline} (as it was before: {kept})"
    return _looked(book, action, found)


def _reporter(book: Any) -> Any:
    def report(words: str) -> None:
        book.app.status_bar = f"orderbook: {words}"

    return report


def _looked(book: Any, action: Action, found: Answered) -> str:
    if action.way == "look" and found.points and not found.files:
        return _go_to(book, found.points[0])
    files = f" {found.files[0]}" if found.files and found.files[0] not in found.headline else ""
    return found.headline + files


def _go_to(book: Any, point: Point) -> str:
    if point.cell and point.sheet in [sheet.name for sheet in book.sheets]:
        sheet = book.sheets[point.sheet]
        sheet.activate()
        sheet[point.cell].select()
    return f"{point.head}: {point.text}"


def _next_finding(book: Any, copy: str) -> str:
    """Look the book over afresh and go to the first finding behind the cell one stands on, from the end to the first.

    Nothing is remembered between two presses, so nothing is pointed at that the book does not say any more.
    """
    found = answered(Request("check", copy, {}, str(book.fullname)), _reporter(book))
    points = [point for point in found.points if point.cell]
    if not points:
        return found.headline
    selected = book.app.selection
    here = (selected.sheet.name, address(selected.row - 1, selected.column - 1, fixed=False))
    places = [(point.sheet, point.cell) for point in points]
    return _go_to(book, points[(places.index(here) + 1) % len(points) if here in places else 0])


# ---- what the row says -----------------------------------------------------------------------------------------------


def words_here(book: Any) -> set[str]:
    """Return the texts of the rows one stands in, or what a page shows that has a box to pick it."""
    selected = book.app.selection
    sheet = selected.sheet
    if sheet.name in PAGES_THAT_PICK:
        return {str(sheet[PAGES_THAT_PICK[sheet.name]].value or "")}
    last = selected.row + min(selected.rows.count, MOST_ROWS) - 1
    rows = sheet.range((selected.row, 1), (last, COLUMNS)).options(ndim=2).value
    return {value for row in rows for value in row if isinstance(value, str) and value}


def _by_row(book: Any, action: Action, books: Books) -> dict[str, Any]:
    """Answer what the tab does not ask: the rows of the book that the cursor stands on, or the only one there is.

    Raises: OrderbookError(row_says_nothing).
    """
    asked = [question for question in action.questions if question.needed and question.sources]
    words = words_here(book) if asked else set()
    return {question.key: _of_row(question, books, words) for question in asked}


def _of_row(question: Question, books: Books, words: set[str]) -> Any:
    offered = list(dict.fromkeys(name for source in question.sources for name in _names(books, source)))
    chosen = [name for name in offered if any(w == name or w.startswith(name + "-B") for w in words)]
    if question.kind == "choices" and chosen:
        return chosen
    if len(chosen) == 1 or (not chosen and len(offered) == 1):
        return (chosen or offered)[0]
    some = ", ".join((chosen or offered)[:6]) or "none in this book"
    saw = f"the row speaks of {some}" if chosen else "the row speaks of none"
    raise error("row_says_nothing", where=question.plain, saw=saw, try_this=f"{question.help} There are: {some}.")


def _names(books: Books, source: ChoiceRows) -> list[str]:
    key = book_definition().tables[source.table].counts_when
    rows = books.tables.get(source.table, ())
    return [
        str(row.get(key)) for row in rows
        if row.get(key) and (not source.states or row.get("state") in source.states)
    ]  # fmt: skip


def _show_on_bench(book: Any) -> str:
    from orderbook.functions.ranges import rows_in

    table = book_definition().tables["Barrels"]
    read = rows_in("Barrels", [list(row) for row in book.sheets[table.sheet].tables["Barrels"].range.value], "Barrels")
    barrels = [str(row.get("barrel")) for row in read if row.get("barrel")]
    words = words_here(book)
    found = [barrel for barrel in barrels if barrel in words]
    found = found or [barrel for barrel in barrels if barrel.rpartition("-B")[0] in words]
    if not found:
        raise error("row_says_nothing", where="Barrel", saw="the row names no barrel and no piece")
    page = book.sheets[BENCH]
    page[PAGES_THAT_PICK[BENCH]].value = found[0]
    page.activate()
    return found[0]


# ---- into the open book ----------------------------------------------------------------------------------------------


def _keep_before(book: Any, copy: Path) -> str:
    """Keep the book as it was, because a macro empties Excel's list of steps to undo; return where."""
    name = f"{Path(str(book.name)).stem}.before{copy.suffix}"
    before = copy.parent / "before" / copy.name
    for folder in (Path(str(book.fullname)).parent, Path.home()):  # a book of a cloud has no folder here
        try:
            return str(shutil.copy(before, folder / name))
        except OSError:
            continue
    return "not kept, no folder could be written"


def put_in(book: Any, difference: Difference) -> None:
    """Write what differs into an open book (an xlwings Book): all of it or nothing.

    Raises: OrderbookError(book_changed_meanwhile | cannot_put_in).
    """
    if difference.other:
        raise error("cannot_put_in", where=str(book.name), saw=", ".join(difference.other[:3]))
    _refuse_changed(book, difference)
    shown, book.app.screen_updating = book.app.screen_updating, False
    try:
        for growth in difference.grown:
            _grow(book, growth)
        for name, cells in difference.cells.items():
            for row, column, _, value in cells:
                _type(book.sheets[name], row, column, value)
    finally:
        book.app.screen_updating = shown


def _refuse_changed(book: Any, difference: Difference) -> None:
    for name, (sheet, top, left, bottom, right) in difference.tables.items():
        area = book.sheets[sheet].tables[name].range
        if (area.row - 1, area.column - 1) != (top, left) or area.shape != (bottom - top + 1, right - left + 1):
            raise error("book_changed_meanwhile", where=f"table {name}", saw="it was moved or changed its size")
    for name, cells in difference.cells.items():
        for row, column, old, _ in cells:
            _refuse_cell(book.sheets[name], row, column, old)
    for growth in difference.grown:
        for column, old in zip(growth.typed, growth.last, strict=True):
            _refuse_cell(book.sheets[growth.sheet], growth.bottom, column, old)


def _refuse_cell(sheet: Any, row: int, column: int, old: Typed) -> None:
    if not _is(sheet[row, column].value, old):
        where = f"{sheet.name}!{address(row, column, fixed=False)}"
        raise error("book_changed_meanwhile", where=where, saw="the cell was changed")


def _is(value: Any, old: Typed) -> bool:
    if isinstance(value, dt.datetime):
        value = (value.replace(tzinfo=None) - FIRST_DAY) / dt.timedelta(days=1)
    if isinstance(value, (bool, int, float)) and isinstance(old, float):
        return abs(value - old) <= SAME * max(abs(value), abs(old))
    return (value if value not in (None, "") else None) == old


def _type(sheet: Any, row: int, column: int, value: Typed) -> None:
    """Write one cell; a text as text, also where Excel would take it for a formula, a number or a day."""
    sheet[row, column].value = f"'{value}" if isinstance(value, str) else value


def _grow(book: Any, growth: GrownTable) -> None:
    """Let a table reach further down; Excel carries the formulas of its columns along."""
    sheet = book.sheets[growth.sheet]
    table = sheet.tables[growth.table]
    top = table.range.row
    table.resize(sheet.range((top, growth.left + 1), (growth.to + 1, growth.right + 1)))
    for number, row in enumerate(growth.rows):
        for column, value in zip(growth.typed, row, strict=True):
            _type(sheet, growth.bottom + number, column, value)
