"""`orderbook next`: what can be done now, and what waits for what."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from orderbook.cli import console
from orderbook.cli.day import on


@click.command(name="next")
@click.argument("book", type=click.Path(path_type=Path))
@click.argument("restoration", default="")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
@on
def command(book: Path, restoration: str, as_json: bool, on: date) -> int:
    """Say what can be done now, what waits for what, and what waits for a delivery.

    Of one RESTORATION (such as R-007), or of all that are not closed.
    """
    from orderbook.book.book import Book

    return console.answer(Book(book).next(restoration, on=on), as_json=as_json)
