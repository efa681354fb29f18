"""Writes laid-out pages as a new book; the same pages give the same bytes."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Mapping, Sequence
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any, ClassVar

from orderbook.records.definition import BookDefinition
from orderbook.sheets.finishing import finished
from orderbook.sheets.look import color, look_definition, properties
from orderbook.xlsx.page import ArrayFormula, Formula, LaidTable, Look, Page, Place, address

BUTTON_COLUMN = 18  # of the Bench, at the right end of its title
PAPERS = {"a4": 9, "letter": 1}
MOST_ACROSS = 1700  # pixels of columns on one page of print; more would be smaller than 6 pt
_CREATED = dt.datetime(2026, 1, 1)  # a fixed day, so that a rebuild is the same byte for byte
# drop-down lists that are the key column of a table
_KEYED = {
    "restorations": ("Restorations", "restoration"),
    "barrels": ("Barrels", "barrel"),
    "needs": ("Needs", "need"),
    "suppliers": ("Suppliers", "supplier"),
    "units": ("Units", "unit"),
    "instruments": ("Instruments", "instrument"),
}
_ALERTS: dict[str, dict[str, bool | str]] = {
    "trouble": {"bold": True, "font_color": "rust", "bg_color": "blush"},
    "stale": {"italic": True, "font_color": "pumice", "bg_color": "paper"},
    "next": {"bold": True, "font_color": "ink", "bg_color": "mist"},
    "quiet": {"font_color": "hair"},
}


def book_bytes(
    pages: Sequence[Page],
    book: BookDefinition,
    values: Mapping[str, Mapping[Place, Any]],
    *,
    paper: str = "a4",
    macros: bytes | None = None,
) -> bytes:
    """Return the bytes of a new book made of `pages`; `values` holds what each formula comes to.

    `macros` is the macro part of a live book, which is then to be saved as .xlsm.
    """
    import xlsxwriter

    buffer = io.BytesIO()
    options = {"in_memory": True, "strings_to_numbers": False, "strings_to_formulas": False, "strings_to_urls": False}
    workbook = xlsxwriter.Workbook(
        buffer, options | {"default_format_properties": properties(Look("row")) | {"bottom": 0}}
    )
    workbook.set_properties({"title": "Orderbook", "created": _CREATED})
    workbook.set_calc_mode("auto", 191029)
    workbook.calc_on_load = False  # stored values are right already
    formats = Formats(workbook)
    sheets = {page.name: workbook.add_worksheet(page.name, worksheet_class=_sheet_class()) for page in pages}
    for page in pages:
        if page.name in book.hidden:
            sheets[page.name].hide()
        _write(sheets[page.name], page, book, formats, values.get(page.name, {}), paper)
    for name, source in list_sources(pages, book).items():
        workbook.define_name(pick_name(name), source)
    for page in pages:
        for name, place in page.names.items():
            workbook.define_name(name, f"={page.name}!{address(*place)}")
    for page in pages:
        for chart in page.charts:
            chart["add"](workbook, sheets[page.name])
    if macros is not None:
        _add_macros(workbook, list(sheets.values()), macros)
    workbook.close()
    fitted = {number: page.fitted_from for number, page in enumerate(pages, 1) if page.fitted_from is not None}
    return finished(buffer.getvalue(), formats.indices(), fitted)


def _add_macros(workbook: Any, sheets: Sequence[Any], macros: bytes) -> None:
    """Add the macro part; book and sheets bear the names it knows them by."""
    workbook.set_vba_name("ThisWorkbook")
    for number, sheet in enumerate(sheets, 1):
        sheet.set_vba_name(f"Sheet{number}")
    workbook.add_vba_project(io.BytesIO(macros), is_stream=True)
    sheets[0].insert_button(
        0, BUTTON_COLUMN, {"macro": "RefreshOrderbook", "caption": "Refresh", "width": 90, "height": 22, "y_offset": 2}
    )
    sheets[-1].hide()


@cache
def _sheet_class() -> type:
    """Return a worksheet that prepares each formula text once: the cells of a column share theirs."""
    from xlsxwriter.worksheet import Worksheet

    class ColumnSheet(Worksheet):  # type: ignore[misc, unused-ignore]
        _prepared: ClassVar[dict[str, str]] = {}

        def _prepare_formula(self, formula: str, *more: Any) -> str:
            if formula not in self._prepared:
                self._prepared[formula] = super()._prepare_formula(formula, *more)
            return self._prepared[formula]

    return ColumnSheet


class Formats:
    """The formats of a workbook by look, each made once."""

    def __init__(self, workbook: Any) -> None:
        """Make the base format of each named style first, so that every style has one."""
        self._workbook = workbook
        self._made: dict[Look, Any] = {}
        self._alerts: dict[str, Any] = {}
        for style in look_definition()["styles"]:
            self(Look(style))._get_xf_index()

    def __call__(self, look: Look) -> Any:
        """Return the format of a look."""
        if look not in self._made:
            self._made[look] = self._workbook.add_format(properties(look))
        return self._made[look]

    def alert(self, name: str) -> Any:
        """Return the format a highlight gives."""
        if name not in self._alerts:
            props = {k: color(v) if isinstance(v, str) else v for k, v in _ALERTS[name].items()}
            self._alerts[name] = self._workbook.add_format(props)
        return self._alerts[name]

    def indices(self) -> dict[str, list[int]]:
        """Return style → indices of its cell formats, the base first."""
        found: dict[str, list[int]] = {}
        for look, made in self._made.items():
            if made.xf_index is not None:
                found.setdefault(look_definition()["styles"][look.style]["name"], []).append(made.xf_index)
        return found


def save_new(path: Path, data: bytes) -> None:
    """Write a new file in one step; FileExistsError if there is one already."""
    with path.open("xb") as file:
        file.write(data)


def _write(
    sheet: Any, page: Page, book: BookDefinition, formats: Formats, values: Mapping[Place, Any], paper: str
) -> None:
    _set_up(sheet, page, paper, hidden=page.name in book.hidden)
    for laid in page.tables:
        _add_table(sheet, page, laid, book, formats)
    for (row, col), cell in sorted(page.cells.items()):
        if isinstance(cell.value, ArrayFormula):
            _put_block(sheet, row, col, cell.value, formats(cell.look), values)
        else:
            _put(sheet, row, col, cell.value, formats(cell.look), values.get((row, col)))
    for drop in page.drop_downs:
        _drop_down(sheet, drop)
    for light in page.highlights:
        rule = {"type": "formula", "criteria": "=" + light["test"], "format": formats.alert(light["look"])}
        sheet.conditional_format(*light["range"], rule | {"stop_if_true": bool(light.get("stop"))})


def _put_block(sheet: Any, row: int, col: int, block: ArrayFormula, look: Any, values: Mapping[Place, Any]) -> None:
    """Write a block over its whole rectangle, every value stored: a program without our functions shows them."""
    last = (row + block.rows - 1, col + block.cols - 1)
    sheet.write_dynamic_array_formula(row, col, *last, block.text, look, values.get((row, col), ""))
    for down in range(block.rows):
        for right in range(block.cols):
            if down or right:
                _put(sheet, row + down, col + right, values.get((row + down, col + right)), look, None)


def _put(sheet: Any, row: int, col: int, value: Any, look: Any, result: Any) -> None:
    """Text stays text, never a formula by accident; a formula always carries its value."""
    if isinstance(value, Formula):
        sheet.write_formula(row, col, value.text, look, "" if result is None else result)
    elif value is None or value == "":
        sheet.write_blank(row, col, None, look)
    elif isinstance(value, bool):
        sheet.write_boolean(row, col, value, look)
    elif isinstance(value, str):
        sheet.write_string(row, col, value, look)
    elif isinstance(value, (dt.date, dt.datetime)):
        sheet.write_datetime(row, col, value, look)
    elif isinstance(value, Decimal):
        sheet.write_number(row, col, float(value), look)
    else:
        sheet.write_number(row, col, value, look)


def _set_up(sheet: Any, page: Page, paper: str, *, hidden: bool) -> None:
    sheet.hide_gridlines(2)
    if not page.show_heads:
        sheet.hide_row_col_headers()
    for col, width in enumerate(page.widths):
        how = {"hidden": col in page.hidden, "level": int(col in page.folds)}
        sheet.set_column_pixels(col, col, width, None, how)
    for row, height in enumerate(page.heights):
        sheet.set_row_pixels(row, height)
    sheet.set_landscape()
    sheet.set_paper(PAPERS[paper])
    sheet.set_margins(left=0.32, right=0.32, top=0.35, bottom=0.5)
    shown = sum(width for col, width in enumerate(page.widths) if col not in page.hidden)
    across = -(-shown // MOST_ACROSS) if page.repeat_row is not None else 1
    sheet.fit_to_pages(across, 0 if page.repeat_row is not None else 1)
    sheet.center_horizontally()
    family = look_definition()["type"]["family"]
    sheet.set_footer(f'&L&"{family}"&8&F · &A&R&"{family}"&8printed &D · page &P of &N', {"margin": 0.25})
    if hidden:  # LibreOffice prints hidden sheets too: an empty cell is all that is left of them
        sheet.print_area(0, 0, 0, 0)
    elif page.area:
        sheet.print_area(*page.area)
    if page.repeat_row is not None and not hidden:
        sheet.repeat_rows(page.repeat_row)
    if across > 1 and page.freeze and page.freeze[1]:
        sheet.repeat_columns(0, page.freeze[1] - 1)
    if page.freeze:
        sheet.freeze_panes(*page.freeze)


def _add_table(sheet: Any, page: Page, laid: LaidTable, book: BookDefinition, formats: Formats) -> None:
    table = book.tables[laid.name]
    columns = []
    for col, column in enumerate(table.columns, laid.left):
        head = {"header": column.header, "header_format": formats(page.cells[laid.top, col].look)}
        cell = page.cells[laid.top + 1, col].value
        columns.append(head | ({"formula": cell.text} if isinstance(cell, Formula) else {}))
    sheet.add_table(
        laid.top, laid.left, laid.bottom, laid.right, {"name": laid.name, "style": None, "columns": columns}
    )


def _drop_down(sheet: Any, drop: dict[str, Any]) -> None:
    rule = {
        "validate": "list", "source": "=" + pick_name(drop["list"]), "error_type": "warning",
        "error_title": drop["title"][:32], "error_message": "Not in the list (see Lists). Keep it anyway?",
    }  # fmt: skip
    if drop.get("show_help"):
        rule |= {"input_title": drop["title"][:32], "input_message": drop["help"][:255]}
    sheet.data_validation(*drop["range"], rule)


def pick_name(name: str) -> str:
    """Return the defined name of a drop-down's list; a name grows with its table, wherever it is used."""
    return f"pick_{name}"


def list_sources(pages: Sequence[Page], book: BookDefinition) -> dict[str, str]:
    """Return list name → range that feeds its drop-downs: a table's key column, or a list of words."""
    places = {laid.name: (page.name, laid) for page in pages for laid in page.tables}
    sources = {}
    for name, (table, key) in _KEYED.items():
        sheet, laid = places[table]
        sources[name] = _range(sheet, laid, book, key, laid.bottom)
    sheet, laid = places["Choices"]
    for name, words in book.lists.items():
        sources[name] = _range(sheet, laid, book, name, laid.top + len(words))
    return sources


def _range(sheet: str, laid: LaidTable, book: BookDefinition, key: str, bottom: int) -> str:
    col = laid.left + [c.key for c in book.tables[laid.name].columns].index(key)
    return f"={sheet}!{address(laid.top + 1, col)}:{address(bottom, col)}"
