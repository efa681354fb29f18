"""`orderbook learn`: what one's closed barrels teach about the next need."""

from __future__ import annotations

from pathlib import Path

import click

from orderbook.cli import console

FILE = click.Path(path_type=Path)


@click.command(name="learn")
@click.argument("books", metavar="BOOK...", nargs=-1, required=True, type=FILE)
@click.option(
    "--with", "with_pieces", multiple=True, type=FILE, metavar="PIECES.csv", help="Others' pieces; may be repeated."
)
@click.option(
    "--into", type=click.Path(dir_okay=False, path_type=Path), metavar="PIECES.csv", help="Write your pieces to share."
)
@click.option(
    "--start",
    type=click.Choice(["learned", "practice"]),
    default="learned",
    help="practice: take what was learned out of the book again.",
)
@click.option("--figure", type=FILE, metavar="FILE.png", help="Draw groups and pieces (.png, .svg, .pdf).")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
def command(
    books: tuple[Path, ...],
    with_pieces: tuple[Path, ...],
    into: Path | None,
    start: str,
    figure: Path | None,
    as_json: bool,
) -> int:
    """Learn from the closed barrels of your books what movements of each group need.

    Each barrel keeps where its need is to be expected, worked out from all pieces but its own; its answers begin there.
    """
    from orderbook.book.book import Book

    first, *more = books
    found = Book(first).learn(*more, with_pieces=with_pieces, into=into, start=start)
    if figure is not None:
        found.save_picture(figure)
    return console.answer(found, as_json=as_json)
