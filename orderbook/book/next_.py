"""What can be done now, and what waits for what."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date
from itertools import groupby
from pathlib import Path
from typing import Any, ClassVar

from orderbook.book.opened import opened
from orderbook.records.nextsteps import NextStep, next_steps
from orderbook.shown import Shown

HEADS = {
    "do": "Can be done now",
    "decide": "To be decided",
    "order": "To be ordered",
    "try": "To be tried",
    "ask": "To ask the supplier about",
    "send back": "May go back",
    "look again": "To look at again",
    "waits for a delivery": "Waits for a delivery",
    "waits for a need": "Waits for other work",
    "waits": "Waits for a verdict or an event",
}


@dataclass(frozen=True, slots=True, repr=False)
class NextSteps(Shown):
    """The next steps, what can be done now first."""

    steps: tuple[NextStep, ...]

    shown_key: ClassVar[str] = "next"
    shown_columns: ClassVar[tuple[str, ...]] = ("kind", "restoration", "about", "what", "why")

    def __iter__(self) -> Iterator[NextStep]:
        """Go through the steps."""
        return iter(self.steps)

    def __len__(self) -> int:
        """Return how many steps there are."""
        return len(self.steps)

    def __getitem__(self, number: int) -> NextStep:
        """Return a step by its place, from 0."""
        return self.steps[number]

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON keys of the command."""
        return {"next": [asdict(step) for step in self.steps], "findings": []}

    def text(self, **_: Any) -> str:
        """Say the steps under what they are, as the command prints them."""
        blocks = []
        for kind, group in groupby(self.steps, key=lambda step: step.kind):
            lines = [
                f"  {'  '.join(filter(None, (step.restoration, step.about, step.what)))}: {step.why}" for step in group
            ]
            blocks.append("\n".join([HEADS[kind], *lines]))
        return "\n\n".join(blocks) or "Nothing is open."


def next_(book: Path, restoration: str = "", *, on: date) -> NextSteps:
    """Return the next steps of one restoration, or of all that are not closed."""
    return NextSteps(next_steps(opened(book).books, on=on, restoration=restoration))
