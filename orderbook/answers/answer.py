"""The answer about one barrel of a book: what belongs, what can be had, what to order and what to do next.

One way for all who ask: the commands on a book, `refresh`, a verdict, the worksheet functions. What several of them
need is worked out once for a book as it stands.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from orderbook.answers.asked import barrel_of, springs_of
from orderbook.answers.terms import about_drawer, options_of
from orderbook.barrel.barrel import Barrel, with_readings
from orderbook.errors import error
from orderbook.records.books import Books

if TYPE_CHECKING:
    from orderbook.barrel.sizing import Sizing
    from orderbook.choosing.considering import Considered
    from orderbook.choosing.grading import Grading
    from orderbook.choosing.ranking import Ranking

Report = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Answer:
    """All that was worked out for one barrel."""

    barrel: str
    sizing: Sizing
    ranking: Ranking
    grading: Grading


def answer_about(books: Books, name: str) -> Answer:
    """Size, rank and grade one barrel of a book.

    Raises: OrderbookError as `considered`.
    """
    from orderbook.choosing.grading import grading_of
    from orderbook.choosing.ranking import ranking_of

    c = considered(books, name)
    return Answer(name, sized(books, name), ranking_of(c), grading_of(c))


def sized(books: Books, name: str) -> Sizing:
    """Return the spring of a barrel of a book.

    Raises: OrderbookError as `asked_barrel`.
    """
    from orderbook.barrel.sizing import size

    return size(asked_barrel(books, name))


def considered(books: Books, name: str, readings: Mapping[str, str] | None = None, **more: Any) -> Considered:
    """Return all that ranking and grading of a barrel of a book share.

    `readings` of the barrel, such as its end, outweigh the book's, and `more` its options.
    Raises: OrderbookError(book_without_springs), as `asked_barrel`, and for options that cannot be met.
    """
    return _considered(books, name, tuple(sorted((readings or {}).items())), tuple(sorted(more.items())))


@lru_cache(maxsize=8)
def _considered(
    books: Books, name: str, readings: tuple[tuple[str, str], ...], more: tuple[tuple[str, Any], ...]
) -> Considered:
    from orderbook.choosing.considering import consider

    barrel = asked_barrel(books, name)
    barrel = with_readings(barrel, **dict(readings)) if readings else barrel
    springs, said = springs_of(books)
    options = options_of(books, name, **({"top": TOP} | dict(more)))
    if not len(springs) and not options.drawer:
        raise error("book_without_springs", where="Catalogue", saw="no row")
    return consider(barrel, springs, options, (*said, *about_drawer(books)))


TOP = 12  # springs ranked where nothing else is asked


@lru_cache(maxsize=16)
def asked_barrel(books: Books, name: str) -> Barrel:
    """Return a barrel of a book, read once for a book as it stands.

    Raises: OrderbookError as `barrel_of`.
    """
    return barrel_of(books, name)
