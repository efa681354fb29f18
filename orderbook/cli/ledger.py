"""`orderbook ledger`: what a restoration costs, by category."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from orderbook.cli import console
from orderbook.cli.day import on


@click.command(name="ledger")
@click.argument("book", type=click.Path(path_type=Path))
@click.argument("restoration")
@click.option("--export", type=click.Path(dir_okay=False, path_type=Path), help="FILE.csv or FILE.beancount to write.")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
@on
def command(book: Path, restoration: str, export: Path | None, as_json: bool, on: date) -> int:
    """Add up a restoration: estimate, committed, paid, credits and labour, by category and by barrel.

    Rows that cannot be added are listed below the total, each with its cell and its cure.
    """
    from orderbook.book.book import Book

    found = Book(book).ledger(restoration, export=export, on=on)
    status = console.answer(found, as_json=as_json)
    if export and not as_json:
        click.echo(f"\nWritten to {export}.")
    return status
