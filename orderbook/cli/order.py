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

STATES = ("ordered", "received", "fitted", "drawer", "returned", "lost", "cancelled")


@click.command(name="order")
@click.argument("book", type=click.Path(path_type=Path))
@click.argument("names", nargs=-1, metavar="[PIECE|PARCEL] [LINES]...")
@click.option("--to", metavar="SUPPLIER", help="The whole parcel to one supplier, over all pieces that are open.")
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
    book: Path, names: tuple[str, ...], to: str | None, mark: str | None, pieces: int | None, wrong: str, agreed: str,
    again: bool, stages: Path | None, barrel: str, together: bool, into: Path | None, as_json: bool, on: date,
) -> int:  # fmt: skip
    """Plan the stages of a graded order, and make the order sheet of each supplier.

    Of one PIECE (such as R-007), of a PARCEL that went out (such as P-0007), or --to a supplier over all pieces. Only
    what is due stands on a sheet: later stages wait for the verdict on the one before. With --mark the lines named are
    marked, and the ledger, the drawer and the later stages follow; without lines, `--mark ordered` means all that are
    due.
    """
    if not to and not names:
        raise error("order_of_what", where="PIECE", saw="no piece, parcel or supplier")
    name, lines = ("", names) if to else (names[0].upper(), names[1:])
    if pieces is not None and not mark:
        raise error("pieces_not_possible", where="--pieces", saw="no --mark")
    done = _done(book, name, to, lines, mark, pieces, wrong, agreed, again, stages, barrel, together, on)
    if into and done.sheets:
        from orderbook.book.order import write_sheets

        write_sheets(done.sheets, into, on=on, whose=to or name)
    if as_json:
        console.say_json(_as_dict(done))
    else:
        _say(done, name, to, bool(mark or again), on, into)
    return console.status_of(done.findings)


def _done(
    book: Path, name: str, to: str | None, lines: tuple[str, ...], mark: str | None, pieces: int | None, wrong: str,
    agreed: str, again: bool, stages: Path | None, barrel: str, together: bool, on: date,
) -> Ordered:  # fmt: skip
    from orderbook.book import order as desk
    from orderbook.book.graded import graded_order

    if again:
        return desk.order_again(book, name, lines, on=on)
    if mark and to:
        return desk.mark_parcel(book, to, mark, lines, on=on, agreed=agreed, wrong=wrong, pieces=pieces)
    if mark:
        return desk.mark(book, name, mark, lines, on=on, pieces=pieces, wrong=wrong, agreed=agreed)
    if to:
        return desk.parcel(book, to, on=on)
    if desk.is_parcel(name):
        return desk.parcel_sent(book, name)
    graded = [graded_order(stages, barrel)] if stages else []
    return desk.order(book, name, on=on, stages=graded, together=together)


def _as_dict(done: Ordered) -> dict[str, Any]:
    from orderbook.reports.orders import as_dict

    return {
        "sheets": [as_dict(sheet) for sheet in done.sheets],
        "waiting": [{"order": line.order, "why": why} for line, why in done.waiting],
        "changes": len(done.changes),
        "findings": [f.as_dict() for f in done.findings],
    }


def _say(done: Ordered, name: str, to: str | None, marked: bool, on: date, into: Path | None) -> None:
    from orderbook.records.nextsteps import named
    from orderbook.reports.changes import in_words
    from orderbook.reports.orders import as_text

    for words in in_words(done.changes):
        click.echo(words)
    for sheet in done.sheets:
        click.echo(("\n" if done.changes or sheet is not done.sheets[0] else "") + as_text(sheet, on=on))
        for said in sheet.cautions:
            click.echo("\n" + click.wrap_text(f"Caution: {said}", width=100))
    if not marked and not done.sheets:
        click.echo(f"Nothing is due at {to}." if to else f"Nothing of {name} is due to be ordered.")
    for line, why in done.waiting:
        click.echo(f"\nNot on a sheet: {line.order}, {named(line)}: waits {why}." if not marked else
                   f"{line.order} waits {why}.")  # fmt: skip
    if into and done.sheets:
        click.echo(f"\nWritten into {into}.")
    for found in done.findings:
        click.echo(f"{found.severity.capitalize()}: {found}")
    due = [x.line.order for sheet in done.sheets for x in sheet.lines if x.line.state == "planned"]
    if not marked and due:
        what = f'--to "{to}"' if to else f"{name} {' '.join(due)}"
        click.echo(f"\nWhen it has gone out: orderbook order BOOK {what} --mark ordered")
