"""`orderbook import`: bring an existing list into a table of a book."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

import click

from orderbook.cli import console


@click.command(name="import")
@click.argument("book", type=click.Path(path_type=Path))
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--table", required=True, help="The table it goes into: Ledger, Needs, Orders, Drawer …")
@click.option("--map", "column_map", type=click.Path(path_type=Path), help="A column map (TOML).")
@click.option("--sheet", help="The sheet of a spreadsheet file; the first with anything in it if left out.")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
def command(book: Path, file: Path, table: str, column_map: Path | None, sheet: str | None, as_json: bool) -> int:
    """Add the rows of FILE (CSV, .xlsx, .ods) to a table of BOOK.

    Columns are known by their header in the book, or by the column map. Rows that are there already are not added
    again; a row with a cell that cannot be read stays out and is named.
    """
    from orderbook.book.import_ import import_

    done = import_(book, file, table, column_map=column_map, sheet=sheet)
    if as_json:
        console.say_json(asdict(done) | {"findings": [f.as_dict() for f in done.findings]})
        return console.status_of(done.findings)
    for header, key in done.columns.items():
        click.echo(f"{header} → {key.replace('_', ' ')}")
    if done.unused:
        click.echo(f"Not used: {', '.join(done.unused)}")
    if done.worked_out:
        click.echo(f"Worked out by the book itself: {', '.join(done.worked_out)}")
    for found in done.findings:
        click.echo(f"Stayed out: {found}")
    stayed_out = done.rows_in - done.rows_added - done.rows_there_already
    click.echo(
        f"\n{done.table}: {done.rows_in} rows read, {done.rows_added} added, {done.rows_there_already} there already, "
        f"{stayed_out} stayed out."
    )
    return console.status_of(done.findings)
