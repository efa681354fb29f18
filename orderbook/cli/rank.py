"""`orderbook rank`: rank the springs of a list for one barrel."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from orderbook.cli import console
from orderbook.cli.book import on_a_book
from orderbook.cli.choice import FILE, choice, chosen
from orderbook.cli.readings import readings


@click.command("rank", short_help="Rank the springs of a list for one barrel.")
@click.argument("lists", metavar="FILE...", nargs=-1, type=FILE)
@readings
@on_a_book
@choice
@click.option("--top", type=int, default=10, metavar="N", help="How many springs to show.  [10]")
@click.option("--explain", is_flag=True, help="Add to the JSON all that recomputes the answer: belief, weights, costs.")
@console.with_locale
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
def command(
    lists: tuple[Path, ...],
    barrel_texts: dict[str, list[str]],
    top: int,
    explain: bool,
    as_json: bool,
    **flags: Any,
) -> int:
    """Rank the springs of suppliers' lists for one barrel.

    Each spring stands by the cost of the best plan that begins with it, so the first is stage 1 of `orderbook grade`.
    """
    ranking = chosen("rank", lists, barrel_texts, flags | {"top": top})
    items = ranking.considered.offer.catalogue.item
    return console.answer(ranking, as_json=as_json or explain, explain=explain, keep=items)
