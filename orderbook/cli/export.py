"""`orderbook export`: every table of a book as CSV, and its days as a calendar."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from orderbook.cli import console
from orderbook.cli.day import on


@click.command(name="export")
@click.argument("book", type=click.Path(path_type=Path))
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path), required=False)
@click.option("--calendar", type=click.Path(dir_okay=False, path_type=Path), help="The days to remember: FILE.ics.")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
@on
def command(book: Path, folder: Path | None, calendar: Path | None, as_json: bool, on: date) -> int:
    """Write every table of BOOK as a CSV file into FOLDER; the folder can be used as a book in turn.

    With --calendar, the days on which deliveries should come, springs may go back for the last time, and pieces are to
    be looked at again, as a file that calendar programs read.
    """
    from orderbook.book.book import Book

    return console.answer(Book(book).export(folder, calendar=calendar, on=on), as_json=as_json)
