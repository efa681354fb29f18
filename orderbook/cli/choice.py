"""The flags of choosing, shared by `rank` and `grade`."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import click

FILE = click.Path(path_type=Path)
FLAGS = (
    click.option("--supplier", metavar="NAME", help="Whose list it is, where the list does not say."),
    click.option(
        "--map", "column_map", type=FILE, metavar="MAP", help="What each heading means, as `catalogue --map` saves it."
    ),
    click.option("--gauge", metavar="TABLE.csv", help="Gauge numbers to mm, as in `orderbook catalogue`."),
    click.option("--sheet", metavar="NAME", help="Which sheet of a spreadsheet file."),
    click.option("--count", metavar="N", default="auto", help="Springs to order, 1 to 5; auto: what pays, at most 3."),
    click.option("--need", type=float, metavar="65", help="What the movement needs, in %; else by practice."),
    click.option("--spread", type=float, metavar="25", help="How far the need may lie from that, in %."),
    click.option("--start", metavar="practice", help="practice: leave aside what your own pieces taught."),
    click.option("--weights", type=FILE, metavar="FILE.toml", help="What fitting, waiting and overpower weigh."),
    click.option("--currency", metavar="GBP", help="The money to reckon in."),
    click.option("--rates", type=FILE, metavar="FILE.csv", help="Exchange rates: date,currency,rate,source."),
    click.option("--suppliers", type=FILE, metavar="FILE.csv", help="Postage and lead days of each supplier."),
    click.option("--drawer", type=FILE, metavar="FILE.csv", help="Springs you own already."),
    click.option("--must", multiple=True, metavar="ITEM", help="An item that must be in the order; may be repeated."),
    click.option("--never-from", multiple=True, metavar="SUPPLIER", help="A supplier to leave out; may be repeated."),
    click.option("--at-most", metavar="MONEY", help="Most that this order may cost, postage included."),
    click.option("--even-so", is_flag=True, help="Show an order although what was tried speaks against one."),
)


def choice(command: Callable[..., Any]) -> Callable[..., Any]:
    """Give a command the flags of choosing."""
    for flag in reversed(FLAGS):
        command = flag(command)
    return command


def chosen(verb: str, lists: tuple[Path, ...], barrel_texts: dict[str, list[str]], flags: dict[str, Any]) -> Any:
    """Rank or grade, from a book or from lists and readings."""
    import orderbook
    from orderbook.answers.choice import OF_A_BOOK
    from orderbook.barrel.barrel import barrel_from_texts
    from orderbook.cli.book import asked
    from orderbook.cli.progress import shown_reading

    book, barrel, write = (flags.pop(name) for name in ("book", "barrel", "write"))
    if asked(book, barrel, write, lists, barrel_texts, *(flags[name] for name in OF_A_BOOK if name in flags)):
        return getattr(orderbook.Book(book), verb)(barrel, write=write, **flags)
    return getattr(orderbook, verb)(barrel_from_texts(barrel_texts)[0], lists, progress=shown_reading, **flags)
