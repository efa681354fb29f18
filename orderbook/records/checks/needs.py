"""Needs: circles, missing decisions, and orders for what was withdrawn."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from orderbook.errors import Finding, finding
from orderbook.records.books import Books
from orderbook.records.index import index
from orderbook.records.waiting import circles, dependencies


def circles_and_decisions(books: Books, on: date) -> Iterator[Finding]:
    """Needs that wait for each other in a circle, and needs whose state and decision do not agree."""
    needs = index(books).needs
    for way in circles(dependencies(books)):
        if first := needs.get(way[0]):
            saw = " waits for ".join((*way, way[0])) if len(way) > 1 else f"{way[0]} waits for itself"
            yield finding("needs_in_a_circle", where=first.row.place.of("depends_on"), saw=saw)
    for need in books.needs:
        if need.state in ("decided", "done") and not need.decision:
            saw = f"{need.need} ({need.part}) is {need.state} without a decision"
            yield finding("decision_missing", where=need.row.place.of("decision"), saw=saw)
        if need.state == "done" and (open_ones := [n for n in need.depends_on if n in needs and _open(needs[n].state)]):
            saw = f"{need.need} is done, but {', '.join(open_ones)} it depends on is not"
            yield finding("done_too_early", where=need.row.place.of("state"), saw=saw)
        if need.state == "withdrawn" and not need.reason:
            saw = f"{need.need} ({need.part}) is withdrawn without a reason"
            yield finding("reason_missing", where=need.row.place.of("reason"), saw=saw)


def _open(state: str) -> bool:
    return state in ("", "open", "decided")


def withdrawn_but_ordered(books: Books, on: date) -> Iterator[Finding]:
    """Order lines still planned or on their way for a need that was withdrawn."""
    needs = index(books).needs
    for line in books.orders:
        need = needs.get(line.need)
        if need and need.state == "withdrawn" and line.state in ("planned", "ordered"):
            saw = f"{line.order} is {line.state} for {need.need} ({need.part}), which is withdrawn"
            yield finding("withdrawn_but_ordered", where=line.row.place.of("state"), saw=saw)
