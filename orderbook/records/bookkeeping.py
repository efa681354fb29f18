"""What the books must say once an order line has a state and a spring a verdict.

Commands and the check that mends both come through here, so that marking a line and typing its state end the same:
states that follow from pieces and verdicts first, then what the line is sent and charged with, the ledger, the drawer,
and last the cost of springs that moved.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from datetime import date, timedelta

from orderbook.errors import finding
from orderbook.records.books import Books, unread_of
from orderbook.records.conversion import dated_rates
from orderbook.records.costs import supplier_named
from orderbook.records.drawer_rows import drawer_steps, free_labels
from orderbook.records.index import index
from orderbook.records.ledger_rows import ledger_steps
from orderbook.records.moves import move_steps
from orderbook.records.order_terms import lighter_parcel_steps, parcel_steps, term_steps
from orderbook.records.packs import fitted_from, pieces_came, pieces_due, pieces_in_drawer, pieces_in_hand
from orderbook.records.rows import Put, Value
from orderbook.records.stages import standing, when_passed_over
from orderbook.records.states import IN_HAND
from orderbook.records.steps import Step
from orderbook.records.tables import OrderLine
from orderbook.records.verdicts import last_trial, side_of

Pass = Callable[[Books, list[OrderLine]], Iterator[Step]]


def settled(
    books: Books, *, on: date, lines: Iterable[str] | None = None, springs: Iterable[str] = ()
) -> tuple[Step, ...]:
    """Return the steps that bring states, terms, ledger and drawer in line with each other.

    Parameters: on, the day credits and moves are dated; lines, order lines to look at (all, if not given), with them
    those of their parcels; springs, numbers of the drawer to look at besides those that came with the lines.
    A line with a cell that cannot be read is left as it is: nothing follows from a guess.
    """
    wanted = None if lines is None else _with_their_parcels(books, set(lines))
    passes: tuple[Pass, ...] = (
        _states,
        _after_what_is_gone,
        lambda b, ls: lighter_parcel_steps(b, ls),
        lambda b, ls: (step for line in ls for step in term_steps(b, line, dated_rates(b))),
        lambda b, ls: parcel_steps(b, ls),
        lambda b, ls: (step for line in ls for step in ledger_steps(b, line, dated_rates(b), on)),
        _drawer,
    )
    steps: list[Step] = []
    for one in passes:
        made = list(one(books, _lines(books, wanted)))
        books = books.after(step.change for step in made) if made else books
        steps += made
    own = None if wanted is None else {d.drawer for d in books.drawer if d.order in wanted} | set(springs)
    return (*steps, *move_steps(books, dated_rates(books), on, own))


def _with_their_parcels(books: Books, names: set[str]) -> set[str]:
    parcels = {line.parcel for line in books.orders if line.order in names and line.parcel}
    return names | {line.order for line in books.orders if line.parcel in parcels}


def _lines(books: Books, wanted: set[str] | None) -> list[OrderLine]:
    """Return the lines that can be dealt with: of two lines with one number nobody knows whose the rows are."""
    names = Counter(line.order for line in books.orders)
    return [
        line
        for line in books.orders
        if line.order and names[line.order] == 1 and (wanted is None or line.order in wanted) and not unread_of(line)
    ]


def expected_on(books: Books, line: OrderLine, ordered_on: date) -> date | None:
    """Return the day a line should come, by its supplier's lead time."""
    supplier = supplier_named(books, line.supplier)
    return ordered_on + timedelta(days=supplier.lead_days) if supplier and supplier.lead_days is not None else None


def _states(books: Books, lines: list[OrderLine]) -> Iterator[Step]:
    for line in lines:
        yield from _has_come(line)
        yield from _fitted(books, line)
        yield from _out_again(books, line)
        yield from _all_went_back(line)
        yield from _not_needed(books, line)


def _put(line: OrderLine, code: str, saw: str, key: str = "state", **values: Value) -> Step:
    change = Put("Orders", line.row.place.row, dict(values))
    return Step(change, finding(code, where=line.row.place.of(key), saw=saw))


def _has_come(line: OrderLine) -> Iterator[Step]:
    if line.state == "ordered" and pieces_came(line) and line.received_on:
        yield _put(line, "state_behind_receipt", f"{pieces_came(line)} of {line.order} came, but it is still ordered",
                   state="received")  # fmt: skip


def _fitted(books: Books, line: OrderLine) -> Iterator[Step]:
    trial = last_trial(books, line.order)
    if line.state == "received" and trial and side_of(trial.verdict) == "kept":
        yield _put(line, "state_behind_trial", f"{line.order} {trial.verdict}, but is still received", state="fitted")
    elif line.state == "in drawer" and not pieces_in_drawer(books, line):
        for spring in index(books).drawer_from[line.order]:
            if fitted_from(books, spring):
                saw = f"{spring.drawer} ran well, but {line.order} is still in drawer"
                yield _put(line, "state_behind_trial", saw, state="fitted")


def _out_again(books: Books, line: OrderLine) -> Iterator[Step]:
    """Put a line back in the drawer whose spring, fitted by its Drawer number, was taken out again."""
    own = last_trial(books, line.order)
    if line.state != "fitted" or (own and side_of(own.verdict) == "kept"):
        return
    for spring in index(books).drawer_from[line.order]:
        trials = index(books).trials_with[spring.drawer]
        was_kept = any(side_of(trial.verdict) == "kept" for trial in trials)
        if was_kept and not fitted_from(books, spring) and spring.state == "fitted":
            saw = f"{spring.drawer} was taken out again, but {line.order} is still fitted"
            yield _put(line, "state_behind_trial", saw, state="in drawer")


def _all_went_back(line: OrderLine) -> Iterator[Step]:
    if line.state in IN_HAND and line.qty_returned and not pieces_in_hand(line) and not pieces_due(line):
        saw = f"all {line.qty_returned} of {line.order} went back, but it is {line.state}"
        yield _put(line, "state_behind_return", saw, state="returned")


def _not_needed(books: Books, line: OrderLine) -> Iterator[Step]:
    if line.state == "planned" and (how := standing(books, line)).due == "off":
        saw = f"{line.order} is planned, but will not be needed ({how.why})"
        yield _put(line, "stage_not_needed", saw, state="cancelled")


def _after_what_is_gone(books: Books, lines: list[OrderLine]) -> Iterator[Step]:
    """Let a stage that waits for one that will never be tried wait for what that one waited for."""
    for line in lines:
        if line.state == "planned" and (passed := when_passed_over(books, line)):
            saw = f"{line.order} waits for {passed.gone.order}, which was {passed.gone.state} without a trial"
            yield _put(line, "stage_passed_over", saw, "trigger", trigger=passed.trigger)


def _drawer(books: Books, lines: list[OrderLine]) -> Iterator[Step]:
    labels = free_labels(books)
    for line in lines:
        yield from drawer_steps(books, line, labels)


def choice_of(books: Books, spring: str) -> tuple[str, ...]:
    """Return the order lines whose standing a verdict on a spring may change: those of its restoration."""
    found = index(books)
    line = found.orders.get(spring)
    trials = found.trials_with[spring]
    names = {line.restoration} if line else set()
    names |= {found.barrels[t.barrel].restoration for t in trials if t.barrel in found.barrels}
    mine = {o.order for name in names for o in found.orders_of[name]}
    came_with = (
        found.drawer[spring].order if spring in found.drawer else ""
    )  # it may have been bought for another piece
    return tuple(o.order for o in books.orders if o.order in mine or o.order == came_with)
