"""Note how a fitted spring did, and say what comes next."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import date
from pathlib import Path
from typing import Any, ClassVar

from orderbook.answers.after_trial import AfterVerdict, after_verdict
from orderbook.book.opened import opened
from orderbook.cautions import Caution, caution
from orderbook.errors import Finding
from orderbook.records.books import Books
from orderbook.records.identifiers import restoration_of
from orderbook.records.marking import tried
from orderbook.records.nextsteps import NextStep, next_steps
from orderbook.records.rows import Append, Change, Value
from orderbook.records.verdicts import side_of
from orderbook.reports.changes import in_words
from orderbook.reports.tables import wrapped
from orderbook.shown import Shown


@dataclass(frozen=True, slots=True, repr=False)
class TrialNoted(Shown):
    """What `trial` did: the book after it, what to do next for that barrel, and findings."""

    books: Books
    changes: tuple[Change, ...]
    barrel: str
    answer: AfterVerdict | None
    next_steps: tuple[NextStep, ...]
    findings: tuple[Finding, ...]
    cautions: tuple[Caution, ...] = ()
    refreshed: bool = False

    shown_key: ClassVar[str] = "next"
    shown_columns: ClassVar[tuple[str, ...]] = ("kind", "restoration", "about", "what", "why")

    @property
    def next_action(self) -> str:
        """What to do next for the barrel; empty where no answer could be worked out."""
        return self.answer.next_action if self.answer else ""

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON keys of the command."""
        return {
            "barrel": self.barrel,
            "answer": None if self.answer is None else _as_dict(self.answer),
            "refreshed": self.refreshed,
            "next": [asdict(step) for step in self.next_steps],
            "cautions": [str(said) for said in self.cautions],
            "changes": len(self.changes),
            "findings": [f.as_dict() for f in self.findings],
        }

    def text(self, **_: Any) -> str:
        """Say what is in the book now and what to do next, as the command prints it."""
        lines = in_words(self.changes)
        lines += [f"{found.severity.capitalize()}: {found}" for found in self.findings]
        lines += _said(self, self.answer) if self.answer else []
        if self.next_steps:
            lines.append("\nIn the book of this piece:" if self.answer else "\nNext:")
            lines += [f"  {step.kind}: {step.about}, {step.what}; {step.why}" for step in self.next_steps]
        lines += ["\n" + wrapped(f"Caution: {said}") for said in self.cautions]
        return "\n".join(lines)


def _as_dict(answer: AfterVerdict) -> dict[str, Any]:
    return {
        "need_before": asdict(answer.before),
        "need_after": asdict(answer.after),
        "action": answer.action,
        "next_action": answer.next_action,
    }


def _said(done: TrialNoted, answer: AfterVerdict) -> list[str]:
    was, now = (
        f"{n.median:.0f} % (nine times in ten {n.low:.0f} to {n.high:.0f})" for n in (answer.before, answer.after)
    )
    lines = [wrapped(f"The need of {done.barrel} was probably about {was}; with this verdict it is {now}.")]
    lines.append(wrapped(f"Next: {answer.next_action}"))
    if done.refreshed:
        lines.append(wrapped(f"The answers of {done.barrel} in the book are worked out anew."))
    return ["\n" + line for line in lines]


def trial(book: Path, spring: str, verdict: str, *, on: date, barrel: str = "", **seen: Value) -> TrialNoted:
    """Add a row to Trials, fire or cancel the stages that waited for it, and keep the book.

    With it the need, the next action and the answers the book keeps of the barrel are worked out, from the list once,
    and saved in the same step. What stands in the way of an answer is a finding; the verdict is in the book.
    """
    at_hand = opened(book)
    done = tried(at_hand.books, spring, verdict, on=on, barrel=barrel, **seen)
    first = done.changes[0]
    assert isinstance(first, Append)
    where = str(first.values["barrel"])
    answer, more = after_verdict(done.books, str(first.values["order"]), where)
    refreshed = answer is not None and at_hand.file is not None
    at_hand.save(done.changes, {where: answer.answer} if answer and refreshed else None, made_on=on)
    steps = next_steps(done.books, on=on, restoration=restoration_of(where))
    cautions = (caution("too_strong"),) if side_of(verdict.casefold().strip()) == "weak" else ()
    return TrialNoted(done.books, done.changes, where, answer, steps, (*done.findings, *more), cautions, refreshed)
