"""`orderbook record`: the restoration record as pages to print, and an estimate before it."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from orderbook.cli import console
from orderbook.cli.day import on


@click.command(name="record")
@click.argument("book", type=click.Path(path_type=Path))
@click.argument("restoration")
@click.option("--only", type=click.Choice(("owner", "file")), help="One copy: the owner's, or the one for the file.")
@click.option("--no-costs", is_flag=True, help="Leave prices, sums and hours out of every copy.")
@click.option("--owner-costs", is_flag=True, help="Show sums and hours on the owner's copy too.")
@click.option("--estimate", is_flag=True, help="The estimate for the owner in place of the record.")
@click.option(
    "--into",
    type=click.Path(file_okay=False, path_type=Path),
    help="The folder to write into; what else is in it stays.",
)
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
@on
def command(
    book: Path, restoration: str, only: str | None, no_costs: bool, owner_costs: bool, estimate: bool,
    into: Path | None, as_json: bool, on: date,
) -> int:  # fmt: skip
    """Write the story of a restoration: as found, agreed, decided, tried, done, and how to care for it.

    Two copies: one for the owner, without suppliers, and one for the file that holds everything. Each is one HTML file
    that needs nothing else, and a PDF of it where the optional part for it is installed. Photographs come from the
    folder beside the book: clocks-photographs beside clocks.xlsx.
    """
    from orderbook.book.book import Book

    done = Book(book).record(
        restoration, only=only, costs=not no_costs, owner_costs=owner_costs, estimate=estimate, into=into, on=on
    )
    return console.answer(done, as_json=as_json)
