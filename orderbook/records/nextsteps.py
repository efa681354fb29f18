"""What can be done now, what waits for what, and what waits for a delivery."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from orderbook.records.books import Books
from orderbook.records.index import barrel_of, index
from orderbook.records.stages import same_choice, standing
from orderbook.records.states import IN_HAND
from orderbook.records.tables import Need, OrderLine
from orderbook.records.verdicts import last_trial, side_of
from orderbook.records.waiting import in_order, waits_for

Kind = Literal["do", "decide", "order", "try", "send back", "waits for a delivery", "waits for a need", "waits"]
KINDS: tuple[Kind, ...] = (
    "do", "decide", "order", "try", "send back", "waits for a delivery", "waits for a need", "waits"
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
    """Return what can be done now, then what waits; of one restoration, or of all that are not closed."""
    found = index(books)
    if restoration:
        books.restoration(restoration)
    wanted = [r.restoration for r in books.restorations if restoration in ("", r.restoration)]
    open_ones = {name for name in wanted if restoration or found.restorations[name].state != "closed"}
    steps = [*_needs(books, open_ones), *_orders(books, open_ones, on)]
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
    elif need.decision != "buy":
        yield NextStep("do", need.restoration, need.need, what, need.reason or "nothing is in the way")
    else:
        lines = [o for o in index(books).orders_for[need.need] if o.state not in ("cancelled", "returned")]
        if not lines:
            yield NextStep("order", need.restoration, need.need, what, "no order line yet")
        elif any(o.state in IN_HAND for o in lines) and not any(o.stage for o in lines):
            yield NextStep("do", need.restoration, need.need, f"fit {need.part}", "it has come")
        elif kept := [o for o in lines if o.state == "fitted" and _runs_well(books, o)]:
            why = f"{kept[0].order} is fitted and runs well"
            yield NextStep("do", need.restoration, need.need, f"set {need.part} to done in Needs", why)


def _orders(books: Books, wanted: set[str], on: date) -> Iterator[NextStep]:
    for line in books.orders:
        if line.restoration not in wanted:
            continue
        if line.state == "planned":
            yield _planned(books, line)
        elif line.state == "ordered":
            yield _underway(line, on)
        elif line.state in IN_HAND:
            yield from _in_hand(books, line, on)


def _runs_well(books: Books, line: OrderLine) -> bool:
    trial = last_trial(books, line.order)
    return trial is not None and side_of(trial.verdict) == "kept"


def _planned(books: Books, line: OrderLine) -> NextStep:
    how = standing(books, line)
    kind: Kind = "order" if how.due == "due" else "waits"
    return NextStep(kind, line.restoration, line.order, named(line), how.why)


def _underway(line: OrderLine, on: date) -> NextStep:
    why = f"expected {line.expected}" if line.expected else "no day given"
    if line.expected and line.expected < on:
        why += f", {(on - line.expected).days} days late: ask the supplier"
    return NextStep("waits for a delivery", line.restoration, line.order, named(line), why)


def _in_hand(books: Books, line: OrderLine, on: date) -> Iterator[NextStep]:
    trial = last_trial(books, line.order)
    spare = _is_spare(books, line)
    if line.state == "received" and line.stage and not trial and not spare and _is_its_turn(books, line):
        yield NextStep("try", line.restoration, line.order, named(line), "it has come; let the spring down fully first")
    elif line.state != "fitted" and spare and line.return_by and line.return_by >= on:
        soon = ", soon" if line.return_by - on <= RETURN_SOON else ""
        yield NextStep(
            "send back", line.restoration, line.order, named(line), f"not needed; until {line.return_by}{soon}"
        )
    elif line.state == "received" and trial and side_of(trial.verdict) != "kept":
        until = f"; may go back until {line.return_by}" if line.return_by else ""
        why = f"{trial.verdict}: mark it drawer or returned{until}"
        yield NextStep("do", line.restoration, line.order, named(line), why)


def _is_its_turn(books: Books, line: OrderLine) -> bool:
    """Return whether every weaker stage has been tried, or can no longer be."""
    weaker = [o for o in same_choice(books, line) if (o.stage or 0) < (line.stage or 0)]
    return all(last_trial(books, o.order) or o.state in ("cancelled", "returned") for o in weaker)


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
    sizes = (line.width_mm, line.strength_mm, line.length_mm)
    size = " × ".join(f"{s.normalize():f}" for s in sizes if s is not None)
    stage = f"stage {line.stage}: " if line.stage else ""
    return f"{stage}{line.supplier} {line.item}".strip() + (f" ({size})" if size else "")
