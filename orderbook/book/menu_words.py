"""What a window says after an action: one line, the whole answer, and the points to look at one after the other."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import asdict, dataclass
from typing import Any

from orderbook.actions import mended_by
from orderbook.errors import Finding
from orderbook.records.books import Books
from orderbook.records.definition import book_definition
from orderbook.records.identifiers import IDENTIFIED, tidy

LONGEST = 300  # letters of the one line
GRAVEST = ("error", "warning", "note")
WAITS = ("waits for a delivery", "waits for a need", "waits")
MOST_POINTS = 500
_CELL = re.compile(r"(?:'((?:[^']|'')+)'|([^'!:]+))!\$?([A-Z]{1,3})\$?([0-9]+)")
_ROW = re.compile(r"(.+?) row ([0-9]+)\b")
_WORD = re.compile(r"[A-Z]+-[A-Z0-9-]+")


@dataclass(frozen=True, slots=True)
class Point:
    """One thing to look at: how grave, where, what to know, its cell (if it has one), the action that mends it."""

    severity: str
    head: str
    text: str
    sheet: str = ""
    cell: str = ""
    mend: str = ""

    def as_dict(self) -> dict[str, str]:
        """Return it as JSON."""
        return asdict(self)


def headline(done: Any) -> str:
    """Say an answer in one line: the next thing to do where it has one, else what was done."""
    if said := str(getattr(done, "next_action", "") or getattr(done, "said", "")):
        return shortened(said)
    match type(done).__name__:
        case "Refreshed":
            return shortened(_refreshed(done))
        case "Ordered":
            return shortened(_ordered(done))
        case "CheckedBook":
            return shortened(_checked(done))
        case "NextSteps":
            now = sum(step.kind not in WAITS for step in done)
            return f"{_many(now, 'thing')} can be done now, {_many(len(done) - now, 'thing')} must wait."
    lines = [line.strip() for line in done.text().splitlines() if line.strip()]
    return shortened(lines[-1] if lines else "Done.")


def _refreshed(done: Any) -> str:
    if not done.answers:
        return "Everything was up to date."
    said = [
        f"{one.barrel}: {one.answer.grading.next_action if one.answer else one.problem}" for one in done.answers
    ]  # fmt: skip
    return " ".join(said)


def _ordered(done: Any) -> str:
    from orderbook.reports.changes import in_words

    if done.marked:
        lines = [words for words in in_words(done.changes) if words.startswith("Orders")]
        return " ".join(lines) or "Nothing had to be changed."
    due = [f"{x.line.order} from {sheet.supplier}" for sheet in done.sheets for x in sheet.lines]
    waiting = f" {_many(len(done.waiting), 'line')} must wait." if done.waiting else ""
    return (f"Due now: {', '.join(due)}." if due else f"Nothing of {done.restoration} is due to be ordered.") + waiting


def _checked(done: Any) -> str:
    fixed = f"{_many(len(done.fixed), 'thing')} put right. " if done.fixed else ""
    if not done.findings:
        return fixed + "The book is in order."
    could = f"; {len(done.could_fix)} can be put right safely" if done.could_fix and not done.fixed else ""
    return f"{fixed}{_many(len(done.findings), 'cell')} to look at{could}."


def _many(count: int, what: str) -> str:
    """Say a number of things.

    >>> _many(1, "line"), _many(0, "line")
    ('1 line', 'no lines')
    """
    return f"{count or 'no'} {what}{'' if count == 1 else 's'}"


def shortened(words: str, longest: int = LONGEST) -> str:
    """Keep to what one line holds, cut between words.

    >>> shortened("a long story", 8)
    'a long …'
    """
    line = " ".join(words.split())
    return line if len(line) <= longest else line[: longest - 1].rsplit(" ", 1)[0] + " …"


def points_of(done: Any, books: Books | None) -> list[Point]:
    """Return what there is to look at, gravest first; steps and rows that stayed out are points too."""
    found = [*_findings(getattr(done, "findings", ()), books), *_rejects(done), *_steps(done, books)]
    return found[:MOST_POINTS]


def _findings(findings: Iterable[Finding], books: Books | None) -> Iterator[Point]:
    for said in sorted(findings, key=lambda f: GRAVEST.index(f.severity)):
        mend = mended_by(said.code)
        text = _sentences(said.saw, said.expected, said.try_this)
        yield Point(said.severity, said.where, text, *cell_of(said.where, books), mend.key if mend else "")


def _sentences(*parts: str) -> str:
    return " ".join(part if part.endswith((".", "!", "?")) else f"{part}." for part in parts if part)


def _rejects(done: Any) -> Iterator[Point]:
    """Rows of a list that could not be used: they have no cell in the book."""
    for reject in getattr(getattr(done, "reading", None), "rejects", ()):
        yield Point("warning", f"{reject.file}, line {reject.line}", _sentences(reject.reason, reject.try_this))


def _steps(done: Any, books: Books | None) -> Iterator[Point]:
    if type(done).__name__ == "NextSteps":
        for step in done:
            text = f"{step.what}: {step.why}."
            yield Point("note", f"{step.kind}: {step.restoration} {step.about}", text, *cell_of(step.about, books))


def cell_of(where: str, books: Books | None) -> tuple[str, str]:
    """Return sheet and cell that words name: an address, a row, or an identifier of the book; empty if they name none.

    >>> cell_of("Ledger!F30 (amount)", None), cell_of("'my own'!$B$2", None), cell_of("the bore", None)
    (('Ledger', 'F30'), ('my own', 'B2'), ('', ''))
    """
    if match := _CELL.search(where):
        return (match[1] or match[2]).replace("''", "'").strip(), f"{match[3]}{match[4]}"
    if books is None:
        return "", ""
    if (match := _ROW.match(where)) and match[1] in book_definition().sheets:
        return match[1], f"B{match[2]}"
    for word in _WORD.findall(where):
        if found := _cell_of_id(word, books):
            return found
    return "", ""


def _cell_of_id(word: str, books: Books) -> tuple[str, str] | None:
    for name, key in IDENTIFIED.items():
        for row in books.tables.get(name, ()):
            if tidy(str(row.get(key) or "")) == tidy(word):
                letters = row.place.columns.get(key, "B")
                return row.place.sheet or name, f"{letters}{row.place.row}"
    return None
