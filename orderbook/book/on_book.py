"""Size, rank and grade a barrel of a book; with `write`, store the answers in it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from orderbook.book.opened import opened

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


def considered_in(path: Path, barrel: str, *, write: bool = False, **options: Any) -> Considered:
    """Return all that ranking and grading of a barrel of a book share; `options` outweigh the book's own tables.

    Raises: OrderbookError as `sizing_in`, and if the book holds no spring that can be had.
    """
    from orderbook.answers.answer import considered

    found = considered(opened(path).books, barrel, **options)
    _stored(path, barrel, write)
    return found


def _stored(path: Path, barrel: str, write: bool) -> None:
    if write:
        from orderbook.book.refresh import refresh

        refresh(path, [barrel])
