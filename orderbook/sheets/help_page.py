"""Help: how to begin, the worksheet functions, the units, the cautions, and what each column means."""

from __future__ import annotations

from collections.abc import Iterable

from orderbook.cautions import caution
from orderbook.functions.table import FUNCTIONS, Argument
from orderbook.records.definition import BookDefinition
from orderbook.sheets.account_page import key_lines
from orderbook.xlsx.page import Look, Page, band

_WIDTHS = [8, 150, 190, 120, 130, 560]
_LAST = len(_WIDTHS) - 1
_FILLED_BY = {"input": "you", "brought": "a supplier's list", "worked": "the sheet itself", "answer": "refresh"}
_CAUTIONS = ("wound_spring", "too_strong", "salts", "acids", "mercury", "solvents", "heat")
_BEGIN = (
    ("1", "Restorations", "Give the piece a number, such as R-007, and say what it is."),
    ("2", "Barrels", "Give each barrel a number, such as R-007-B1, the train it drives, and the turns asked or used."),
    (
        "3",
        "Readings",
        "One reading a row: bore, arbor where the spring wraps, depth to the cover. Read each two or three times.",
    ),
    ("4", "Bench", "Pick the barrel: width, strength, length and turns stand there at once, with their ±."),
    ("5", "Catalogue", "Bring in a list:  orderbook catalogue LIST.csv --into BOOK.xlsx"),
    ("6", "Bench", "Run  orderbook refresh BOOK.xlsx  for the useful range, the springs to try and the torque."),
    ("7", "Ledger", "One cost or credit a row; the Account adds them up as you type."),
)


def help_page(book: BookDefinition) -> Page:
    """Lay out the Help sheet from the tables of functions and columns."""
    page = Page("Help", widths=list(_WIDTHS), heights=[26, 20], show_heads=False)
    page.put(0, 1, "Help", Look("title"))
    page.put(1, 1, "made from the definitions of this book", Look("piece", size="small"))
    row = 2
    for block in (_begin, _cautions, _functions, _units, _columns):
        row = block(page, book, row) + 1
    page.area = (0, 0, row, _LAST)
    page.heights += [18] * (row - 1)
    page.freeze = (2, 0)
    page.repeat_row = 0
    return page


def _lines(page: Page, row: int, lines: Iterable[tuple[str, ...]]) -> int:
    for line in lines:
        page.fill(row, range(1, _LAST + 1), Look("row"))
        for col, words in enumerate(line, 1):
            page.put(row, col, words, Look("row" if col == 1 else "minor_row", bold=col == 1))
        row += 1
    return row


def _begin(page: Page, book: BookDefinition, row: int) -> int:
    band(
        page, row, 1, _LAST, "How to begin", {3: "everything but the rows marked orderbook works with no Python at all"}
    )
    row = _lines(page, row + 1, [(f"{n}  {sheet}", words) for n, sheet, words in _BEGIN])
    key_lines(page, row, 1)
    return row + 3


def _cautions(page: Page, book: BookDefinition, row: int) -> int:
    band(page, row, 1, _LAST, "Cautions")
    return _lines(page, row + 1, [(name.replace("_", " "), str(caution(name))) for name in _CAUTIONS])


def _functions(page: Page, book: BookDefinition, row: int) -> int:
    band(
        page,
        row,
        1,
        _LAST,
        "Worksheet functions",
        {3: "where the add-in is set up; without it, refresh works them out"},
    )
    lines = [
        (function.name, function.syntax, "", function.unit, _words(function.gives, function.arguments))
        for function in FUNCTIONS.values()
    ]
    return _lines(page, row + 1, lines)


def _words(gives: str, arguments: tuple[Argument, ...]) -> str:
    told = "; ".join(f"{a.name}: {a.meaning}" for a in arguments)
    return f"{gives}. {told}"


def _units(page: Page, book: BookDefinition, row: int) -> int:
    band(page, row, 1, _LAST, "Units")
    units = ", ".join(str(line["unit"]) for line in book.tables["Units"].rows)
    return _lines(page, row + 1, [
        ("in Readings", f"{units}; add your own on the sheet Lists"),
        ("in text", "34.02 · 34,02 mm · 0.0125 in · 12 thou · 17 ligne · 6¾ ‴ · 5 douzième · 1 1/2 in"),
    ])  # fmt: skip


def _columns(page: Page, book: BookDefinition, row: int) -> int:
    band(page, row, 1, _LAST, "What each column means", {4: "filled by", 5: "meaning"})
    lines = []
    for sheet in book.sheets:
        for table in book.on_sheet(sheet):
            for column in table.columns:
                source = f" ({column.source})" if column.source else ""
                lines.append((table.name, column.header, column.unit, _FILLED_BY[column.kind], column.help + source))
    return _lines(page, row + 1, lines)
