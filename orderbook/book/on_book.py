"""Size, rank and grade a barrel of a book; with `write`, store the answers in it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Unpack

from orderbook.answers.choice import OF_A_BOOK, OF_THE_BARREL, ChoiceTerms, barrel_terms, given_terms, plain_terms
from orderbook.book.opened import opened
from orderbook.errors import error
from orderbook.records.identifiers import tidy
from orderbook.records.index import index
from orderbook.records.planning import on_their_way, waits_for_those

if TYPE_CHECKING:
    from orderbook.barrel.sizing import Sizing
    from orderbook.choosing.considering import Considered


def sizing_in(path: Path, barrel: str, *, write: bool = False) -> Sizing:
    """Return the spring of a barrel of a book.

    Raises: OrderbookError if there is no such barrel, or the book cannot be read (or, with `write`, written).
    """
    from orderbook.answers.answer import sized

    sizing = sized(opened(path).books, barrel)
    _stored(path, barrel, write)
    return sizing


def considered_in(path: Path, barrel: str, *, write: bool = False, **terms: Unpack[ChoiceTerms]) -> Considered:
    """Return all that ranking and grading of a barrel of a book share; `terms` outweigh the book's own.

    Raises: OrderbookError as `sizing_in`, if the book holds no spring that can be had, and for a term that the book has
    itself (flags_do_not_go_together).
    """
    from orderbook.answers.answer import considered

    given = given_terms(terms)
    if own := [name for name in OF_A_BOOK if name in given]:
        raise error("flags_do_not_go_together", where=f"⟨{own[0]}⟩", saw="a book has its own")
    said = barrel_terms({name: given.pop(name) for name in OF_THE_BARREL if name in given})
    books = opened(path).books
    found = considered(books, barrel, said, **plain_terms(given))
    _stored(path, barrel, write)
    row = index(books).barrels[tidy(barrel)]
    if coming := on_their_way(books, row.restoration, row.barrel):
        return replace(found, findings=(*found.findings, waits_for_those(books, row.barrel, coming)))
    return found


def _stored(path: Path, barrel: str, write: bool) -> None:
    if write:
        from orderbook.book.refresh import refresh

        refresh(path, [barrel])
