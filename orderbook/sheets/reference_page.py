"""The reference of sheets and columns, written from the definition: `python -m orderbook.sheets.reference_page`."""

from __future__ import annotations

from pathlib import Path

from orderbook.records.definition import BookDefinition, Column, book_definition

PAGE = Path("docs/reference/sheets-and-columns.md")
_FILLED_BY = {"input": "you", "brought": "a list", "worked": "the sheet", "answer": "refresh"}
_HEAD = """# Sheets and columns

Made from the definition of the book (`workbook_template/`); do not edit by hand.

A row counts when the column marked * is filled. The order of columns is free, further columns are left alone, and a
sheet may be renamed: tables are found by name, columns by header. **You** fill the boxed cells; **the sheet** fills the
others by native formulas, with no Python; **refresh** stores what needs Python; **a list** is brought in by
`orderbook catalogue`.
"""


def reference_page(book: BookDefinition) -> str:
    """Return the page as Markdown."""
    parts = [_HEAD]
    for sheet in book.sheets:
        tables = book.on_sheet(sheet)
        if tables:
            parts.append(f"\n## {sheet}\n\n{_capital(book.notes.get(sheet, ''))}.\n")
        for table in tables:
            title = f"### Table {table.name}\n\n" if len(tables) > 1 else ""
            parts.append(
                f"\n{title}{table.help}\n\n| column | unit | filled by | meaning |\n| --- | --- | --- | --- |\n"
            )
            parts.extend(_line(column, table.counts_when) for column in table.columns)
    return "".join(parts)


def _line(column: Column, counts: str) -> str:
    mark = " *" if column.key == counts else ""
    source = f" Source: {column.source}." if column.source else ""
    hidden = " Its column is hidden." if column.hidden else " Its column folds away." if column.seldom else ""
    return f"| {column.header}{mark} | {column.unit} | {_FILLED_BY[column.kind]} | {column.help}{source}{hidden} |\n"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


if __name__ == "__main__":
    PAGE.parent.mkdir(parents=True, exist_ok=True)
    PAGE.write_text(reference_page(book_definition()), encoding="utf-8")
