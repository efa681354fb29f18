"""`orderbook catalogue`: read a supplier's list and show what was understood."""

from __future__ import annotations

from pathlib import Path

import click

from orderbook.cli import console
from orderbook.cli.progress import shown_reading

PATH = click.Path(path_type=Path)
MAP_HELP = (
    "What each heading means (TOML): used if it is there, else written. Without it, LIST.map.toml beside the list."
)
GAUGE_HELP = "Gauge numbers to mm: a CSV file gauge,number,mm, or one of swg, bwg, awg, stubs_steel."


@click.command(name="catalogue", short_help="Read a supplier's list and show what was understood.")
@click.argument("lists", metavar="FILE...", nargs=-1, required=True, type=PATH)
@click.option("--supplier", metavar="NAME", help="Whose list it is, where the list does not say.")
@click.option("--currency", metavar="GBP", help="Currency of prices that do not say theirs.")
@click.option("--map", "map_file", metavar="MAP", type=PATH, help=MAP_HELP)
@click.option("--gauge", metavar="TABLE.csv", help=GAUGE_HELP)
@click.option(
    "--sheet", metavar="NAME", help="Which sheet of a spreadsheet file; else every visible one that holds a list."
)
@click.option("--words", metavar="WORDS.toml", help="Further words for headings, in the form of the shipped lists.")
@click.option("--into", metavar="FILE", type=PATH, help="Write the springs in mm as one tidy CSV, or into a book.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
def command(
    lists: tuple[Path, ...],
    supplier: str | None,
    currency: str | None,
    map_file: Path | None,
    gauge: str | None,
    sheet: str | None,
    words: str | None,
    into: Path | None,
    as_json: bool,
) -> int:
    """Read suppliers' lists of springs and show what was understood.

    CSV (any delimiter and encoding, .gz too), .xlsx, .xls, .ods and Parquet. Rows that cannot be used go to
    FILE.rejects.csv in this folder, with the reason of each. A list that leaves a question open is refused, and a map
    with the question is put beside it, to be answered.
    """
    from orderbook.book.lists import read_lists

    done = read_lists(
        lists, into=into, map_file=map_file, progress=shown_reading, every_spring=as_json, supplier=supplier,
        gauge=gauge, sheet=sheet, currency=currency, words=words,
    )  # fmt: skip
    return console.answer(done, as_json=as_json)
