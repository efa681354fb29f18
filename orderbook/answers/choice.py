"""Rank springs and grade an order, from a barrel, lists and terms as a person in Python has them.

Lists are paths, data frames or what was read of them; suppliers, rates and the drawer are data frames, rows or files.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import fields
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypedDict, Unpack

from orderbook.answers.list_maps import as_suppliers_say
from orderbook.answers.side_tables import side_table, side_weights
from orderbook.answers.terms import labelled, options_of, readable
from orderbook.barrel import typed
from orderbook.barrel.barrel import Barrel, with_readings
from orderbook.barrel.words import MOVEMENTS
from orderbook.choosing.options import Options, SpringAtHand, Supplier, count_from
from orderbook.choosing.weights import weights_from_table
from orderbook.errors import error
from orderbook.measures.exchange import Rates
from orderbook.measures.given import flat, is_nothing, is_table
from orderbook.measures.lengths import number
from orderbook.measures.money import Money, minor_digits
from orderbook.records.books import books_from
from orderbook.records.rows import Row

if TYPE_CHECKING:
    from orderbook.catalogue import Catalogue, CatalogueReading
    from orderbook.choosing.considering import Considered
    from orderbook.choosing.grading import Grading
    from orderbook.choosing.long_lists import Candidates
    from orderbook.choosing.ranking import Ranking

SHORT = 10_000  # springs up to which each one that does not go in is kept to be told of
OF_LISTS = ("supplier", "column_map", "gauge", "sheet")
OF_THE_BARREL = ("end", "movement")
SIDE_TABLES = ("rates", "suppliers", "drawer")
OF_A_BOOK = (*SIDE_TABLES, "currency", *OF_LISTS)
"""ChoiceTerms that a book has itself: they do not go with one."""

Watch = Callable[[Sequence[Path]], AbstractContextManager[Callable[[int, int], None] | None]]


@contextmanager
def unwatched(files: Sequence[Path]) -> Iterator[None]:
    """Let lists be read without a word."""
    yield


class ChoiceTerms(TypedDict, total=False):
    """What may be said of a choice, by keyword; every part may be left out, and None or NaN is left out.

    >>> from orderbook import Barrel, ChoiceTerms, grade
    >>> from orderbook.locate import data_folder
    >>> said: ChoiceTerms = {"count": 2, "currency": "GBP", "end": "hole"}
    >>> grade(Barrel(15.6, 5.2, 3.1, used=3.5), data_folder("demo_catalog") / "supplier_west.csv", **said).currency
    'GBP'
    """

    count: int | str | None
    """Springs to order, 1 to 5; "auto": what pays, at most 3."""
    top: int
    """How many springs to rank."""
    need: float | None
    """What the movement needs, in per cent of the most this barrel can do; by practice unless given."""
    spread: float | None
    """How far the need may lie from that, 0.2 or 20 for 20 %."""
    weights: Any
    """What fitting, waiting, overpower, width and ends weigh, by name; a mapping or a TOML file."""
    currency: str | None
    """The money to reckon in."""
    rates: Any
    """Exchange rates (date, currency, rate, source): a data frame, rows, a CSV file, or `Rates`."""
    suppliers: Any
    """Terms (supplier, currency, postage, free_above, minimum_order, lead_days): a data frame, rows or a CSV file."""
    drawer: Any
    """Springs owned (label, width_mm, strength_mm, length_mm, price, currency): a data frame, rows or a CSV file."""
    must: str | Iterable[str]
    """Items that must be in the order."""
    never_from: str | Iterable[str]
    """Suppliers to leave out."""
    at_most: str | float | Decimal | Money | None
    """Most that this order may cost, postage included."""
    even_so: bool
    """Show an order although what was tried speaks against one."""
    end: str | None
    """The end the barrel asks for, such as hole; the barrel's own unless given."""
    movement: str | None
    """watch or clock; the barrel's own unless given."""
    supplier: str | None
    """Whose list it is, where the list does not say."""
    column_map: Any
    """What each heading of the list means: a TOML file or a `ColumnMap`."""
    gauge: Any
    """Gauge numbers to mm: a CSV file or the name of a shipped table."""
    sheet: str | None
    """Which sheet of a spreadsheet file."""
    progress: Watch | None
    """Called with lists that are files: a context in which they are read; its value is told bytes done and bytes."""


