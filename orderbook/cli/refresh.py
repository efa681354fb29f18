"""`orderbook refresh`: work out the answers of a book again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from orderbook.cli import console


@click.command(name="refresh", short_help="Work out the answers of a book again.")
@click.argument("book", type=click.Path(path_type=Path))
@click.option("--barrel", "barrels", multiple=True, metavar="ID", help="Only this barrel; may be repeated.")
@click.option("--all", "everything", is_flag=True, help="All barrels, those that are up to date too.")
@click.option("--watch", is_flag=True, help="Stay, and work out again at each save, until stopped with Ctrl-C.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
def command(book: Path, barrels: tuple[str, ...], everything: bool, watch: bool, as_json: bool) -> int:
    """Work out the barrels of a book that changed, and store the answers in it.

    Save and close the book first; with --watch it may stay open: the answers are shown here at each save and written
    as soon as the program lets go of the book.
    """
    from orderbook.book.book import Book

    if watch:
        for seen in Book(book).watch(*barrels):
            click.echo(str(seen))
        return 0
    done = Book(book).refresh(*barrels, everything=everything, report=console_progress())
    console.answer(done, as_json=as_json)
    return int(any(one.answer is None for one in done.answers))


def console_progress() -> Any:
    """Return a reporter that writes to stderr on a terminal, and says nothing elsewhere."""
    import sys

    if not sys.stderr.isatty():
        return lambda _: None
    return lambda text: click.echo(text, err=True)
