"""What has been sent for a barrel so far, as its next graded order must know it."""

from __future__ import annotations

from dataclasses import replace

from orderbook.choosing.options import Owned, Wishes
from orderbook.records.books import Books
from orderbook.records.index import barrel_of, index
from orderbook.records.verdicts import last_trial


def wishes_for(books: Books, wishes: Wishes, barrel: str) -> Wishes:
    """Return the wishes for one barrel of a book.

    Springs that have come for it and were not tried count as the drawer's, each once. Where an ordered spring was
    tried in it already, another order costs the wait.
    """
    there = {own.label for own in wishes.drawer}
    hand = tuple(own for own in _come_and_not_tried(books, barrel) if own.label not in there)
    return replace(wishes, drawer=(*wishes.drawer, *hand), sent_before=wishes.sent_before or _was_sent(books, barrel))


def _was_sent(books: Books, barrel: str) -> bool:
    lines = index(books).orders
    wanted = barrel.strip().casefold()
    return any(t.verdict and t.order in lines and t.barrel.casefold() == wanted for t in books.trials)


def _come_and_not_tried(books: Books, barrel: str) -> tuple[Owned, ...]:
    """Return springs of received order lines under the numbers of their lines."""
    found = []
    for line in books.orders:
        sizes = (line.width_mm, line.strength_mm, line.length_mm)
        waits = line.state == "received" and barrel_of(books, line) == barrel and last_trial(books, line.order) is None
        if waits and all(sizes):
            width, strength, length = (float(size or 0) for size in sizes)
            found.append(Owned(line.order, width, strength, length, None, "new"))
    return tuple(found)
