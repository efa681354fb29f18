"""Marking order lines: ordered, received, fitted, in drawer, returned, lost, cancelled; and noting a trial."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from orderbook.errors import Finding, OrderbookError, error, finding
from orderbook.records.bookkeeping import choice_of, settled
from orderbook.records.books import Books, unread_of
from orderbook.records.conversion import dated_rates
from orderbook.records.costs import currency_of, supplier_named
from orderbook.records.identifiers import is_shaped, tidy
from orderbook.records.index import barrel_of, index
from orderbook.records.limits import notes_of_agreement, over_the_limit
from orderbook.records.order_terms import rate_of
from orderbook.records.packs import (
    barrels_with,
    pieces_bought,
    pieces_came,
    pieces_due,
    pieces_good,
    pieces_in_hand,
    pieces_lost,
    pieces_wrong,
)
from orderbook.records.rows import Append, Change, Put, Value
from orderbook.records.stages import same_choice, standing
from orderbook.records.states import IN_HAND, MARKS, ORDER, in_words, may_follow
from orderbook.records.steps import Step, gathered
from orderbook.records.tables import OrderLine
from orderbook.records.verdicts import last_trial, side_of


@dataclass(frozen=True, slots=True)
class Outcome:
    """The book after a command, the changes that led there, and what one should know."""

    books: Books
    changes: tuple[Change, ...]
    findings: tuple[Finding, ...]


TOLD = ("committed_after_cancel", "stage_not_needed", "stage_passed_over", "parcel_is_lighter", "cost_behind_spring")


def marked(
    books: Books,
    mark: str,
    names: Sequence[str],
    *,
    on: date,
    pieces: int | None = None,
    wrong: str = "",
    agreed: str = "",
) -> Outcome:
    """Mark order lines with a state, all or none, and do the bookkeeping that goes with it.

    Parameters: mark, a state or `drawer`; names, order lines; on, the day it happened; pieces, how many came, went
    back or will never come, where it was not all of them; wrong, what is wrong with what came; agreed, the owner's
    word for an order that takes a piece above the sum in *Not above*.
    Raises: OrderbookError(not_in_the_book | mark_not_known | step_not_possible | restoration_closed |
    pieces_not_possible | above_limit), and of any cell of these lines that cannot be read.
    """
    state = MARKS.get(mark, mark)
    if state not in ORDER or state == "planned":
        raise error("mark_not_known", where="⟨mark⟩", saw=f"“{mark}”")
    lines = [books.order(tidy(name)) for name in dict.fromkeys(map(tidy, names))]
    for line in lines:
        must_be_read(books, line)
    partly = _for_the_rest(lines, state)
    for line in lines:
        if line.order not in partly:
            _may(books, line, state)
    findings = [f for line in lines for f in _worth_knowing(books, line, state, on)]
    values = _values(lines, state, on, pieces, wrong)
    changes = tuple(Put("Orders", line.row.place.row, values[line.order]) for line in lines)
    done = _with_bookkeeping(books, changes, findings, [*(line.order for line in lines), *_waiting(books, lines)], on)
    return _within_the_limit(books, done, lines, agreed, on) if state == "ordered" else done


def _waiting(books: Books, lines: Sequence[OrderLine]) -> list[str]:
    """Return the planned lines of the same pieces: what they wait for may have changed."""
    pieces = dict.fromkeys(line.restoration for line in lines)
    return [o.order for name in pieces for o in index(books).orders_of[name] if o.state == "planned"]


def again(books: Books, name: str) -> Outcome:
    """Plan a line once more for what never came, was lost, cancelled, or came wrong.

    It asks for the pieces that are missing, at the stage and for the need of the first line, and is due when that was.
    Raises: OrderbookError(not_in_the_book | nothing_is_missing).
    """
    from orderbook.records.identifiers import next_identifiers

    line = books.order(tidy(name))
    must_be_read(books, line)
    missing = pieces_bought(line) if line.state in ("lost", "cancelled", "returned") else _missing(line)
    if line.state in ("planned", "ordered") or not missing:
        saw = f"{line.order} is {line.state}, and nothing of it is missing"
        raise error("nothing_is_missing", where=line.row.place.of("state"), saw=saw)
    (number,) = next_identifiers("O", (o.order for o in books.orders))
    same = ("restoration", "barrel", "need", "supplier", "item", "width_mm", "strength_mm", "length_mm", "trim_to_mm",
            "stage", "pack", "price", "currency")  # fmt: skip
    wanted = min(missing, line.qty or 1)
    row: dict[str, Value] = {key: value for key in same if (value := getattr(line, key)) not in (None, "")}
    trigger = "now" if not line.trigger or standing(books, line).due != "waits" else line.trigger
    row |= {"order": number, "qty": wanted, "trigger": trigger, "state": "planned", "note": f"{line.order} once more"}
    changes: tuple[Change, ...] = (Append("Orders", row),)
    return Outcome(books.after(changes), changes, ())


def _missing(line: OrderLine) -> int:
    return max(pieces_lost(line), 0) + pieces_wrong(line) + max((line.qty_returned or 0) if line.wrong else 0, 0)


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
    changes += _of_own_spring(books, name, str(row["barrel"]), kept=side_of(said) == "kept")
    line = index(books).orders.get(name)
    if line and line.state == "in drawer" and side_of(said) == "kept":
        changes += (Put("Orders", line.row.place.row, {"state": "fitted"}),)
    after = books.after(changes)
    return _with_bookkeeping(books, changes, [], choice_of(after, name), on, springs=[name])


def _of_own_spring(books: Books, name: str, barrel: str, *, kept: bool) -> tuple[Change, ...]:
    """Take a piece out of a row of the drawer that no order line tells of, or put it back when it is out again."""
    own = index(books).drawer.get(name)
    if own is None or own.order in index(books).orders:
        return ()
    was_there = barrel in barrels_with(books, own)
    many = 0 if own.state == "fitted" else own.pieces or 1
    if kept and not was_there:
        left = max(many - 1, 0)
        return (Put("Drawer", own.row.place.row, {"pieces": left} if left else {"state": "fitted"}),)
    if not kept and was_there:
        back: dict[str, Value] = {"pieces": many + 1} if many else {"state": "in drawer"}
        return (Put("Drawer", own.row.place.row, back),)
    return ()


def _with_bookkeeping(
    books: Books,
    changes: tuple[Change, ...],
    findings: Sequence[Finding],
    lines: Sequence[str],
    on: date,
    springs: Sequence[str] = (),
) -> Outcome:
    after = books.after(changes)
    steps: tuple[Step, ...] = settled(after, on=on, lines=lines, springs=springs)
    whole = gathered((*changes, *(step.change for step in steps)))
    told = tuple(step.finding for step in steps if step.finding.code in TOLD)
    return Outcome(books.after(whole), whole, (*findings, *told))


def must_be_read(books: Books, line: OrderLine) -> None:
    """Stop at the first cell of a line, its supplier or its piece that cannot be read, or names what is not there.

    Raises: OrderbookError of that cell.
    """
    found = index(books)
    supplier, piece = supplier_named(books, line.supplier), found.restorations.get(line.restoration)
    for record in (line, supplier, piece):
        for unread in unread_of(record) if record is not None else ():
            raise OrderbookError(unread)
    for key, known, table in (
        ("restoration", found.restorations, "Restorations"),
        ("barrel", found.barrels, "Barrels"),
        ("need", found.needs, "Needs"),
    ):
        name = getattr(line, key)
        if name and name not in known:
            raise error("not_in_the_book", where=line.row.place.of(key), saw=f"{name} is not in {table}")


def _for_the_rest(lines: Sequence[OrderLine], state: str) -> set[str]:
    """Return the lines of which part came already, where the mark is for what is still due."""
    if state not in ("received", "lost", "cancelled"):
        return set()
    return {line.order for line in lines if line.state in IN_HAND and pieces_due(line)}


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
    if state == "cancelled" and line.goods is not None:
        others = [o for o in index(books).parcels[line.parcel] if o.goods is not None and o.order != line.order]
        if came := [o for o in others if o.item == line.item and pieces_in_hand(o)]:
            saw = f"{line.order} shares a pack with {came[0].order}, which has come"
            raise error("step_not_possible", where=where, saw=saw, expected="Expected it to have come too.")


def _values(
    lines: Sequence[OrderLine], state: str, on: date, pieces: int | None, wrong: str
) -> Mapping[str, dict[str, Value]]:
    if pieces is not None:
        return {line.order: _counted(line, lines, state, on, pieces, wrong) for line in lines}
    if state == "received":
        return {line.order: _came(line, on, pieces_due(line) or pieces_bought(line), wrong) for line in lines}
    return {line.order: _whole(line, state, on) for line in lines}


def _whole(line: OrderLine, state: str, on: date) -> dict[str, Value]:
    if state == "ordered":
        return {"state": state, "ordered_on": on}
    if state in ("lost", "cancelled") and line.state in IN_HAND:
        return {"qty_lost": pieces_lost(line) + pieces_due(line)}
    if state == "returned":
        before = line.qty_returned
        if pieces_due(line):
            return {"qty_returned": (before or 0) + pieces_in_hand(line)}
        return {"state": state} | ({} if before is None else {"qty_returned": before + pieces_in_hand(line)})
    return {"state": state}


def _came(line: OrderLine, on: date, pieces: int, wrong: str) -> dict[str, Value]:
    before = pieces_came(line) if line.state in IN_HAND else 0
    values: dict[str, Value] = {"received_on": on}
    values |= {} if line.state in IN_HAND else {"state": "received"}
    if line.qty_received is None or line.state in IN_HAND:
        values["qty_received"] = before + pieces
    if wrong:
        values["wrong"] = f"{line.wrong}; {wrong}" if line.wrong else wrong
        if before or pieces < pieces_bought(line):
            values["qty_wrong"] = pieces_wrong(line) + pieces
    return values


def _counted(
    line: OrderLine, lines: Sequence[OrderLine], state: str, on: date, pieces: int, wrong: str
) -> dict[str, Value]:
    """Return the cells of one line of which some pieces came, went back or will not come."""
    if len(lines) != 1 or state not in ("received", "returned", "lost", "cancelled") or pieces < 1:
        saw = f"{pieces} pieces of {len(lines)} lines, {state}"
        raise error("pieces_not_possible", where="⟨pieces⟩", saw=saw)
    if state == "received":
        return _came(line, on, pieces, wrong) | {
            "qty_received": pieces + (pieces_came(line) if line.state in IN_HAND else 0)
        }
    here, due = pieces_in_hand(line), pieces_due(line)
    most = here if state == "returned" else due
    if pieces > most:
        what = f"only {here} are here" if state == "returned" else f"only {due} are still due"
        raise error("pieces_not_possible", where="⟨pieces⟩", saw=f"{pieces} {state}, but of {line.order} {what}")
    if state == "returned":
        back = (line.qty_returned or 0) + pieces
        left: dict[str, Value] = {} if pieces < here or due else {"state": "returned"}
        return {"qty_returned": back, **left}
    if line.state == "ordered" and pieces == due:
        return {"state": state}
    return {"qty_lost": pieces_lost(line) + pieces}


def _worth_knowing(books: Books, line: OrderLine, state: str, on: date) -> list[Finding]:
    found = []
    if state == "ordered":
        found += _before_ordering(books, line, on)
    if state == "returned" and line.return_by and line.return_by < on:
        saw = f"{line.order} could be returned until {line.return_by}"
        found.append(finding("return_day_passed", where=line.row.place.of("return_by"), saw=saw))
    return found


def _before_ordering(books: Books, line: OrderLine, on: date) -> list[Finding]:
    found = []
    how = standing(books, line)
    if how.due != "due":
        where = line.row.place.of("trigger")
        found.append(finding("stage_not_due", where=where, saw=f"{line.order} is not due: {how.why}"))
    if line.price is None:
        where = line.row.place.of("price")
        found.append(finding("price_missing", where=where, saw=f"{line.order} has no price; nothing is committed"))
    for key in ("price", "qty", "pack", "postage", "tax", "rate"):
        value = getattr(line, key)
        if value is not None and (value < 0 or (not value and key in ("qty", "rate"))):
            raise error("amount_negative", where=line.row.place.of(key), saw=f"{line.order}: {value}")
    currency = currency_of(books, line)
    if line.price is not None and currency != books.currency and not rate_of(books, line, dated_rates(books), on):
        where = line.row.place.of("rate")
        found.append(finding("rate_missing", where=where, saw=f"no rate of {currency} on {on} or before"))
    weaker = [o for o in same_choice(books, line) if line.stage and o.stage and o.stage < line.stage]
    untried = [o for o in weaker if o.state == "received" and pieces_good(o) and not last_trial(books, o.order)]
    if untried and how.due == "due":
        saw = f"{untried[0].order} has come and is weaker than {line.order}, and was not tried"
        found.append(finding("weaker_in_hand", where=line.row.place.of("stage"), saw=saw))
    return found


def _within_the_limit(books: Books, done: Outcome, lines: Sequence[OrderLine], agreed: str, on: date) -> Outcome:
    """Stop an order that takes a piece above the sum agreed, unless the owner's word is given; then note it."""
    over = over_the_limit(books, done.books, dict.fromkeys(line.restoration for line in lines))
    if not over:
        return done
    if not agreed.strip():
        raise OrderbookError(over[0].finding)
    notes = notes_of_agreement(over, [line.order for line in lines], agreed.strip(), on)
    return Outcome(done.books.after(notes), (*done.changes, *notes), done.findings)


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
        if not pieces_in_hand(line):
            raise error("not_in_hand", where=line.row.place.of("qty_returned"), saw=f"all of {name} went back")
        barrel = barrel or barrel_of(books, line)
    if not barrel:
        raise error("barrel_missing", where=name, saw="the barrel it was fitted to is not known")
    if barrel not in found.barrels:
        raise error("not_in_the_book", where=barrel, saw="not in Barrels")
    return barrel
