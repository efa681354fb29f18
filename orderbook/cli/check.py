"""`orderbook check`: look the whole book over for mistakes."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from orderbook.cli import console
from orderbook.cli.day import on


@click.command(name="check")
@click.argument("book", type=click.Path(path_type=Path))
@click.option("--fix", is_flag=True, help="Do the cures that are safe; they are listed.")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
@on
def command(book: Path, fix: bool, as_json: bool, on: date) -> int:
    """Look a whole book over: each finding names sheet, row and cell, what was seen, expected, and what to try.

    Nothing is changed without --fix, and then only what has one safe cure.
    """
    from orderbook.book.book import Book

    return console.answer(Book(book).check(fix=fix, on=on), as_json=as_json)
