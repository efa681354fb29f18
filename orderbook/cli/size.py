"""`orderbook size`: from readings of a barrel: the width, strength and length of its spring."""

from __future__ import annotations

from pathlib import Path

import click

from orderbook.cli import console
from orderbook.cli.book import asked, on_a_book
from orderbook.cli.readings import readings


@click.command("size", short_help="From readings of a barrel: the width, strength and length of its spring.")
@readings
@on_a_book
@click.option("--all", "everything", is_flag=True, help="Every quantity, and where its ± comes from.")
@click.option("--explain", is_flag=True, help="Add each equation, what was put in, and what makes up each ±.")
@console.with_locale
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
def command(
    barrel_texts: dict[str, list[str]],
    book: Path | None,
    barrel: str | None,
    write: bool,
    everything: bool,
    explain: bool,
    as_json: bool,
) -> int:
    """Work out the spring of a barrel, how well each number is known, and which reading to take again.

    Give bore and arbor at least. What is given fixes a quantity; what is not is worked out.

    \b
    orderbook size --bore 15.6 --arbor 5.2 --depth 3.1 --used 3.5
    orderbook size --bore "34.02; 34.00" --arbor 11.1 --depth 20.5 --hours "8 days" --wheels "80/12 72/9"
    """
    if asked(book, barrel, write, barrel_texts) and book and barrel:
        from orderbook.book.book import Book

        sizing = Book(book).size(barrel, write=write)
    else:
        from orderbook.barrel.barrel import barrel_from_texts
        from orderbook.barrel.sizing import size

        sizing = size(barrel_from_texts(barrel_texts)[0])
    return console.answer(sizing, as_json=as_json, explain=explain, everything=everything)
