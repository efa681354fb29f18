"""Size, rank and grade a barrel of a book; with `write`, store the answers in it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from orderbook.book.questions import barrel_in, springs_in, wishes_in
from orderbook.errors import error
from orderbook.xlsx.reading import open_book

if TYPE_CHECKING:
    from orderbook.barrel.sizing import Sizing
    from orderbook.choosing.ranking import Considered


def sizing_in(path: Path, barrel: str, *, write: bool = False) -> Sizing:
    """Return the spring of a barrel of a book.

    Raises: OrderbookError if there is no such barrel, or the book cannot be read (or, with `write`, written).
    """
    from orderbook.barrel.sizing import size

    asked, found = barrel_in(open_book(path), barrel)
    sizing = size(asked, found)
    _stored(path, barrel, write)
    return sizing


def considered_in(path: Path, barrel: str, *, write: bool = False, **wishes: Any) -> Considered:
    """Return all that ranking and grading of a barrel of a book share; `wishes` outweigh the book's own tables.

    Raises: OrderbookError as `sizing_in`, and if the book's Catalogue holds no spring.
    """
    from orderbook.answers.at_hand import wishes_for
    from orderbook.choosing.ranking import consider
    from orderbook.records.books import books_from
    from orderbook.xlsx.record_rows import typed_rows

    book = open_book(path)
    asked, found = barrel_in(book, barrel)
    springs, said = springs_in(book)
    if not len(springs) and not book.rows("Drawer"):
        raise error("book_without_springs", where=f"{path}, table Catalogue", saw="no row")
    mine = wishes_for(books_from(typed_rows(book)), wishes_in(book, **wishes), barrel)
    considered = consider(asked, springs, mine, (*said, *found))
    _stored(path, barrel, write)
    return considered


def _stored(path: Path, barrel: str, write: bool) -> None:
    if write:
        from orderbook.book.refresh import refresh

        refresh(path, [barrel])
