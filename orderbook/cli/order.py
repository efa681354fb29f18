"""`orderbook order`: order sheets by supplier, and marks on order lines."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from orderbook.cli import console
from orderbook.cli.day import on
from orderbook.errors import error

if TYPE_CHECKING:
    from orderbook.book.order import Ordered

STATES = ("ordered", "received", "fitted", "drawer", "returned", "cancelled")


@click.command(name="order")
@click.argument("book", type=click.Path(path_type=Path))
@click.argument("restoration")
@click.argument("lines", nargs=-1)
@click.option("--mark", type=click.Choice(STATES), help="Mark LINES (such as O-0031) with what became of them.")
@click.option("--pieces", type=int, help="How many pieces of the line were received or returned, if not all.")
@click.option("--stages", type=click.Path(path_type=Path), help="A graded order to plan first: FILE from grade --json.")
@click.option("--barrel", default="", help="The barrel that --stages is for, such as R-007-B1.")
@click.option("--together", is_flag=True, help="Plan every stage as due now: one parcel, one wait.")
@click.option(
    "--into",
    type=click.Path(file_okay=False, path_type=Path),
    help="Write the sheets as text, CSV and a page to print.",
)
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
@on
def command(
    book: Path, restoration: str, lines: tuple[str, ...], mark: str | None, pieces: int | None, stages: Path | None,
    barrel: str, together: bool, into: Path | None, as_json: bool, on: date,
) -> int:  # fmt: skip
    """Plan the stages of a graded order, and make the order sheet of each supplier.

    Only what is due stands on a sheet: later stages wait for the verdict on the one before. With --mark the lines
    named are marked, and the ledger, the drawer and the later stages follow; without lines, `--mark ordered` means
    all that are due.
    """
    from orderbook.book import order as desk
    from orderbook.book.graded import graded_order

    name = restoration.upper()
    if pieces is not None and not mark:
        raise error("pieces_not_possible", where="--pieces", saw="no --mark")
    if mark:
        done = desk.mark(book, name, mark, lines, on=on, pieces=pieces)
    else:
        graded = [graded_order(stages, barrel)] if stages else []
        done = desk.order(book, name, on=on, stages=graded, together=together)
    if into and done.sheets:
        desk.write_sheets(done.sheets, into, on=on)
    if as_json:
        console.say_json(_as_dict(done))
    else:
        _say(done, name, mark, on, into)
    return console.status_of(done.findings)


def _as_dict(done: Ordered) -> dict[str, Any]:
    from orderbook.reports.orders import as_dict

    return {
        "sheets": [as_dict(sheet) for sheet in done.sheets],
        "waiting": [{"order": line.order, "why": why} for line, why in done.waiting],
        "changes": len(done.changes),
        "findings": [f.as_dict() for f in done.findings],
    }


def _say(done: Ordered, name: str, mark: str | None, on: date, into: Path | None) -> None:
    from orderbook.records.nextsteps import named
    from orderbook.reports.changes import in_words
    from orderbook.reports.orders import as_text

    for words in in_words(done.changes):
        click.echo(words)
    for sheet in done.sheets:
        click.echo(("\n" if done.changes or sheet is not done.sheets[0] else "") + as_text(sheet, on=on))
        for said in sheet.cautions:
            click.echo("\n" + click.wrap_text(f"Caution: {said}", width=100))
    if not mark and not done.sheets:
        click.echo(f"Nothing of {name} is due to be ordered.")
    for line, why in done.waiting:
        click.echo(f"\nNot on a sheet: {line.order}, {named(line)}: waits {why}." if not mark else
                   f"{line.order} waits {why}.")  # fmt: skip
    if into and done.sheets:
        click.echo(f"\nWritten into {into}.")
    for found in done.findings:
        click.echo(f"{found.severity.capitalize()}: {found}")
    if not mark and done.sheets:
        lines = " ".join(x.line.order for sheet in done.sheets for x in sheet.lines)
        click.echo(f"\nWhen it has gone out: orderbook order BOOK {name} {lines} --mark ordered")
