"""`orderbook new`: make a new book."""

from __future__ import annotations

from pathlib import Path

import click

from orderbook.cli import console


@click.command(name="new")
@click.argument("book", type=click.Path(dir_okay=False, path_type=Path))
@click.option("--live", is_flag=True, help="With .xlsx: a book whose answers are our functions, for LibreOffice Calc.")
@click.option(
    "--from", "source", type=click.Path(exists=True, dir_okay=False, path_type=Path), metavar="OLD",
    help="Take over every row of a book, plain or live; it stays as it is.",
)  # fmt: skip
def command(book: Path, live: bool, source: Path | None) -> int:
    """Make a new book, to be opened in Excel or LibreOffice Calc.

    BOOK is a name that ends in .xlsx, or in .xlsm for a live book for Excel. A file that exists is never overwritten.
    """
    from orderbook.book.new import new

    return console.answer(new(book, live=live, source=source))
