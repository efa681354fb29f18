"""`orderbook next`: what can be done now, and what waits for what."""

from __future__ import annotations

from datetime import date
from itertools import groupby
from pathlib import Path

import click

from orderbook.cli import console
from orderbook.cli.day import on

HEADS = {
    "do": "Can be done now",
    "decide": "To be decided",
    "order": "To be ordered",
    "try": "To be tried",
    "ask": "To ask the supplier about",
    "send back": "May go back",
    "look again": "To look at again",
    "waits for a delivery": "Waits for a delivery",
    "waits for a need": "Waits for other work",
    "waits": "Waits for a verdict or an event",
}


@click.command(name="next")
@click.argument("book", type=click.Path(path_type=Path))
@click.argument("restoration", default="")
@click.option("--json", "as_json", is_flag=True, help="Answer as JSON.")
@on
def command(book: Path, restoration: str, as_json: bool, on: date) -> int:
    """Say what can be done now, what waits for what, and what waits for a delivery.

    Of one RESTORATION (such as R-007), or of all that are not closed.
    """
    from orderbook.book.next_ import next_

    steps = next_(book, restoration.upper(), on=on)
    if as_json:
        console.say_json({"next": [console.fields_of(step) for step in steps], "findings": []})
        return 0
    if not steps:
        click.echo("Nothing is open.")
    for number, (kind, group) in enumerate(groupby(steps, key=lambda step: step.kind)):
        click.echo(("\n" if number else "") + HEADS[kind])
        for step in group:
            whose = f"{step.restoration}  " if step.restoration else ""
            click.echo(f"  {whose}{step.about}  {step.what}: {step.why}")
    return 0
