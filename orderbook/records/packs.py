"""Pieces wanted, whole packs bought, pieces that come: a price is the price of a pack, and no pack is opened for us.

Springs are often sold by the pack only (common practice, no source). What a pack holds beyond what was wanted goes to
the drawer.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from itertools import combinations

from orderbook.records.books import Books
from orderbook.records.index import index
from orderbook.records.states import PAID
from orderbook.records.tables import DrawerSpring, OrderLine
from orderbook.records.verdicts import last_trial, side_of


def pieces_wanted(line: OrderLine) -> int:
    """Return how many pieces a line asks for; one, where no quantity is given."""
    return 1 if line.qty is None else line.qty


def in_a_pack(line: OrderLine) -> int:
    """Return how many pieces a pack holds; one, where the line says nothing."""
    return max(line.pack or 1, 1)


def packs_bought(line: OrderLine) -> int:
    """Return the fewest whole packs that hold the pieces wanted.

    packs = ⌈wanted / in a pack⌉

    >>> packs_bought(OrderLine(qty=13, pack=12)), packs_bought(OrderLine(qty=12, pack=12)), packs_bought(OrderLine())
    (2, 1, 1)
    """
    return -(-pieces_wanted(line) // in_a_pack(line))


def pieces_bought(line: OrderLine) -> int:
    """Return how many pieces the packs of a line hold.

    >>> pieces_bought(OrderLine(qty=13, pack=12))
    24
    """
    return packs_bought(line) * in_a_pack(line)


def pieces_in_hand(line: OrderLine) -> int:
    """Return how many pieces of a line are here: those that came, less those that went back."""
    if line.state not in PAID:
        return 0
    came = pieces_bought(line) if line.qty_received is None else line.qty_received
    return max(came - pieces_returned(line), 0)


def pieces_returned(line: OrderLine) -> int:
    """Return how many pieces of a line went back: all, where it is returned and no number stands there."""
    if line.qty_returned is not None:
        return line.qty_returned
    came = pieces_bought(line) if line.qty_received is None else line.qty_received
    return came if line.state == "returned" else 0


def pieces_in_drawer(books: Books, line: OrderLine) -> int:
    """Return how many pieces of a line belong in the drawer.

    All that are in hand where the line is in drawer; else what is over of those wanted. A piece of the drawer that ran
    well in a barrel is in that barrel.
    """
    over = pieces_in_hand(line) - (0 if line.state == "in drawer" else max(pieces_wanted(line), 0))
    return max(over - sum(fitted_from(books, spring) for spring in index(books).drawer_from[line.order]), 0)


def fitted_from(books: Books, spring: DrawerSpring) -> int:
    """Return in how many barrels a piece of a row of the drawer was kept."""
    last = last_trial(books, spring.drawer)
    kept = {t.barrel for t in index(books).trials_with[spring.drawer] if side_of(t.verdict) == "kept"}
    gone = {last.barrel} if last and side_of(last.verdict) != "kept" else set()
    return len(kept - gone)


def in_words(line: OrderLine) -> str:
    """Say how many are bought, as on an order sheet.

    >>> in_words(OrderLine(qty=1, pack=12)), in_words(OrderLine(qty=14, pack=12)), in_words(OrderLine(qty=3))
    ('1 pack of 12', '2 packs of 12', '3')
    """
    packs, pieces = packs_bought(line), in_a_pack(line)
    return f"{packs} pack{'' if packs == 1 else 's'} of {pieces}" if pieces > 1 else str(packs)


def could_share(lines: Iterable[OrderLine]) -> tuple[tuple[OrderLine, ...], ...]:
    """Return the lines of one item whose pieces would come in fewer packs if they were one line."""
    alike: dict[tuple[str, str, int], list[OrderLine]] = defaultdict(list)
    for line in lines:
        if in_a_pack(line) > 1 and line.item:
            alike[line.supplier.casefold(), line.item.casefold(), in_a_pack(line)].append(line)
    return tuple(tuple(group) for group in alike.values() if any(_fewer(*pair) for pair in combinations(group, 2)))


def _fewer(one: OrderLine, other: OrderLine) -> bool:
    together = -(-(pieces_wanted(one) + pieces_wanted(other)) // in_a_pack(one))
    return together < packs_bought(one) + packs_bought(other)
