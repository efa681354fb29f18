"""Ways of ordering the same choice, compared exactly: all at once, one at a time, the last stage only if needed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from orderbook.choosing.chain import PlanOutcome, account, chain
from orderbook.choosing.rounds import Order, Plan, Rule, best_plan


@dataclass(frozen=True, slots=True)
class Policy:
    """A way of ordering, in words, and its account."""

    policy: str
    account: PlanOutcome


def policies(plan: Plan, lead_days: Sequence[float] | None = None) -> tuple[Policy, ...]:
    """Outcome of the graded order sent for at once, of one spring at a time, and of its last stage held back.

    One at a time is the best plan whose orders hold one spring each; it need not buy the same springs.
    """
    choice, order = plan.table.choice, plan.order
    if not order:
        return ()

    def told_of(policy: str, orders: Sequence[Order]) -> Policy:
        return Policy(policy, account(choice, orders, lead_days, sent_before=plan.sent))

    told = [told_of("all at once", chain(plan, order))]
    if len(order) > 2:
        held = (order[:-1], order[-1:], *chain(plan, order)[1:])
        told.append(told_of("the last one only if needed", held))
    singly = best_plan(replace(choice, most=1), Rule(sent=plan.sent))
    if singly.order:
        told.append(told_of("one at a time", chain(singly, singly.order)))
    return tuple(told)
