"""`orderbook import`: bring an existing list into a table of a book."""

from __future__ import annotations

from pathlib import Path

import click

from orderbook.cli import console


@click.command(name="import")
@click.argument("book", type=click.Path(path_type=Path))
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--table", required=True, help="The table it goes into: Ledger, Needs, Orders, Drawer …")
@click.option("--map", "column_map", type=click.Path(path_type=Path), help="A column map (TOML).")
@click.option("--sheet", help="The sheet of a spreadsheet file; the first with anything in it if left out.")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
def command(book: Path, file: Path, table: str, column_map: Path | None, sheet: str | None, as_json: bool) -> int:
    """Add the rows of FILE (CSV, .xlsx, .ods) to a table of BOOK.

    Columns are known by their header in the book, or by the column map. Rows that are there already are not added
    again; a row with a cell that cannot be read stays out and is named.
    """
    from orderbook.book.book import Book

    return console.answer(Book(book).import_(file, table, column_map=column_map, sheet=sheet), as_json=as_json)
