"""Ways of ordering the same choice, compared exactly: all at once, one at a time, the last stage only if needed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from orderbook.choosing.chain import Account, account, chain
from orderbook.choosing.rounds import Plan, best_plan


@dataclass(frozen=True, slots=True)
class Policy:
    """A way of ordering, in words, and its account."""

    policy: str
    account: Account


def policies(plan: Plan, lead_days: Sequence[float] | None = None) -> tuple[Policy, ...]:
    """Account of the graded order sent for at once, of one spring at a time, and of its last stage held back.

    One at a time is the best plan whose orders hold one spring each; it need not buy the same springs.
    """
    choice, order = plan.table.choice, plan.order
    if not order:
        return ()
    told = [Policy("all at once", account(choice, chain(plan, order), lead_days))]
    if len(order) > 2:
        held = (order[:-1], order[-1:], *chain(plan, order)[1:])
        told.append(Policy("the last one only if needed", account(choice, held, lead_days)))
    singly = best_plan(replace(choice, most=1))
    if singly.order:
        told.append(Policy("one at a time", account(choice, chain(singly, singly.order), lead_days)))
    return tuple(told)