def grade(barrel: Barrel, lists: Any = (), **terms: Unpack[ChoiceTerms]) -> Grading:
    """Choose the two or three springs to order, weakest first, at the least expected cost over all rounds.

    Parameters: the barrel, with every spring tried in it; lists, a path or a data frame of a supplier's list, several
    of them, or what `read_catalogue` gave; terms, the keywords of `ChoiceTerms`.
    Returns: the order; `stages` is a data frame, `next_action` says what to do.
    Raises: OrderbookError naming the argument, the file and the row of what cannot be used; TypeError for a keyword
    that is none of `ChoiceTerms`.

    >>> import orderbook
    >>> from orderbook.locate import data_folder
    >>> barrel = orderbook.Barrel(bore=15.6, arbor=5.2, depth=3.1, used=3.5)
    >>> order = grade(barrel, data_folder("demo_catalog") / "supplier_north_watch.csv", count=2, currency="GBP")
    >>> order.stages.strength_mm.is_monotonic_increasing, len(order.stages)
    (True, 2)
    """
    from orderbook.choosing.grading import grading_of

    return grading_of(_considered(barrel, lists, terms))


def rank(barrel: Barrel, lists: Any = (), **terms: Unpack[ChoiceTerms]) -> Ranking:
    """Rank the springs of suppliers' lists: each by the cost of the best plan that begins with it.

    So rank 1 is stage 1 of the graded order, always. Parameters and errors as `grade`.

    >>> import orderbook
    >>> from orderbook.locate import data_folder
    >>> barrel = orderbook.Barrel(bore=15.6, arbor=5.2, depth=3.1, used=3.5)
    >>> rank(barrel, data_folder("demo_catalog") / "supplier_north_watch.csv", top=3).springs["rank"].tolist()
    [1, 2, 3]
    """
    from orderbook.choosing.ranking import ranking_of

    return ranking_of(_considered(barrel, lists, terms))


def _considered(barrel: Barrel, lists: Any, terms: ChoiceTerms) -> Considered:
    from orderbook.choosing.considering import consider

    given = given_terms(terms)
    named = {name: given.pop(name) for name in OF_THE_BARREL if name in given}
    ways = {name: given.pop(name) for name in OF_LISTS if name in given}
    watch: Watch = given.pop("progress", unwatched)
    chosen = options_from(given)
    ways = _ways(lists, ways, given.get("suppliers"))
    if not chosen.suppliers:  # no terms say the money of a supplier: prices that say none, or "$", are in ours
        ways.setdefault("currency", chosen.currency or None)
    barrel = with_readings(barrel, **barrel_terms(named)) if named else barrel
    return consider(barrel, _springs(lists, barrel, chosen, ways, watch), chosen)


def given_terms(terms: ChoiceTerms) -> dict[str, Any]:
    """Return the terms that say something.

    Raises: TypeError for one that is none of `ChoiceTerms`.
    """
    if unknown := [name for name in terms if name not in ChoiceTerms.__annotations__]:
        import difflib  # only wanted after a slip of the pen

        near = difflib.get_close_matches(unknown[0], ChoiceTerms.__annotations__, n=1)
        raise TypeError(f"there is no term {unknown[0]!r}" + (f"; did you mean {near[0]!r}?" if near else ""))
    return {name: value for name, value in terms.items() if not _says_nothing(value)}


def _says_nothing(value: Any) -> bool:
    return is_nothing(value) or (isinstance(value, (str, tuple, list)) and not value)


def barrel_terms(named: Mapping[str, Any]) -> dict[str, str]:
    """Return the terms that are readings of the barrel, read as its own are."""
    readers = {"end": typed.word, "movement": typed.one_of(*MOVEMENTS)}
    return {name: readers[name](name, value) or "" for name, value in named.items()}


def options_from(given: Mapping[str, Any]) -> Options:
    """Read terms of the order, with the tables and files they name.

    Raises: OrderbookError naming the argument, file and row; OSError for a file that cannot be opened.
    """
    known = plain_terms(given)
    named = {name: given[name] for name in SIDE_TABLES if name in given}
    read = {name: found for name, table in named.items() if (found := _read_already(name, table)) is not None}
    tables = {name.capitalize(): _rows(name, table) for name, table in named.items() if name not in read}
    books = options_of(readable(books_from(tables, currency=known.get("currency", ""))))
    known |= read | {name.lower(): getattr(books, name.lower()) for name in tables}
    return Options(**known)


