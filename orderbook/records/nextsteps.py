"""What can be done now, what waits for what, and what waits for a delivery."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Literal

from orderbook.records.books import Books
from orderbook.records.index import barrel_of, index
from orderbook.records.packs import (
    pieces_bought,
    pieces_came,
    pieces_due,
    pieces_good,
    pieces_lost,
    pieces_too_many,
    pieces_wrong,
)
from orderbook.records.stages import drawer_spring_before, same_choice, standing
from orderbook.records.states import GONE, IN_HAND
from orderbook.records.tables import DrawerSpring, Need, OrderLine
from orderbook.records.verdicts import last_trial, side_of
from orderbook.records.waiting import in_order, waits_for

Kind = Literal[
    "do",
    "decide",
    "order",
    "try",
    "ask",
    "send back",
    "look again",
    "waits for a delivery",
    "waits for a need",
    "waits",
]
KINDS: tuple[Kind, ...] = (
    "do", "decide", "order", "try", "ask", "send back", "look again", "waits for a delivery", "waits for a need",
    "waits",
)  # fmt: skip
RETURN_SOON = timedelta(days=7)


@dataclass(frozen=True, slots=True)
class NextStep:
    """One thing to do, or one that waits: of which restoration, about which line or need, and why."""

    kind: Kind
    restoration: str
    about: str
    what: str
    why: str


def next_steps(books: Books, *, on: date, restoration: str = "") -> tuple[NextStep, ...]:
    """Return what can be done now, then what waits; of one restoration, or of all that are not closed.

    Of all there are also the springs of the drawer that are to be ordered again.
    """
    found = index(books)
    if restoration:
        books.restoration(restoration)
    wanted = [r.restoration for r in books.restorations if restoration in ("", r.restoration)]
    open_ones = {name for name in wanted if restoration or found.restorations[name].state != "closed"}
    steps = [*_needs(books, open_ones), *_orders(books, open_ones, on), *_reviews(books, open_ones, on)]
    steps += [] if restoration else _stock(books)
    return tuple(sorted(steps, key=lambda step: (KINDS.index(step.kind), step.restoration)))


def _needs(books: Books, wanted: set[str]) -> Iterator[NextStep]:
    needs = index(books).needs
    for name in in_order(books):
        need = needs.get(name)
        if need and need.restoration in wanted and need.state not in ("done", "withdrawn"):
            yield from _need(books, need)


def _need(books: Books, need: Need) -> Iterator[NextStep]:
    needs = index(books).needs
    before = waits_for(books, need)
    what = f"{need.decision} {need.part}" if need.decision else need.part
    if before:
        named = ", ".join(f"{n} ({needs[n].part})" if n in needs else f"{n} (not in Needs)" for n in before)
        yield NextStep("waits for a need", need.restoration, need.need, what, f"first {named}")
    elif need.state != "decided" or not need.decision:
        yield NextStep("decide", need.restoration, need.need, need.part, need.evidence or "no decision yet")
    elif need.decision not in ("buy", "outside work"):
        yield NextStep("do", need.restoration, need.need, what, need.reason or "nothing is in the way")
    else:
        yield from _to_be_bought(books, need, what)


def _to_be_bought(books: Books, need: Need, what: str) -> Iterator[NextStep]:
    lines = index(books).orders_for[need.need]
    left = [o for o in lines if o.state not in GONE and (pieces_good(o) or pieces_due(o) or o.state == "planned")]
    if not left:
        gone = [how for o in lines if (how := _what_became(o))]
        why = f"order again: {'; '.join(gone)}" if gone else "no order line yet"
        yield NextStep("order", need.restoration, need.need, what, why)
    elif any(o.state in IN_HAND for o in left) and not any(o.stage for o in left):
        yield NextStep("do", need.restoration, need.need, f"fit {need.part}", "it has come")
    elif kept := [o for o in left if o.state == "fitted" and _runs_well(books, o)]:
        why = f"{kept[0].order} is fitted and runs well"
        yield NextStep("do", need.restoration, need.need, f"set {need.part} to done in Needs", why)


def _what_became(line: OrderLine) -> str:
    """Say why a line does not serve any more."""
    if line.state == "lost":
        return f"{line.order} was lost"
    if line.wrong:
        sent = ", sent back" if line.state == "returned" else ""
        return f"{line.order} came wrong ({line.wrong}){sent}"
    return f"{line.order} was {line.state}" if line.state in GONE else f"{line.order} never came whole"


def _orders(books: Books, wanted: set[str], on: date) -> Iterator[NextStep]:
    for line in books.orders:
        if line.restoration not in wanted:
            continue
        yield from _from_the_drawer_first(books, line)
        if line.state == "planned":
            yield _planned(books, line)
        elif line.state == "ordered":
            yield _underway(line, on)
        elif line.state == "lost":
            why = "lost: ask for another or for the money back, then mark it received or cancelled; or order it again"
            yield NextStep("ask", line.restoration, line.order, named(line), why)
        elif line.state in IN_HAND:
            yield from _as_it_came(line, on)
            yield from _in_hand(books, line, on)
        if _was_never_tried(books, line):
            why = f"{_what_became(line)}, never tried: order it again before a stronger one"
            yield NextStep("order", line.restoration, line.order, named(line), why)


def _was_never_tried(books: Books, line: OrderLine) -> bool:
    """Return whether a stage went back wrong before it was tried, and no other line stands in for it."""
    if line.state != "returned" or not line.stage or not line.wrong or last_trial(books, line.order):
        return False
    others = [o for o in same_choice(books, line) if o.order != line.order]
    kept = any(_runs_well(books, o) for o in others)
    return not kept and not any(o.stage == line.stage and o.state not in GONE for o in others)


def _runs_well(books: Books, line: OrderLine) -> bool:
    trial = last_trial(books, line.order)
    return trial is not None and side_of(trial.verdict) == "kept"


def _from_the_drawer_first(books: Books, line: OrderLine) -> Iterator[NextStep]:
    """Say that the spring of the drawer is to be tried which a line waits for, once the weaker ones were."""
    spring = drawer_spring_before(books, line) if line.state not in GONE else None
    if spring is not None and _is_its_turn(books, line):
        why = f"it lies in the drawer, before {line.order}; let the spring down fully first"
        yield NextStep("try", line.restoration, spring.drawer, _in_words(spring), why)


def _planned(books: Books, line: OrderLine) -> NextStep:
    how = standing(books, line)
    kind: Kind = "order" if how.due == "due" else "waits"
    return NextStep(kind, line.restoration, line.order, named(line), how.why)


def _underway(line: OrderLine, on: date) -> NextStep:
    why = f"expected {line.expected}" if line.expected else "no day given"
    if line.expected and line.expected < on:
        why += f", {(on - line.expected).days} days late: ask the supplier"
    if line.state != "ordered":
        why = f"{pieces_due(line)} of {pieces_bought(line)} still due, {why}"
    return NextStep("waits for a delivery", line.restoration, line.order, named(line), why)


def _as_it_came(line: OrderLine, on: date) -> Iterator[NextStep]:
    """Say what to do about pieces that are missing, too many, or wrong."""
    if pieces_due(line):
        yield _underway(line, on)
    if pieces_lost(line):
        missing = max(pieces_bought(line) - pieces_came(line), 0)
        if missing:
            why = f"{missing} of {pieces_bought(line)} will not come: order them again, or ask for the money back"
            yield NextStep("ask", line.restoration, line.order, named(line), why)
    until = f" until {line.return_by}" if line.return_by and line.return_by >= on else ""
    if over := pieces_too_many(line):
        why = f"{over} more came than were ordered: send back{until}, or keep: raise Quantity, and pay"
        yield NextStep("send back", line.restoration, line.order, named(line), why)
    if many := pieces_wrong(line):
        words = f"{many} of {pieces_came(line)} wrong ({line.wrong})" if pieces_came(line) > 1 else line.wrong
        why = f"{words}: send back{until}, and order again or ask for another"
        yield NextStep("send back", line.restoration, line.order, named(line), why)


def _in_hand(books: Books, line: OrderLine, on: date) -> Iterator[NextStep]:
    trial = last_trial(books, line.order)
    spare = _is_spare(books, line)
    good = pieces_good(line)
    untried = line.state == "received" and line.stage and not trial and not spare and good
    if untried and _is_its_turn(books, line) and drawer_spring_before(books, line) is None:
        why = "it has come; let the spring down fully first" + _back_soon(line, on)
        yield NextStep("try", line.restoration, line.order, named(line), why)
    elif line.state != "fitted" and good and spare and line.return_by and line.return_by >= on:
        soon = ", soon" if line.return_by - on <= RETURN_SOON else ""
        yield NextStep(
            "send back", line.restoration, line.order, named(line), f"not needed; until {line.return_by}{soon}"
        )
    elif line.state == "received" and good and trial and side_of(trial.verdict) != "kept":
        until = f"; may go back until {line.return_by}" if line.return_by else ""
        why = f"{trial.verdict}: mark it drawer or returned{until}"
        yield NextStep("do", line.restoration, line.order, named(line), why)
    elif line.state in ("received", "in drawer") and good and _back_soon(line, on):
        yield NextStep("send back", line.restoration, line.order, named(line), f"not fitted{_back_soon(line, on)}")


def _back_soon(line: OrderLine, on: date) -> str:
    """Say that the last day to go back is near; nothing where it is not."""
    near = line.return_by is not None and on <= line.return_by <= on + RETURN_SOON
    return f"; may go back until {line.return_by}, soon" if near else ""


def _reviews(books: Books, wanted: set[str], on: date) -> Iterator[NextStep]:
    for piece in books.restorations:
        if piece.restoration in wanted and piece.review_on and piece.review_on <= on:
            yield NextStep("look again", piece.restoration, piece.restoration, piece.piece, f"since {piece.review_on}")
    for need in books.needs:
        if need.restoration in wanted and need.review_on and need.review_on <= on and need.state != "withdrawn":
            yield NextStep("look again", need.restoration, need.need, need.part, f"since {need.review_on}")


def _stock(books: Books) -> Iterator[NextStep]:
    """Say which springs of the drawer are fewer than are to be kept of their size."""
    for spring in books.drawer:
        if spring.keep_at_least and (left := pieces_of_size(books, spring)) < spring.keep_at_least:
            why = f"{left} left, keep at least {spring.keep_at_least}: order again"
            yield NextStep("order", "", spring.drawer, _in_words(spring), why)


def pieces_of_size(books: Books, spring: DrawerSpring) -> int:
    """Return how many springs of ours lie in the drawer that have the size of this one."""
    alike = (d for d in books.drawer if d.state in ("", "in drawer") and d.whose != "owner's")
    return sum(1 if d.pieces is None else d.pieces for d in alike if _size(d) == _size(spring))


def size_in_words(spring: OrderLine | DrawerSpring) -> str:
    """Write a spring's width, strength and length, those that are known."""
    return " × ".join(f"{size.normalize():f}" for size in _size(spring) if size is not None)


