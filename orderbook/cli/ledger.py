"""`orderbook ledger`: what a restoration costs, or all of them over a span of days."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from orderbook.cli import console
from orderbook.cli.day import a_day, on

if TYPE_CHECKING:
    from orderbook.errors import Finding
    from orderbook.records.accounts import Account, Sums
    from orderbook.records.totals import Totals

HEADS = ("estimate", "committed", "paid", "credits", "labour", "balance")


@click.command(name="ledger")
@click.argument("book", type=click.Path(path_type=Path))
@click.argument("restoration", default="")
@click.option("--from", "first", metavar="DATE", callback=a_day, help="All pieces: from this day on.")
@click.option("--to", "last", metavar="DATE", callback=a_day, help="All pieces: until this day, the day itself too.")
@click.option("--export", type=click.Path(dir_okay=False, path_type=Path), help="FILE.csv or FILE.beancount to write.")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
@on
def command(
    book: Path, restoration: str, first: date | None, last: date | None, export: Path | None, as_json: bool, on: date
) -> int:
    """Add up a restoration: estimate, committed, paid, credits and labour, by category and by barrel.

    Without a RESTORATION: all pieces, by piece, supplier and category, over a span of days where one is given. Rows
    that cannot be added are listed below the total, each with its cell and its cure.
    """
    if not restoration:
        return _all(book, first, last, export, as_json, on)
    from orderbook.book.ledger import ledger
    from orderbook.records.account_rows import account_as_dict

    if first or last:
        raise click.BadOptionUsage("--from", "--from and --to go with all pieces: leave the piece out.")
    found = ledger(book, restoration.upper(), on=on, export=export)
    if as_json:
        console.say_json(account_as_dict(found))
        return console.status_of(found.not_added)
    _say(found)
    _say_export(export)
    return console.status_of(found.not_added)


def _all(book: Path, first: date | None, last: date | None, export: Path | None, as_json: bool, on: date) -> int:
    from orderbook.book.ledger import all_pieces
    from orderbook.records.account_rows import totals_as_dict

    found = all_pieces(book, first=first, last=last, on=on, export=export)
    if as_json:
        console.say_json(totals_as_dict(found))
        return console.status_of(found.not_added)
    _say_totals(found)
    _say_export(export)
    return console.status_of(found.not_added)


def _say_export(export: Path | None) -> None:
    if export:
        click.echo(f"\nWritten to {export}.")


def _say_totals(found: Totals) -> None:
    from orderbook.reports.tables import TextColumn, table

    click.echo(f"All pieces, {found.span}\n")
    columns = [TextColumn(f"{head}\n{found.currency}", "right") for head in HEADS[:-1]]

    def shown(title: str, groups: Mapping[str, Sums], *, total: bool) -> None:
        rows = [[name, *_amounts(found, sums)[:-1]] for name, sums in groups.items()]
        rows += [["all", *_amounts(found, found.total)[:-1]]] if total else []
        click.echo(table([title, *columns], rows, bold_row=len(rows) - 1 if total else None) + "\n")

    shown("by piece", found.by_piece, total=True)
    shown("by supplier", found.by_supplier, total=False)
    shown("by category", found.by_category, total=False)
    click.echo(f"Labour done: {found.labour_hours.normalize():f} h.")
    click.echo(f"Paid to suppliers: {found.money(found.paid_to_suppliers)}.")
    if found.into_drawer or found.out_of_drawer or found.drawer_then:
        moved = f"{found.money(found.into_drawer)} went in, {found.money(found.out_of_drawer)} came out"
        when = f"by {found.span.last}" if found.span.last else "now"
        click.echo(f"Springs through the drawer: {moved}; in it {when}: {found.money(found.drawer_then)}.")
    if found.from_own_stock:
        click.echo(f"Springs of our own stock from before the book: {found.money(found.from_own_stock)}.")
    _say_left_out(found.rows_added, found.not_added)


def _say(found: Account) -> None:
    from orderbook.reports.tables import TextColumn, table

    click.echo(f"{found.restoration}  {found.piece}\n")
    columns: list[TextColumn | str] = ["", *(TextColumn(f"{head}\n{found.currency}", "right") for head in HEADS)]
    rows = [[name, *_amounts(found, sums)] for name, sums in found.by_category.items()]
    rows.append(["all", *_amounts(found, found.total)])
    click.echo(table(columns, rows, bold_row=len(rows) - 1))
    if found.labour_hours:
        click.echo(f"\nLabour done: {found.labour_hours.normalize():f} h.")
    if any(found.by_barrel):
        click.echo("")
        barrels = [_of_barrel(found, name, sums) for name, sums in found.by_barrel.items()]
        click.echo(table(["by barrel", *columns[1:]], barrels))
    _say_limits(found)
    for expected in found.to_come:
        cost = "no price" if expected.cost is None else str(found.money(expected.cost))
        late = f", {expected.late_days} days late" if expected.late_days else ""
        day = f", expected {expected.line.expected}" if expected.line.expected else ""
        line = expected.line
        rest = "" if line.state in ("planned", "ordered") else f", {expected.pieces} still due"
        click.echo(f"To come: {line.order} {line.supplier} {line.item}, {line.state}{rest}{day}{late}: {cost}")
    _say_left_out(found.rows_added, found.not_added)


def _say_left_out(added: int, not_added: tuple[Finding, ...]) -> None:
    click.echo(f"\nRows added: {added}. Rows not added: {len(not_added)}.")
    for trouble in not_added:
        click.echo(f"  {trouble}")


def _say_limits(found: Account) -> None:
    asked = found.total.committed + found.total.spent
    said = []
    if found.agreed is not None and found.agreed != found.total.estimate:
        said.append(f"agreed {found.money(found.agreed)}, by category {found.money(found.total.estimate)}")
    elif found.total.estimate:
        said.append(f"estimate {found.money(found.total.estimate)}")
    if found.not_above is not None:
        over = f", which is {found.money(asked - found.not_above)} too much" if asked > found.not_above else ""
        said.append(f"not above {found.money(found.not_above)}{over}")
    if said:
        click.echo(f"\nCommitted, paid and worked: {found.money(asked)}; {'; '.join(said)}.")


def _amounts(found: Account | Totals, sums: Sums) -> list[str]:
    amounts = (sums.estimate, sums.committed, sums.paid, sums.credit, sums.labour, sums.balance)
    return [found.money(amount).text if amount else "–" for amount in amounts]


def _of_barrel(found: Account, name: str, sums: Sums) -> list[str]:
    """Lay out one barrel; without an estimate of its own it has no balance."""
    cells = [name or "not of one barrel", *_amounts(found, sums)]
    return cells if sums.estimate else [*cells[:-1], "–"]
