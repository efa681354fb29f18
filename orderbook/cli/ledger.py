"""`orderbook ledger`: what a restoration costs."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import click

from orderbook.cli import console
from orderbook.cli.day import on

if TYPE_CHECKING:
    from orderbook.records.accounts import Account, Sums


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
    from orderbook.book.ledger import ledger
    from orderbook.records.account_rows import account_as_dict

    found = ledger(book, restoration.upper(), on=on, export=export)
    if as_json:
        console.say_json(account_as_dict(found))
        return console.status_of(found.not_added)
    _say(found)
    if export:
        click.echo(f"\nWritten to {export}.")
    return console.status_of(found.not_added)


def _say(found: Account) -> None:
    from orderbook.reports.tables import TextColumn, table

    click.echo(f"{found.restoration}  {found.piece}\n")
    heads = ["estimate", "committed", "paid", "credits", "labour", "balance"]
    columns: list[TextColumn | str] = ["", *(TextColumn(f"{head}\n{found.currency}", "right") for head in heads)]
    rows = [_cells(found, name, sums) for name, sums in found.by_category.items()]
    rows.append(_cells(found, "all", found.total))
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
        click.echo(f"To come: {line.order} {line.supplier} {line.item}, {line.state}{day}{late}: {cost}")
    click.echo(f"\nRows added: {found.rows_added}. Rows not added: {len(found.not_added)}.")
    for trouble in found.not_added:
        click.echo(f"  {trouble}")


def _say_limits(found: Account) -> None:
    asked = found.total.committed + found.total.spent
    said = []
    if found.agreed is not None:
        said.append(f"agreed {found.money(found.agreed)}")
    if found.not_above is not None:
        over = f", which is {found.money(asked - found.not_above)} too much" if asked > found.not_above else ""
        said.append(f"not above {found.money(found.not_above)}{over}")
    if said:
        click.echo(f"\nCommitted, paid and worked: {found.money(asked)}; {'; '.join(said)}.")


def _cells(found: Account, name: str, sums: Sums) -> list[str]:
    amounts = (sums.estimate, sums.committed, sums.paid, sums.credit, sums.labour, sums.balance)
    return [name, *(found.money(amount).text if amount else "–" for amount in amounts)]


def _of_barrel(found: Account, name: str, sums: Sums) -> list[str]:
    """Lay out one barrel; without an estimate of its own it has no balance."""
    cells = _cells(found, name or "not of one barrel", sums)
    return cells if sums.estimate else [*cells[:-1], "–"]