def _in_words(spring: DrawerSpring) -> str:
    return f"{spring.label} ({size_in_words(spring)})".strip()


def _size(spring: OrderLine | DrawerSpring) -> tuple[Decimal | None, ...]:
    return spring.width_mm, spring.strength_mm, spring.length_mm


def _is_its_turn(books: Books, line: OrderLine) -> bool:
    """Return whether every weaker stage has been tried, or can no longer be."""
    weaker = [o for o in same_choice(books, line) if (o.stage or 0) < (line.stage or 0)]
    return not any(_may_still_be_tried(o) and not last_trial(books, o.order) for o in weaker)


def _may_still_be_tried(line: OrderLine) -> bool:
    return line.state == "planned" or pieces_due(line) > 0 or pieces_good(line) > 0


def _is_spare(books: Books, line: OrderLine) -> bool:
    """Return whether another spring of the same barrel runs well."""
    barrel = barrel_of(books, line)
    if not barrel:
        return False
    kept = {t.order for t in index(books).trials_of[line.restoration] if t.barrel == barrel}
    trials = [trial for name in kept - {line.order} if (trial := last_trial(books, name))]
    return any(side_of(trial.verdict) == "kept" for trial in trials)


def named(line: OrderLine) -> str:
    """Name an order line in a few words: supplier, item, size."""
    size = size_in_words(line)
    stage = f"stage {line.stage}: " if line.stage else ""
    return f"{stage}{line.supplier} {line.item}".strip() + (f" ({size})" if size else "")
