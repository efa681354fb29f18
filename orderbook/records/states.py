"""Which step of an order line may follow which; a need or a restoration may be set to any state at any time."""

from __future__ import annotations

from collections.abc import Mapping

Steps = Mapping[str, frozenset[str]]


def _steps(**steps: str) -> Steps:
    return {
        state.replace("_", " "): frozenset(filter(None, (s.strip() for s in after.split(","))))
        for state, after in steps.items()
    }


ORDER: Steps = _steps(
    planned="ordered, cancelled",
    ordered="received, lost, cancelled",
    received="fitted, in drawer, returned",
    fitted="in drawer, returned",
    in_drawer="fitted, returned",
    lost="received, cancelled",  # it turned up, or it was given up
    returned="",
    cancelled="",
)
IN_HAND = frozenset({"received", "fitted", "in drawer"})
PAID = IN_HAND | {"returned"}
GONE = frozenset({"cancelled", "returned", "lost"})  # nothing of the line is to be had any more
MARKS = {"drawer": "in drawer"}  # what a mark is called on the command line, where it differs from the state


def may_follow(steps: Steps, before: str, after: str) -> bool:
    """Return whether a state may be followed by another in one step.

    >>> may_follow(ORDER, "ordered", "received"), may_follow(ORDER, "planned", "received")
    (True, False)
    """
    return after in steps.get(before, frozenset())


def in_words(steps: Steps, before: str) -> str:
    """Say what may follow a state.

    >>> in_words(ORDER, "planned")
    'cancelled or ordered'
    """
    after = sorted(steps.get(before, ()))
    return " or ".join(after) if len(after) < 3 else f"{', '.join(after[:-1])} or {after[-1]}" if after else "nothing"
