"""Look a whole book over; put right what is safe to put right, and only when asked."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, ClassVar

from orderbook.answers.means import means_of
from orderbook.book.opened import opened
from orderbook.errors import Finding, spelled
from orderbook.records.books import Books
from orderbook.records.checks import checked
from orderbook.records.rows import gathered
from orderbook.records.steps import Step
from orderbook.reports.changes import in_words
from orderbook.shown import Shown

MOST_FIXES = 10_000  # no book needs as many; two cures that undo each other end here


@dataclass(frozen=True, slots=True, repr=False)
class CheckedBook(Shown):
    """What `check` found, and what it put right."""

    findings: tuple[Finding, ...]
    could_fix: tuple[Step, ...]
    fixed: tuple[Step, ...]

    shown_key: ClassVar[str] = "findings"
    shown_columns: ClassVar[tuple[str, ...]] = ("severity", "where", "saw", "expected", "try_this")

    @property
    def done(self) -> tuple[str, ...]:
        """What was put right, in words."""
        return tuple(in_words(step.change for step in self.fixed))

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON keys of the command."""
        fixed = zip(self.done, self.fixed, strict=True)
        return {
            "fixed": [{"done": words, "finding": step.finding.as_dict()} for words, step in fixed],
            "could_fix": len(self.could_fix),
            "findings": [f.as_dict() for f in self.findings],
        }

    def text(self, **_: Any) -> str:
        """Say each cure and each finding, as the command prints it."""
        gravest = sorted(self.findings, key=lambda f: ("error", "warning", "note").index(f.severity))
        lines = [f"Done: {words}" for words in self.done]
        lines += [f"{found.severity.capitalize()}: {found}" for found in gravest]
        if not self.findings:
            lines.append("The book is in order.")
        elif self.could_fix:
            lines.append(f"\n{len(self.could_fix)} of these can be put right by: {spelled('⟨!check fix⟩')}")
        return "\n".join(lines)


def _read_on_the_bench(books: Books) -> tuple[Finding, ...]:
    """Return readings that no mean takes in, and readings too far apart to be one length."""
    found = (said for barrel in books.barrels if barrel.barrel for said in means_of(books, barrel.barrel).findings)
    return tuple(dict.fromkeys(found))


def check(book: Path, *, on: date, fix: bool = False) -> CheckedBook:
    """Return every finding of a book; with `fix`, do the safe cures first, in one save, and return what is left."""
    at_hand = opened(book)
    books, fixed = at_hand.books, tuple[Step, ...]()
    found = checked(books, on=on)
    while fix and found.fixes and len(fixed) < MOST_FIXES:
        fixed += found.fixes
        books = books.after(step.change for step in found.fixes)  # a cure may call for another
        found = checked(books, on=on)
    if fixed:
        at_hand.save(gathered(at_hand.books.tables, [step.change for step in fixed]))
        at_hand = opened(book)  # rows added have their places only now
        found = checked(at_hand.books, on=on)
    return CheckedBook((*at_hand.look(), *_read_on_the_bench(at_hand.books), *found.findings), found.fixes, fixed)
