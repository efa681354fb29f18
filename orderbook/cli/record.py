"""`orderbook record`: the restoration record as a page to print."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from orderbook.cli import console
from orderbook.cli.day import on


@click.command(name="record")
@click.argument("book", type=click.Path(path_type=Path))
@click.argument("restoration")
@click.option("--no-costs", is_flag=True, help="Leave prices, sums and hours out: the owner's copy.")
@click.option("--into", type=click.Path(file_okay=False, path_type=Path), help="The folder to write into.")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
@on
def command(book: Path, restoration: str, no_costs: bool, into: Path | None, as_json: bool, on: date) -> int:
    """Write the story of a restoration: readings with ±, springs tried, decisions, cautions, and what it costs.

    One HTML file that needs nothing else, and a PDF of it where the optional part for it is installed.
    """
    from orderbook.book.book import Book

    done = Book(book).record(restoration, costs=not no_costs, into=into, on=on)
    return console.answer(done, as_json=as_json)
