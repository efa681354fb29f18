"""After a trial: what is believed now, and what to do next."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

from orderbook.choosing.belief import Belief, start_belief
from orderbook.choosing.considering import Considered
from orderbook.choosing.evidence import weigh
from orderbook.choosing.grading import HOLD_BACK, Grading, grading_of
from orderbook.choosing.seen import evidence_of

Action = Literal["keep", "set up", "fit", "order", "rod test", "look elsewhere", "nothing"]


@dataclass(frozen=True, slots=True)
class AfterTrial:
    """What the last verdict changed: the need before and after it, the graded order now, and what to do."""

    verdict: str
    before: Belief
    grading: Grading
    action: Action
    next_action: str

    @property
    def after(self) -> Belief:
        """The belief with the last verdict."""
        return self.grading.considered.weighed.belief

    def as_dict(self) -> dict[str, Any]:
        """The keys of `grade`, with the action and the need before the verdict."""
        low, high = self.before.interval_index()
        was = {"need_low": low, "need_high": high, "need_median": self.before.median_index}
        told = {"verdict": self.verdict, "action": self.action, "next_action": self.next_action, "before": was}
        return self.grading.as_dict() | told


def advice_on(c: Considered) -> AfterTrial:
    """Answer the last verdict of a barrel from what is considered of it now; the list is gone through once.

    Raises: ValueError if nothing was tried.
    """
    if not c.bench.tried:
        raise ValueError("no spring was tried in this barrel")
    last = c.bench.tried[-1]
    earlier = evidence_of(c.bench, c.scale, c.tried[:-1])[0]
    before = weigh(start_belief(c.start.median, c.start.spread), earlier, c.scale.needed_load()).belief
    grading = grading_of(c)
    if last.verdict == "ran well" and not c.weighed.contradicts:
        words = f"Keep {last.said or 'it'}: the first that runs well is the one."
        return AfterTrial(last.verdict, before, grading, "keep", words)
    return AfterTrial(last.verdict, before, grading, _action(grading), grading.next_action)


def _action(grading: Grading) -> Action:
    c = grading.considered
    if grading.first_action:
        return "set up"
    if any(f.code in HOLD_BACK for f in grading.findings) and not c.options.even_so:
        return "look elsewhere"
    if not grading.fittings:
        return "nothing"
    if grading.rod_test is not None and grading.rod_test.pays:
        return "rod test"
    return "fit" if c.offer.is_owned(grading.fittings[0].row) else "order"
