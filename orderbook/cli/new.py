"""`orderbook new`: make a new book."""

from __future__ import annotations

from pathlib import Path

import click


@click.command(name="new")
@click.argument("book", type=click.Path(dir_okay=False, path_type=Path))
def command(book: Path) -> None:
    """Make a new, empty book, to be opened in Excel or LibreOffice Calc.

    BOOK is a name that ends in .xlsx. A file that exists is never overwritten.
    """
    from orderbook.desk.new import new

    click.echo(f"{new(book)} is ready. Open it, and begin on the sheets Restorations, Barrels and Readings.")
