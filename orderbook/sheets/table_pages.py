"""The sheets that hold tables: heads, blank rows inside the table, drop-downs, native columns."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pkgutil import resolve_name
from typing import Any

from orderbook.records.definition import BookDefinition, Column, Table
from orderbook.xlsx.formulas import expand
from orderbook.xlsx.page import Formula, LaidTable, Look, Page, address
from orderbook.xlsx.row_heights import height_of

HEAD_ROW = 2
CHART_ROWS = 20  # that a chart below a table takes
_STYLES = {"input": "input", "brought": "row", "worked": "answer", "answer": "row"}
Rows = Sequence[Mapping[str, Any]]


def table_page(sheet: str, book: BookDefinition, rows: Mapping[str, Rows]) -> Page:
    """Lay out the tables of a sheet, side by side with a blank column between."""
    tables = book.on_sheet(sheet)
    page = Page(sheet, show_heads=True, heights=[28, 18, 40], freeze=(HEAD_ROW + 1, 2), repeat_row=HEAD_ROW)
    page.put(0, 1, sheet, Look("title"))
    page.put(1, 1, book.notes.get(sheet, ""), Look("piece", size="small"))
    page.widths.append(10)
    deepest = 0
    for table in tables:
        if len(page.widths) > 1:
            page.widths.append(24)
            page.put(1, len(page.widths), table.name, Look("note"))
        filled = [*table.rows, *rows.get(table.name, ())] if table.name not in rows else list(rows[table.name])
        _lay(page, table, book, filled)
        deepest = max(deepest, len(filled))
    page.area = (0, 0, HEAD_ROW + max(deepest, 12) + 6, len(page.widths) - 1)
    if len(tables) > 1:
        page.freeze = (HEAD_ROW + 1, 0)
    if chart := book.charts.get(sheet):
        page.charts.append(resolve_name(chart)(page.tables[0]))
        page.area = (0, 0, page.tables[0].bottom + CHART_ROWS, page.area[3])
    _fit_rows(page, tables)
    return page


def _fit_rows(page: Page, tables: Sequence[Table]) -> None:
    """Let each row be as high as its sentences; the program goes on with that as they are typed."""
    prose = {
        laid.left + n: column.width
        for laid, table in zip(page.tables, tables, strict=True)
        for n, column in enumerate(table.columns) if column.is_prose
    }  # fmt: skip
    page.fitted_from = HEAD_ROW + 1
    for row in range(HEAD_ROW + 1, max(t.bottom for t in page.tables) + 1):
        cells = ((page.cells[row, col].value, width) for col, width in prose.items() if (row, col) in page.cells)
        page.heights.append(height_of((value, width) for value, width in cells if isinstance(value, str)))


def _lay(page: Page, table: Table, book: BookDefinition, rows: Rows) -> None:
    left = len(page.widths)
    bottom = HEAD_ROW + max(len(rows) + table.blank_rows, 1)
    for col, column in enumerate(table.columns, left):
        page.widths.append(column.width)
        page.hidden |= {col} if column.hidden else set()
        page.folds |= {col} if column.seldom else set()
        page.put(HEAD_ROW, col, column.header, head_look(column))
        _lay_column(page, table, column, book, rows, col, bottom)
    page.tables.append(LaidTable(table.name, HEAD_ROW, left, bottom, len(page.widths) - 1))


def _lay_column(
    page: Page, table: Table, column: Column, book: BookDefinition, rows: Rows, col: int, bottom: int
) -> None:
    look = cell_look(column)
    formula = Formula(expand(column.formula, table, book)) if column.formula else None
    for row in range(HEAD_ROW + 1, bottom + 1):
        at = row - HEAD_ROW - 1
        page.put(row, col, formula or (rows[at].get(column.key) if at < len(rows) else None), look)
    if column.list:
        page.drop_downs.append(
            {
                "range": (HEAD_ROW + 1, col, bottom, col),
                "list": column.list,
                "title": column.header,
                "help": column.help,
            }
        )
    if column.alert:
        test = f"LEN({address(HEAD_ROW + 1, col, fixed=False)})>0"
        page.highlights.append({"range": (HEAD_ROW + 1, col, bottom, col), "test": test, "look": "trouble"})


def head_look(column: Column) -> Look:
    """Return how the head of a column looks: boxed where a hand writes."""
    style = "input_head" if column.kind == "input" else "head"
    return Look(style, align=_align(column), indent=1)


def cell_look(column: Column) -> Look:
    """Return how the cells of a column look."""
    style = _STYLES[column.kind]
    if column.format.endswith("_pm"):
        style = "plus_minus"
    elif column.kind == "worked" and not column.format:
        style = "reason"
    return Look(style, format=column.format, align=_align(column), indent=1, wrap=column.is_prose or None)


def _align(column: Column) -> str:
    if column.align:
        return column.align
    numbers = column.format and column.format != "plain" and not column.format.endswith("_pm")
    return "right" if numbers else "left"
