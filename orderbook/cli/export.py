"""`orderbook export`: every table of a book as CSV."""

from __future__ import annotations

from pathlib import Path

import click

from orderbook.cli import console


@click.command(name="export")
@click.argument("book", type=click.Path(path_type=Path))
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
def command(book: Path, folder: Path, as_json: bool) -> int:
    """Write every table of BOOK as a CSV file into FOLDER; the folder can be used as a book in turn."""
    from orderbook.book.book import Book

    return console.answer(Book(book).export(folder), as_json=as_json)
