"""The flags of choosing, shared by `rank` and `grade`."""

from __future__ import annotations

import csv
import io
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from orderbook.errors import error

if TYPE_CHECKING:
    from orderbook.catalogue import CatalogueReading
    from orderbook.verbs.barrels import Barrel
    from orderbook.verbs.long_lists import Candidates
    from orderbook.verbs.ranking import Considered
    from orderbook.verbs.wishes import Wishes

FILE = click.Path(path_type=Path)
SHORT = 10_000  # springs up to which each one that does not go in is kept to be told of
READING = ("supplier", "column_map", "gauge", "sheet")
FLAGS = (
    click.option("--supplier", metavar="NAME", help="Whose list it is, where the list does not say."),
    click.option(
        "--map", "column_map", type=FILE, metavar="MAP", help="What each heading means, as `catalogue --map` saves it."
    ),
    click.option("--gauge", metavar="TABLE.csv", help="Gauge numbers to mm, as in `orderbook catalogue`."),
    click.option("--sheet", metavar="NAME", help="Which sheet of a spreadsheet file."),
    click.option("--count", metavar="N", default="auto", help="Springs to order, 1 to 5; auto: what pays, at most 3."),
    click.option("--spread", type=float, metavar="0.2", help="How far the need may lie from its usual value."),
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


def wishes_from(flags: dict[str, Any], top: int = 10) -> Wishes:
    """Read the flags and the files they name.

    Raises: OrderbookError naming the flag, file and row; OSError for a file that cannot be opened.
    """
    from orderbook.money import Rates, minor_digits
    from orderbook.verbs.wishes import Wishes, count_from, drawer_from_rows, suppliers_from_rows, weights_from_table

    currency = (flags["currency"] or "").strip().upper()
    if currency:
        minor_digits(currency, where="--currency")
    rates, suppliers, drawer = (
        (str(flags[name]), _rows(flags[name], *needed)) if flags[name] else None for name, needed in TABLES.items()
    )
    weights = flags["weights"]
    weights, weighed_in = weights_from_table(_toml(weights), where=str(weights)) if weights else ({}, "")
    return Wishes(
        count=count_from(flags["count"]),
        top=top,
        spread=flags["spread"],
        weights=weights,
        weights_currency=weighed_in,
        currency=currency,
        rates=Rates.from_rows(currency, rates[1], where=rates[0]) if rates else None,
        suppliers=suppliers_from_rows(suppliers[1], where=suppliers[0]) if suppliers else {},
        drawer=drawer_from_rows(drawer[1], where=drawer[0]) if drawer else (),
        must=tuple(flags["must"]),
        never_from=tuple(flags["never_from"]),
        at_most=flags["at_most"] or "",
        even_so=flags["even_so"],
    )


def considered(
    lists: tuple[Path, ...], barrel_texts: dict[str, list[str]], flags: dict[str, Any], top: int = 10
) -> Considered:
    """Read the lists and the barrel and work out all that ranking and grading share."""
    from orderbook.cli.book import asked

    reading_flags = {name: flags.pop(name) for name in READING}
    book, barrel, write = (flags.pop(name) for name in ("book", "barrel", "write"))
    side_files = [flags[name] for name in ("rates", "suppliers", "drawer")]
    if asked(book, barrel, write, lists, barrel_texts, *side_files, *reading_flags.values()):
        return _of_a_book(book, barrel, write, flags, top)
    if not lists:
        raise error("flag_missing", where="FILE", saw="no supplier's list and no --book")
    from orderbook.verbs.barrels import barrel_from_texts
    from orderbook.verbs.ranking import consider

    wishes = wishes_from(flags, top)
    barrel, findings = barrel_from_texts(barrel_texts)
    return consider(barrel, _springs(lists, barrel, wishes, reading_flags), wishes, findings)


def _springs(
    lists: tuple[Path, ...], barrel: Barrel, wishes: Wishes, reading_flags: dict[str, Any]
) -> CatalogueReading | Candidates:
    """Read the lists: whole where they are short, else what of each piece can matter to the barrel."""
    from orderbook.catalogue import fit_in_one_go, read_catalogue, read_catalogue_chunks
    from orderbook.cli.progress import shown_reading
    from orderbook.verbs.bench import bench_of
    from orderbook.verbs.long_lists import candidates, merged

    if not wishes.suppliers:  # no terms say the money of a supplier: prices that say none, or "$", are in ours
        reading_flags = reading_flags | {"currency": wishes.currency or None}
    with shown_reading(lists) as progress:
        if fit_in_one_go(lists):
            reading = read_catalogue(lists, **reading_flags)
            return reading if len(reading.catalogue) <= SHORT else candidates(barrel, reading, wishes.must)
        bench = bench_of(barrel)[0]
        pieces = read_catalogue_chunks(lists, progress=progress, **reading_flags)
        return merged(candidates(bench, piece, wishes.must) for piece in pieces)


def _of_a_book(book: Path, barrel: str, write: bool, flags: dict[str, Any], top: int) -> Considered:
    from orderbook.desk.on_book import considered_in
    from orderbook.verbs.wishes import count_from

    told = {name: flags[name] for name in ("spread", "even_so")} | {"count": count_from(flags["count"])}
    told |= {name: tuple(flags[name]) for name in ("must", "never_from")} | {"at_most": flags["at_most"] or ""}
    return considered_in(book, barrel, write=write, top=top, **told)


TABLES = {
    "rates": ("date", "currency", "rate"),
    "suppliers": ("supplier", "currency"),
    "drawer": ("label", "width_mm", "strength_mm", "length_mm"),
}


def _rows(path: Path, *needed: str) -> list[dict[str, str]]:
    text = _text(path)
    head = text.partition("\n")[0]
    delimiter = max(",;\t", key=head.count)
    rows = csv.DictReader(io.StringIO(text), delimiter=delimiter, skipinitialspace=True)
    columns = [name.strip().casefold() for name in rows.fieldnames or []]
    if missing := [name for name in needed if name not in columns]:
        saw = f"columns {', '.join(columns) or 'none'}; no {', '.join(missing)}"
        raise error("side_file_columns", where=str(path), saw=saw)
    rows.fieldnames = columns
    return [{k: v or "" for k, v in row.items() if k} for row in rows if any(row.values())]


def _toml(path: Path) -> dict[str, Any]:
    try:
        return tomllib.loads(_text(path))
    except tomllib.TOMLDecodeError as problem:
        raise error("side_file_not_read", where=str(path), saw=str(problem)) from problem


def _text(path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as problem:
        raise error("side_file_not_read", where=str(path), saw="not text in UTF-8") from problem
