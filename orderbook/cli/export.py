"""`orderbook export`: every table of a book as CSV."""

from __future__ import annotations

from pathlib import Path

import click

from orderbook.cli import console


@click.command(name="export")
@click.argument("book", type=click.Path(path_type=Path))
@click.argument("folder", type=click.Path(file_okay=False, path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
def command(book: Path, folder: Path, as_json: bool) -> int:
    """Write every table of BOOK as a CSV file into FOLDER; the folder can be used as a book in turn."""
    from orderbook.book.export import export

    where, rows = export(book, folder)
    if as_json:
        console.say_json({"folder": str(where), "rows": rows, "findings": []})
        return 0
    for table, count in rows.items():
        click.echo(f"{table}: {count} rows")
    click.echo(f"Written into {where}.")
    return 0
