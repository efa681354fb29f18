"""Marking order lines: ordered, received, fitted, in drawer, returned, cancelled; and noting a trial."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from orderbook.errors import Finding, error, finding
from orderbook.measures.exchange import Rates
from orderbook.measures.money import Money
from orderbook.records.bookkeeping import Step, choice_of, expected_on, rate_of, settled
from orderbook.records.books import Books
from orderbook.records.conversion import dated_rates
from orderbook.records.costs import postage_shares
from orderbook.records.identifiers import is_shaped, tidy
from orderbook.records.index import barrel_of, index
from orderbook.records.packs import pieces_bought, pieces_in_hand
from orderbook.records.rows import Append, Change, Put, Value
from orderbook.records.stages import standing
from orderbook.records.states import IN_HAND, MARKS, ORDER, in_words, may_follow
from orderbook.records.tables import OrderLine
from orderbook.records.verdicts import side_of


@dataclass(frozen=True, slots=True)
class Outcome:
    """The book after a command, the changes that led there, and what one should know."""

    books: Books
    changes: tuple[Change, ...]
    findings: tuple[Finding, ...]


def marked(books: Books, mark: str, names: Sequence[str], *, on: date, pieces: int | None = None) -> Outcome:
    """Mark order lines with a state, all or none, and do the bookkeeping that goes with it.

    Parameters: mark, a state or `drawer`; names, order lines; on, the day it happened; pieces, how many came or went
    back, where it was not all of them.
    Raises: OrderbookError(not_in_the_book | mark_not_known | step_not_possible | restoration_closed |
    pieces_not_possible).
    """
    state = MARKS.get(mark, mark)
    if state not in ORDER or state == "planned":
        raise error("mark_not_known", where="⟨mark⟩", saw=f"“{mark}”")
    lines = [books.order(tidy(name)) for name in dict.fromkeys(map(tidy, names))]
    for line in lines:
        _may(books, line, state)
    findings = [f for line in lines for f in _worth_knowing(books, line, state, on)]
    values = _values(books, lines, state, on) if pieces is None else _counted(lines, state, on, pieces)
    changes = tuple(Put("Orders", line.row.place.row, values[line.order]) for line in lines)
    return _with_bookkeeping(books, changes, findings, [line.order for line in lines], on)


def tried(books: Books, spring: str, verdict: str, *, on: date, barrel: str = "", **seen: Value) -> Outcome:
    """Note how a fitted spring did, and fire or cancel the stages that waited for it.

    Parameters: spring, an order line or a spring of the drawer; verdict, in the words of Trials; barrel, for a spring
    of the drawer, or where the order line names none; seen, other columns of Trials.
    Raises: OrderbookError(not_in_the_book | verdict_not_known | not_in_hand | barrel_missing).
    """
    name, said = tidy(spring), " ".join(verdict.casefold().split())
    if side_of(said) is None:
        raise error("verdict_not_known", where="verdict", saw=f"“{verdict}”")
    row: dict[str, Value] = {
        "order": name,
        "barrel": _barrel_tried(books, name, tidy(barrel)),
        "date": on,
        "verdict": said,
    }
    changes: tuple[Change, ...] = (Append("Trials", row | {key: value for key, value in seen.items() if value}),)
    own = index(books).drawer.get(name)
    if own and side_of(said) == "kept" and own.order not in index(books).orders:  # else its order line tells
        left = (own.pieces or 1) - 1
        changes += (Put("Drawer", own.row.place.row, {"pieces": left} if left else {"state": "fitted"}),)
    line = index(books).orders.get(name)
    if line and line.state == "in drawer" and side_of(said) == "kept":
        changes += (Put("Orders", line.row.place.row, {"state": "fitted"}),)
    after = books.after(changes)
    return _with_bookkeeping(books, changes, [], choice_of(after, name), on)


def _with_bookkeeping(
    books: Books, changes: tuple[Change, ...], findings: Sequence[Finding], lines: Sequence[str], on: date
) -> Outcome:
    after = books.after(changes)
    steps: tuple[Step, ...] = settled(after, on=on, lines=lines)
    more = tuple(step.change for step in steps)
    told = tuple(step.finding for step in steps if step.finding.code in ("committed_after_cancel", "stage_not_needed"))
    final = after.after(more) if more else after
    return Outcome(final, changes + more, (*findings, *told))


def _may(books: Books, line: OrderLine, state: str) -> None:
    where = line.row.place.of("state")
    if not may_follow(ORDER, line.state, state):
        expected = f"After {line.state or 'no state'} may follow: {in_words(ORDER, line.state)}."
        saw = f"{line.order} is {line.state or 'without a state'} and cannot be {state} next"
        raise error("step_not_possible", where=where, saw=saw, expected=expected)
    restoration = index(books).restorations.get(line.restoration)
    if restoration and restoration.state == "closed" and state in ("ordered", "fitted"):
        saw = f"{line.order} is for {line.restoration}, which is closed"
        raise error("restoration_closed", where=where, saw=saw)


def _values(books: Books, lines: Sequence[OrderLine], state: str, on: date) -> Mapping[str, dict[str, Value]]:
    if state == "ordered":
        shares = postage_shares(books, lines)
        rates = dated_rates(books)
        return {line.order: _ordered(books, line, on, shares, rates) for line in lines}
    if state == "received":
        return {line.order: _received(line, on) for line in lines}
    if state == "returned":
        return {line.order: _returned(line) for line in lines}
    return {line.order: {"state": state} for line in lines}


def _ordered(books: Books, line: OrderLine, on: date, shares: Mapping[str, Money], rates: Rates) -> dict[str, Value]:
    values: dict[str, Value] = {"state": "ordered", "ordered_on": on}
    if line.expected is None and (day := expected_on(books, line, on)):
        values["expected"] = day
    if line.order in shares:
        values["postage"] = Decimal(shares[line.order].text)
    if line.rate is None and (rate := rate_of(books, line, rates, on)) is not None:
        values["rate"] = rate
    return values


def _received(line: OrderLine, on: date) -> dict[str, Value]:
    values: dict[str, Value] = {"state": "received", "received_on": on}
    return values if line.qty_received is not None else values | {"qty_received": pieces_bought(line)}


def _counted(lines: Sequence[OrderLine], state: str, on: date, pieces: int) -> Mapping[str, dict[str, Value]]:
    """Return the cells of one line of which some pieces came or went back; it is returned when none is left here."""
    if len(lines) != 1 or state not in ("received", "returned") or pieces < 1:
        saw = f"{pieces} pieces of {len(lines)} lines, {state}"
        raise error("pieces_not_possible", where="⟨pieces⟩", saw=saw)
    (line,) = lines
    if state == "received":
        return {line.order: {**_received(line, on), "qty_received": pieces}}
    if pieces > pieces_in_hand(line):
        saw = f"{pieces} to go back, but of {line.order} only {pieces_in_hand(line)} are here"
        raise error("pieces_not_possible", where="⟨pieces⟩", saw=saw)
    back = (line.qty_returned or 0) + pieces
    left: dict[str, Value] = {} if pieces < pieces_in_hand(line) else {"state": "returned"}
    return {line.order: {"qty_returned": back, **left}}


def _returned(line: OrderLine) -> dict[str, Value]:
    """Return the cells of a line of which all that is left goes back."""
    before = line.qty_returned
    return {"state": "returned"} | ({} if before is None else {"qty_returned": before + pieces_in_hand(line)})


def _worth_knowing(books: Books, line: OrderLine, state: str, on: date) -> list[Finding]:
    found = []
    if state == "ordered":
        how = standing(books, line)
        if how.due != "due":
            where = line.row.place.of("trigger")
            found.append(finding("stage_not_due", where=where, saw=f"{line.order} is not due: {how.why}"))
        if line.price is None:
            where = line.row.place.of("price")
            found.append(finding("price_missing", where=where, saw=f"{line.order} has no price; nothing is committed"))
        for key in ("price", "qty"):
            if (getattr(line, key) or 0) < 0:
                where = line.row.place.of(key)
                raise error("amount_negative", where=where, saw=f"{line.order}: {getattr(line, key)}")
    if state == "returned" and line.return_by and line.return_by < on:
        saw = f"{line.order} could be returned until {line.return_by}"
        found.append(finding("return_day_passed", where=line.row.place.of("return_by"), saw=saw))
    return found


def _barrel_tried(books: Books, name: str, barrel: str) -> str:
    found = index(books)
    if is_shaped("drawer", name):
        if name not in found.drawer:
            raise error("not_in_the_book", where=name, saw="not in Drawer")
        if found.drawer[name].state == "gone":
            raise error("not_in_hand", where=name, saw=f"{name} is gone")
    else:
        line = books.order(name)
        if line.state not in IN_HAND:
            raise error(
                "not_in_hand", where=line.row.place.of("state"), saw=f"{name} is {line.state or 'without state'}"
            )
        barrel = barrel or barrel_of(books, line)
    if not barrel:
        raise error("barrel_missing", where=name, saw="the barrel it was fitted to is not known")
    if barrel not in found.barrels:
        raise error("not_in_the_book", where=barrel, saw="not in Barrels")
    return barrel
