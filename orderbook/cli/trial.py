"""`orderbook trial`: note how a fitted spring did, and what to do next."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import click

from orderbook.cli import console
from orderbook.cli.day import on


@click.command(name="trial")
@click.argument("book", type=click.Path(path_type=Path))
@click.argument("spring", metavar="O-0031|D-0004")
@click.argument("verdict")
@click.option("--barrel", default="", help="The barrel, for a spring of the drawer: R-007-B1.")
@click.option("--clicks", type=float, help="Clicks of set-up given.")
@click.option("--stopped-turns", type=float, help="Turns it ran for, if it stopped: the most telling number there is.")
@click.option("--stopped-hours", type=float, help="Hours it ran for, if it stopped.")
@click.option("--rod", default="", help='Rod readings: "grams x arm: gives, rising".')
@click.option("--days", type=float, help="Days it ran for.")
@click.option("--note", default="", help="What was seen.")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
@on
def command(
    book: Path, spring: str, verdict: str, barrel: str, clicks: float | None, stopped_turns: float | None,
    stopped_hours: float | None, rod: str, days: float | None, note: str, as_json: bool, on: date,
) -> int:  # fmt: skip
    """Note how a spring did: too weak, never ran, stopped, ran well or too strong.

    The stages that waited for this verdict become due, or are dropped. A verdict of too weak may be friction: look at
    what is printed before ordering the next.
    """
    from orderbook.book.book import Book

    done = Book(book).trial(
        spring, verdict, barrel=barrel, clicks=clicks, stopped_turns=stopped_turns, stopped_hours=stopped_hours,
        rod=rod, days=days, note=note, on=on,
    )  # fmt: skip
    return console.answer(done, as_json=as_json)
