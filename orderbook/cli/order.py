"""`orderbook order`: make the order sheets of a restoration, or mark order lines."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from orderbook.cli import console
from orderbook.cli.day import on

STATES = ("ordered", "received", "fitted", "drawer", "returned", "lost", "cancelled")


@click.command(name="order")
@click.argument("book", type=click.Path(path_type=Path))
@click.argument("restoration", default="", metavar="[PIECE|PARCEL]")
@click.argument("lines", nargs=-1)
@click.option(
    "--to", default="", metavar="SUPPLIER", help="The whole parcel to one supplier, over all pieces that are open."
)
@click.option("--mark", type=click.Choice(STATES), help="Mark LINES (such as O-0031) with what became of them.")
@click.option("--pieces", type=int, help="How many pieces of the line came, went back or will not come, if not all.")
@click.option("--wrong", default="", metavar="TEXT", help="What is wrong with what came, with --mark received.")
@click.option("--agreed", default="", metavar="TEXT", help="The owner's word for going above the sum in Not above.")
@click.option("--again", is_flag=True, help="Plan LINES once more: lost, cancelled, wrong or never come.")
@click.option("--stages", type=click.Path(path_type=Path), help="A graded order to plan first: FILE from grade --json.")
@click.option("--barrel", default="", help="The barrel that --stages is for, such as R-007-B1.")
@click.option("--together", is_flag=True, help="Plan every stage as due now: one parcel, one wait.")
@click.option(
    "--into",
    type=click.Path(file_okay=False, path_type=Path),
    help="Write the sheets as text, CSV and a page to print; what else is in the folder stays.",
)
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
@on
def command(
    book: Path, restoration: str, lines: tuple[str, ...], to: str, mark: str | None, pieces: int | None, wrong: str,
    agreed: str, again: bool, stages: Path | None, barrel: str, together: bool, into: Path | None, as_json: bool,
    on: date,
) -> int:  # fmt: skip
    """Plan the stages of a graded order, and make the order sheet of each supplier.

    Of one PIECE (such as R-007), of a PARCEL that went out (such as P-0007), or --to a supplier over all pieces. Only
    what is due stands on a sheet: later stages wait for the verdict on the one before. With --mark the lines named are
    marked, and the ledger, the drawer and the later stages follow; without lines, `--mark ordered` means all that are
    due.
    """
    from orderbook.book.book import Book

    done = Book(book).order(
        restoration, *lines, to=to, mark=mark, pieces=pieces, wrong=wrong, agreed=agreed, again=again, stages=stages,
        barrel=barrel, together=together, into=into, on=on,
    )  # fmt: skip
    return console.answer(done, as_json=as_json)
