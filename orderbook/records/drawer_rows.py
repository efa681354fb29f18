"""Rows of Drawer that follow from order lines: those marked drawer, and what is over of a pack."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from orderbook.errors import finding
from orderbook.records.books import Books
from orderbook.records.costs import currency_of, price_of_one
from orderbook.records.identifiers import next_identifiers
from orderbook.records.index import index
from orderbook.records.packs import fitted_from, pieces_in_drawer
from orderbook.records.rows import Append, Put, Value
from orderbook.records.steps import Step
from orderbook.records.tables import DrawerSpring, OrderLine
from orderbook.records.verdicts import last_trial


def free_labels(books: Books) -> Iterator[str]:
    """Give one free number of the drawer after another."""
    taken = [d.drawer for d in books.drawer]
    while True:
        taken.extend(next_identifiers("D", taken))
        yield taken[-1]


def drawer_steps(books: Books, line: OrderLine, labels: Iterator[str]) -> Iterator[Step]:
    """Keep the rows of Drawer that came with a line in step with it."""
    owned, pieces = index(books).drawer_from[line.order], pieces_in_drawer(books, line)
    if pieces and not owned and line.strength_mm is not None:
        yield _into_drawer(books, line, pieces, next(labels))
    for spring in owned:
        wanted = _state(books, line, spring, pieces)
        if wanted and spring.state != wanted:
            saw = f"“{spring.state}”, but {_words(line, pieces)}"
            change = Put("Drawer", spring.row.place.row, {"state": wanted})
            yield Step(change, finding("drawer_state_behind", where=spring.row.place.of("state"), saw=saw))
    if pieces and len(owned) == 1 and (owned[0].pieces or 1) != pieces:
        saw = f"{owned[0].pieces or 1} in Drawer, but {_words(line, pieces)}"
        change = Put("Drawer", owned[0].row.place.row, {"pieces": pieces})
        yield Step(change, finding("drawer_state_behind", where=owned[0].row.place.of("pieces"), saw=saw))


def _state(books: Books, line: OrderLine, spring: DrawerSpring, pieces: int) -> str:
    """Return the state of a row of Drawer that came with a line; nothing where the line never came."""
    if pieces:
        return "in drawer"
    if line.state in ("in drawer", "fitted"):
        return "fitted"
    if line.state == "received":
        return "fitted" if fitted_from(books, spring) else "gone"
    return "gone" if line.state == "returned" else ""


def _words(line: OrderLine, pieces: int) -> str:
    if line.state == "in drawer" and pieces == 1:
        return f"{line.order} is in drawer"
    return f"{line.order} is {line.state}" + (f" and leaves {pieces} over" if pieces else "")


def _into_drawer(books: Books, line: OrderLine, pieces: int, label: str) -> Step:
    currency, is_over = currency_of(books, line), line.state != "in drawer"
    values: dict[str, Value] = {
        "drawer": label,
        "label": f"{line.supplier} {line.item}".strip(),
        "width_mm": line.width_mm,
        "strength_mm": line.strength_mm,
        "length_mm": line.length_mm,
        "pieces": pieces if pieces > 1 else None,
        "whose": "ours",
        "origin": "used" if last_trial(books, line.order) and not is_over else "new",
        "order": line.order,
        "price": None if (one := price_of_one(books, line)) is None else Decimal(one.text),
        "currency": currency,
        "state": "in drawer",
    }
    many = f"{pieces} pieces of it are" if pieces > 1 else "a piece of it is" if is_over else "it is"
    saw = f"{line.order} is {line.state}; {many} in the drawer, but Drawer has no row for it"
    return Step(Append("Drawer", values), finding("drawer_row_missing", where=line.row.place.of("state"), saw=saw))
