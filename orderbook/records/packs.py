"""Pieces wanted, bought, come, wrong, lost, sent back and over: how many of each, of one order line.

A price is the price of a pack, and no pack is opened for us (common practice, no source). What a pack holds beyond
what was wanted goes to the drawer. Lines of one parcel that want the same item share its packs: then *Pieces bought*
says how many of them are this line's.

    bought = packs × in a pack          came = here + sent back          still due = bought − came − not coming
    over (more than was bought) = came − bought          in the drawer = here − wanted
"""

from __future__ import annotations

from orderbook.records.books import Books
from orderbook.records.index import index
from orderbook.records.states import IN_HAND, PAID
from orderbook.records.tables import DrawerSpring, OrderLine
from orderbook.records.verdicts import last_trial, side_of


def pieces_wanted(line: OrderLine) -> int:
    """Return how many pieces a line asks for; one, where no quantity is given."""
    return 1 if line.qty is None else line.qty


def in_a_pack(line: OrderLine) -> int:
    """Return how many pieces a pack holds; one, where the line says nothing."""
    return max(line.pack or 1, 1)


def packs_for(wanted: int, pack: int) -> int:
    """Return the fewest whole packs that hold the pieces wanted.

    packs = ⌈wanted / in a pack⌉

    >>> packs_for(13, 12), packs_for(12, 12), packs_for(4, 12)
    (2, 1, 1)
    """
    return -(-wanted // pack)


def packs_bought(line: OrderLine) -> int:
    """Return the fewest whole packs that hold the pieces wanted, where the line has packs of its own.

    >>> packs_bought(OrderLine(qty=13, pack=12)), packs_bought(OrderLine(qty=12, pack=12)), packs_bought(OrderLine())
    (2, 1, 1)
    """
    return packs_for(pieces_wanted(line), in_a_pack(line))


def pieces_bought(line: OrderLine) -> int:
    """Return how many pieces are bought with a line: those its packs hold, or its part of packs that lines share.

    >>> pieces_bought(OrderLine(qty=13, pack=12)), pieces_bought(OrderLine(qty=1, pack=12, qty_bought=3))
    (24, 3)
    """
    return packs_bought(line) * in_a_pack(line) if line.qty_bought is None else line.qty_bought


def pieces_came(line: OrderLine) -> int:
    """Return how many pieces of a line came; all, where it has come and no number stands there.

    >>> pieces_came(OrderLine(qty=3, state="received")), pieces_came(OrderLine(qty=3, state="ordered"))
    (3, 0)
    """
    if line.qty_received is not None:
        return line.qty_received
    return pieces_bought(line) if line.state in PAID else 0


def pieces_lost(line: OrderLine) -> int:
    """Return how many pieces of a line will never come."""
    return max(line.qty_lost or 0, 0)


def pieces_due(line: OrderLine) -> int:
    """Return how many pieces of a line that was ordered are still to come.

    >>> pieces_due(OrderLine(qty=3, state="received", qty_received=2)), pieces_due(OrderLine(qty=3, state="ordered"))
    (1, 3)
    """
    if line.state != "ordered" and line.state not in IN_HAND:
        return 0
    return max(pieces_bought(line) - pieces_came(line) - pieces_lost(line), 0)


def pieces_over(line: OrderLine) -> int:
    """Return how many pieces came that nobody ordered and nobody paid for.

    >>> pieces_over(OrderLine(qty=2, state="received", qty_received=3))
    1
    """
    return max(pieces_came(line) - pieces_bought(line), 0)


def pieces_too_many(line: OrderLine) -> int:
    """Return how many pieces are here that nobody ordered: not ours until they are kept; they are the first to go back.

    >>> pieces_too_many(OrderLine(qty=2, state="received", qty_received=4, qty_returned=1))
    1
    """
    return max(pieces_over(line) - pieces_returned(line), 0)


def pieces_in_hand(line: OrderLine) -> int:
    """Return how many pieces of a line are here: those that came, less those that went back."""
    return max(pieces_came(line) - pieces_returned(line), 0) if line.state in PAID else 0


def pieces_returned(line: OrderLine) -> int:
    """Return how many pieces of a line went back: all, where it is returned and no number stands there."""
    if line.qty_returned is not None:
        return line.qty_returned
    return pieces_came(line) if line.state == "returned" else 0


def pieces_wrong(line: OrderLine) -> int:
    """Return how many pieces that came wrong or broken are still here; those are the first to go back.

    >>> pieces_wrong(OrderLine(qty=3, state="received", wrong="hook torn", qty_wrong=2, qty_returned=1))
    1
    """
    if not line.wrong and not line.qty_wrong:
        return 0
    many = pieces_came(line) if line.qty_wrong is None else line.qty_wrong
    return min(max(many - pieces_returned(line), 0), pieces_in_hand(line))


def pieces_good(line: OrderLine) -> int:
    """Return how many pieces of a line are here and can be fitted."""
    return pieces_in_hand(line) - pieces_wrong(line)


def pieces_in_drawer(books: Books, line: OrderLine) -> int:
    """Return how many pieces of a line belong in the drawer.

    All that are in hand where the line is in drawer; else what is over of those wanted. A piece of the drawer that ran
    well in a barrel is in that barrel; one that came wrong, or that nobody ordered, is kept apart until it goes back.
    """
    ours = pieces_in_hand(line) if line.state == "in drawer" else pieces_good(line) - max(pieces_wanted(line), 0)
    over = ours - pieces_too_many(line)
    return max(over - sum(fitted_from(books, spring) for spring in index(books).drawer_from[line.order]), 0)


def fitted_from(books: Books, spring: DrawerSpring) -> int:
    """Return in how many barrels a piece of a row of the drawer was kept."""
    return len(barrels_with(books, spring))


def barrels_with(books: Books, spring: DrawerSpring) -> frozenset[str]:
    """Return the barrels in which a piece of a row of the drawer was kept and is still."""
    last = last_trial(books, spring.drawer)
    kept = {t.barrel for t in index(books).trials_with[spring.drawer] if side_of(t.verdict) == "kept"}
    gone = {last.barrel} if last and side_of(last.verdict) != "kept" else set()
    return frozenset(kept - gone)


def in_words(wanted: int, pack: int) -> str:
    """Say how many are bought, as on an order sheet.

    >>> in_words(1, 12), in_words(14, 12), in_words(3, 1)
    ('1 pack of 12', '2 packs of 12', '3')
    """
    packs = packs_for(wanted, pack)
    return f"{packs} pack{'' if packs == 1 else 's'} of {pack}" if pack > 1 else str(packs)
