"""Looking a whole book over: every rule gives findings that name the cell; the safe ones carry their cure."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date

from orderbook.errors import Finding
from orderbook.records.bookkeeping import settled
from orderbook.records.books import Books
from orderbook.records.checks import amounts, bench, dates, identity, needs, orders, typing
from orderbook.records.rows import Clear, Put
from orderbook.records.steps import Step

Rule = Callable[[Books, date], Iterable[Finding]]
RULES: tuple[Rule, ...] = (
    identity.without_identifier,
    identity.misshapen,
    identity.twice,
    identity.orphans,
    identity.of_another_piece,
    orders.impossible_states,
    orders.closed_restorations,
    orders.triggers,
    orders.receipts,
    orders.returns,
    orders.parcels,
    orders.trials_of_what_never_came,
    needs.circles_and_decisions,
    needs.withdrawn_but_ordered,
    bench.verdicts_turned_round,
    bench.trials_twice,
    typing.not_listed,
    typing.without_value,
    typing.days_for_numbers,
    amounts.negative,
    amounts.not_above_zero,
    amounts.too_fine,
    amounts.not_added,
    amounts.own_rate,
    amounts.mixed_currencies,
    amounts.tax_without_base,
    amounts.ledger_against_orders,
    amounts.credits_of_another_sum,
    amounts.above_estimate,
    amounts.estimates_differ,
    amounts.paid_for_nothing,
    amounts.settings,
    dates.backwards,
    dates.late,
    dates.returns,
)


@dataclass(frozen=True, slots=True)
class Checked:
    """What a check found; `fixes` are the safe cures, each with the finding it answers."""

    findings: tuple[Finding, ...]
    fixes: tuple[Step, ...]


def checked(books: Books, *, on: date) -> Checked:
    """Look a book over with every rule; nothing is changed.

    Parameters: on, the day by which deliveries are late and returns are near.
    """
    steps = (*typing.fixes(books), *amounts.missing_rates(books), *settled(books, on=on))
    cleared = {(s.change.table, s.change.row) for s in steps if isinstance(s.change, Clear)}
    fixes = tuple(s for s in steps if not (isinstance(s.change, Put) and (s.change.table, s.change.row) in cleared))
    answered = {(step.finding.code, step.finding.where) for step in fixes}
    told = [f for f in books.unread if (f.code, f.where) not in answered]
    told += typing.below_tables(books)
    told += [f for rule in RULES for f in rule(books, on) if (f.code, f.where) not in answered]
    return Checked((*(step.finding for step in fixes), *_once(told)), fixes)


def _once(told: list[Finding]) -> list[Finding]:
    """Say one cell that no total takes in once: why it is not added says that it is no number."""
    left_out = {f.where for f in told if f.code == "row_not_added"}
    return [f for f in told if f.code != "cell_not_a_number" or f.where not in left_out]
