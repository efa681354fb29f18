"""`orderbook ledger`: what a restoration costs, or all of them over a span of days."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from orderbook.cli import console
from orderbook.cli.day import a_day, on


@click.command(name="ledger")
@click.argument("book", type=click.Path(path_type=Path))
@click.argument("restoration", default="")
@click.option("--since", metavar="DATE", callback=a_day, help="All pieces: from this day on.")
@click.option("--until", metavar="DATE", callback=a_day, help="All pieces: until this day, the day itself too.")
@click.option("--export", type=click.Path(dir_okay=False, path_type=Path), help="FILE.csv or FILE.beancount to write.")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
@on
def command(
    book: Path, restoration: str, since: date | None, until: date | None, export: Path | None, as_json: bool, on: date
) -> int:
    """Add up a restoration: estimate, committed, paid, credits and labour, by category and by barrel.

    Without a RESTORATION: all pieces, by piece, supplier and category, over a span of days where one is given. Rows
    that cannot be added are listed below the total, each with its cell and its cure.
    """
    from orderbook.book.book import Book

    found = Book(book).ledger(restoration, since=since, until=until, export=export, on=on)
    status = console.answer(found, as_json=as_json)
    if export and not as_json:
        click.echo(f"\nWritten to {export}.")
    return status
