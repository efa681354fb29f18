"""The sum an owner set: no order takes a piece above it without a new word, and the word is kept with its day."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from orderbook.errors import Finding, finding
from orderbook.measures.money import Money
from orderbook.records.accounts import Account, account
from orderbook.records.books import Books
from orderbook.records.index import index
from orderbook.records.rows import Append


@dataclass(frozen=True, slots=True)
class Over:
    """A piece that an order takes above its limit: what it asks now and what it is to ask."""

    restoration: str
    before: Money
    after: Money
    limit: Money
    finding: Finding


def asked(found: Account) -> int:
    """Return what a piece asks of its owner: committed, paid less credited, and worked."""
    return found.total.committed + found.total.spent


def over_the_limit(before: Books, after: Books, restorations: Iterable[str]) -> tuple[Over, ...]:
    """Return the pieces that would be above *Not above* after a change that makes them dearer."""
    found = []
    for name in restorations:
        piece = index(before).restorations.get(name)
        if piece is None:
            continue
        first, then = (account(books, name, on=date.max) for books in (before, after))
        if then.not_above is not None and asked(then) > then.not_above and asked(then) > asked(first):
            was, now, limit = (then.money(minor) for minor in (asked(first), asked(then), then.not_above))
            saw = f"{name} asks {was} now and {now - was} more with this order: {now}, and not above {limit} was agreed"
            where = piece.row.place.of("not_above")
            found.append(Over(name, was, now, limit, finding("above_limit", where=where, saw=saw)))
    return tuple(found)


def notes_of_agreement(over: Sequence[Over], lines: Sequence[str], words: str, on: date) -> tuple[Append, ...]:
    """Return the rows of Notes that keep the owner's word for going above the sum agreed."""
    return tuple(
        Append(
            "Notes",
            {
                "restoration": one.restoration,
                "date": on,
                "heading": "change agreed",
                "said": f"{', '.join(lines)}: {one.after} in all, above {one.limit}. {words}",
            },
        )
        for one in over
    )