def plain_terms(given: Mapping[str, Any]) -> dict[str, Any]:
    """Return the terms that need no table, as fields of `Options`.

    Raises: OrderbookError(count_not_sensible | number_not_read | weight_not_known | currency_not_known).
    """
    plain = [one.name for one in fields(Options) if type(one.default) in (bool, int)]
    found: dict[str, Any] = {name: given[name] for name in plain if name in given}
    if "count" in given:
        found["count"] = count_from(str(given["count"]))
    for name in ("need", "spread"):
        if name in given:
            found[name] = number(given[name], where=f"⟨{name}⟩")
    if "weights" in given:
        table, where = side_weights(given["weights"])
        found["weights"], found["weights_currency"] = weights_from_table(table, where=where)
    if "currency" in given:
        minor_digits(str(given["currency"]).strip(), where="⟨currency⟩")
        found["currency"] = str(given["currency"]).strip().upper()
    for name in ("must", "never_from"):
        if name in given:
            found[name] = tuple(str(one) for one in flat(given[name], "", where=f"⟨{name}⟩"))
    if "at_most" in given:
        found["at_most"] = str(given["at_most"])
    return found


def _read_already(name: str, given: Any) -> Any:
    """Return rates, suppliers or springs at hand that were made as such; None for a table that is still to be read."""
    if name == "rates":
        return given if isinstance(given, Rates) else None
    several = list(given.values()) if isinstance(given, Mapping) else given
    if not isinstance(several, (list, tuple)):
        return None
    if all(isinstance(one, Supplier) for one in several):
        return {one.name.casefold(): one for one in several}
    return tuple(several) if all(isinstance(one, SpringAtHand) for one in several) else None


def _rows(name: str, given: Any) -> tuple[Row, ...]:
    rows = side_table(name, given)
    if name != "drawer":
        return rows
    return tuple(Row(told, row.place) for told, row in zip(labelled(row.values for row in rows), rows, strict=True))


def _ways(lists: Any, ways: dict[str, Any], suppliers: Any) -> dict[str, Any]:
    """How a list is read, with what the supplier's row of a table that was handed over says of it."""
    if suppliers is None or not ways.get("supplier") or _read_already("suppliers", suppliers) is not None:
        return ways
    near = Path(suppliers).parent if isinstance(suppliers, (str, Path)) else None
    several = [lists] if isinstance(lists, (str, Path)) or is_table(lists) else list(lists)
    return as_suppliers_say(several, ways, side_table("suppliers", suppliers), near)


def _springs(
    lists: Any, barrel: Barrel, options: Options, ways: Mapping[str, Any], watch: Watch
) -> Catalogue | CatalogueReading | Candidates:
    """Read the lists: whole where they are short, else what of each piece can matter to the barrel."""
    from orderbook.catalogue import Catalogue, CatalogueReading, fit_in_one_go, read_catalogue, read_catalogue_chunks
    from orderbook.choosing.bench import bench_of
    from orderbook.choosing.long_lists import candidates, merged

    if isinstance(lists, (Catalogue, CatalogueReading)):
        return _sifted(lists, barrel, options)
    several = [lists] if isinstance(lists, (str, Path)) or is_table(lists) else list(lists)
    if not several and options.drawer:
        return Catalogue.concat([])
    if not several:
        raise error("flag_missing", where="⟨lists⟩", saw="no supplier's list")
    files = [Path(one) for one in several if isinstance(one, (str, Path))]
    with watch(files) as progress:
        if len(files) < len(several) or fit_in_one_go(files):
            return _sifted(read_catalogue(several, **ways), barrel, options)
        bench = bench_of(barrel)[0]
        pieces = read_catalogue_chunks(files, progress=progress, **ways)
        return merged(candidates(bench, piece, options.must) for piece in pieces)


def _sifted(
    read: Catalogue | CatalogueReading, barrel: Barrel, options: Options
) -> Catalogue | CatalogueReading | Candidates:
    from orderbook.catalogue import Catalogue
    from orderbook.choosing.long_lists import candidates

    springs = read if isinstance(read, Catalogue) else read.catalogue
    return read if len(springs) <= SHORT else candidates(barrel, read, options.must)
