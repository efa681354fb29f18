"""`orderbook grade`: two or three springs to order, weakest first."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from orderbook.cli import console
from orderbook.cli.book import on_a_book
from orderbook.cli.choice import FILE, choice, chosen
from orderbook.cli.readings import readings


@click.command("grade", short_help="Two or three springs to order, weakest first.")
@click.argument("lists", metavar="FILE...", nargs=-1, type=FILE)
@readings
@on_a_book
@choice
@click.option(
    "--figure", type=FILE, metavar="FILE.png", help="Draw what is believed about the need (.png, .svg, .pdf)."
)
@click.option("--why", is_flag=True, help="Add the numbers behind the order: reasons, costs, what stays out and why.")
@click.option("--explain", is_flag=True, help="Add to the JSON all that recomputes the answer: belief, weights, costs.")
@console.with_locale
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
def command(
    lists: tuple[Path, ...],
    barrel_texts: dict[str, list[str]],
    figure: Path | None,
    why: bool,
    explain: bool,
    as_json: bool,
    **flags: Any,
) -> int:
    """Choose the two or three springs to order, so that the weakest that is strong enough is found at least cost.

    Give the barrel, the turns used between windings, and every spring that was tried in it with how it did.
    """
    grading = chosen("grade", lists, barrel_texts, flags)
    if figure is not None:
        grading.save_picture(figure)
    items = grading.considered.offer.catalogue.item
    return console.answer(grading, as_json=as_json or explain, explain=explain, why=why, keep=items)
