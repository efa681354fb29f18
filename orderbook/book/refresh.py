"""Work out the answers of a book again, and store them with the inputs they were made from."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, ClassVar

from orderbook.answers.answer import Answer, Report, answer_about
from orderbook.answers.asked import barrel_of
from orderbook.answers.fingerprint import Fingerprints, fingerprints
from orderbook.answers.staleness import what_changed
from orderbook.errors import Finding, OrderbookError, finding, speaking
from orderbook.records.books import Books
from orderbook.records.checks.typing import below_tables
from orderbook.records.definition import book_definition
from orderbook.records.identifiers import tidy
from orderbook.records.index import index
from orderbook.records.rows import Row
from orderbook.records.spelling import in_cells
from orderbook.records.tables import BarrelRow
from orderbook.shown import Shown
from orderbook.xlsx.changes import Changes, commit, replace_rows
from orderbook.xlsx.reading import OpenBook, open_book

ANSWER_TABLES = ("Answers", "Stages", "AlsoFits", "DoesNotGoIn", "Findings", "Torque", "Belief")
LONGEST_NEXT = 125  # letters that the line "Next" of the Bench holds


@dataclass(frozen=True, slots=True)
class BarrelAnswer:
    """What refresh found for one barrel: its answer, or the one finding that stands in its way."""

    barrel: str
    answer: Answer | None
    problem: Finding | None = None

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON keys of one barrel."""
        return {
            "barrel": self.barrel,
            "size": self.answer.sizing.as_dict() if self.answer else None,
            "grade": self.answer.grading.as_dict() if self.answer else None,
            "problem": self.problem.as_dict() if self.problem else None,
        }


@dataclass(frozen=True, slots=True, repr=False)
class Refreshed(Shown):
    """What refresh did: barrels worked out anew, barrels that were up to date, what else there is to say."""

    path: Path
    answers: tuple[BarrelAnswer, ...]
    up_to_date: tuple[str, ...]
    findings: tuple[Finding, ...]
    written: bool = True

    shown_columns: ClassVar[tuple[str, ...]] = ("barrel", "next_action", "problem")

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON keys of the command."""
        return {
            "barrels": [one.as_dict() for one in self.answers],
            "up_to_date": list(self.up_to_date),
            "findings": [f.as_dict() for f in self.findings],
        }

    def shown_rows(self) -> list[dict[str, Any]]:
        """Return the barrels worked out anew, a row each: what to do next, or what stands in the way."""
        return [
            {
                "barrel": one.barrel,
                "next_action": one.answer.grading.next_action if one.answer else None,
                "problem": str(one.problem) if one.problem else None,
            }
            for one in self.answers
        ]

    def text(self, **_: Any) -> str:
        """Say each barrel's stages and what else there is, as the command prints it."""
        lines = [_line(one) for one in self.answers]
        if self.up_to_date:
            lines.append(f"up to date: {', '.join(self.up_to_date)}")
        lines += [f"{f.severity}: {f}" for f in self.findings if f.severity != "note"]
        if self.written:
            lines.append(f"{self.path} is written; the book as it was is {self.path.name}.bak.")
        return "\n".join(lines)


def _line(one: BarrelAnswer) -> str:
    if one.answer is None:
        return f"{one.barrel}: {one.problem}"
    graded = one.answer.grading
    stages = (f"stage {s['stage']}: {s['supplier']} {s['item']}, {_size(s)}" for s in graded.stage_dicts())
    said = "; ".join(stages)
    return f"{one.barrel}: {graded.next_action}" + (f"\n  {said}" if said else "")


def _size(stage: Mapping[str, Any]) -> str:
    return f"{stage['width_mm']:g} x {stage['strength_mm']:.3g} x {stage['length_mm']:.0f}"


def refresh(
    path: Path, barrels: Iterable[str] = (), *, today: dt.date | None = None, everything: bool = False,
    write: bool = True, report: Report = lambda _: None,
) -> Refreshed:  # fmt: skip
    """Work out the answers of the barrels that changed (or of those named) and store them in the book.

    Every cell whose formula uses our worksheet functions, and what depends on it, is worked out too.
    Raises: OrderbookError if the book is open elsewhere or cannot be read or written; it is then as it was.
    """
    book = open_book(path)
    books = book.records()  # a column that is gone is said even where no answer is due
    named = {tidy(name) for name in barrels}
    if unknown := named - set(index(books).barrels):
        barrel_of(books, min(unknown))  # says which there are
    wanted = [row for row in books.barrels if row.barrel and _is_due(books, row, named, everything)]
    found = tuple(_answers(books, wanted, report))
    if write:
        changes = Changes()
        _store(changes, book, found, fingerprints(books), today or dt.date.today())
        commit(book, changes, again=True)
    names = {one.barrel for one in found}
    fresh = tuple(row.barrel for row in books.barrels if row.barrel and row.barrel not in names)
    return Refreshed(path, found, fresh, (*book.findings, *books.unread, *below_tables(books)), write)


def with_answers(
    changes: Changes, book: OpenBook, after: Books, answers: Mapping[str, Answer], made_on: dt.date | None = None
) -> None:
    """Add answers to the changes of a book, with what they were made from: the book as it is `after` those changes."""
    found = tuple(BarrelAnswer(name, answer) for name, answer in answers.items())
    _store(changes, book, found, fingerprints(after), made_on or dt.date.today())


def _is_due(books: Books, row: BarrelRow, named: set[str], everything: bool) -> bool:
    if named:
        return row.barrel in named
    kept = next((answer for answer in books.answers if answer.barrel == row.barrel), None)
    return everything or kept is None or bool(what_changed(books, kept))


def _answers(books: Books, rows: Iterable[BarrelRow], report: Report) -> Iterable[BarrelAnswer]:
    for row in rows:
        report(f"{row.barrel}: sizing, ranking, choosing")
        try:
            yield BarrelAnswer(row.barrel, answer_about(books, row.barrel))
        except OrderbookError as problem:
            yield BarrelAnswer(row.barrel, None, problem.finding)


def _store(
    changes: Changes, book: OpenBook, found: tuple[BarrelAnswer, ...], now: Fingerprints, today: dt.date
) -> None:
    if not found:
        return
    with speaking(in_cells):
        fresh = {one.barrel: _rows(one, now, today) for one in found}
    for name in ANSWER_TABLES:
        of_barrel: dict[str, list[dict[str, Any]]] = {}
        for row in book.rows(name):
            of_barrel.setdefault(tidy(str(row["barrel"])), []).append(_kept(name, row))
        of_barrel |= {barrel: rows.get(name, []) for barrel, rows in fresh.items()}  # each barrel where it stood
        replace_rows(changes, book, name, [row for rows in of_barrel.values() for row in rows])


def _kept(name: str, row: Row) -> dict[str, Any]:
    worked = {c.key for c in book_definition().tables[name].columns if c.kind == "worked"}
    return {key: value for key, value in row.values.items() if key not in worked}


def _rows(found: BarrelAnswer, now: Fingerprints, today: dt.date) -> dict[str, list[dict[str, Any]]]:
    from orderbook.book.answer_rows import answer_rows

    if found.answer is not None:
        rows = answer_rows(found.answer, today)
        stage = rows["Stages"][0]["stage"] if rows["Stages"] else None
    else:
        rows, stage = _in_the_way(found, today), None
    rows["Answers"] = [{**row, "next": _one_line(str(row["next"]))} for row in rows["Answers"]]
    kept = {"kept_inputs": now.inputs.get(found.barrel, ""), "kept_lists": now.lists, "next_stage": stage}
    rows["Answers"] = [{**row, **kept} for row in rows["Answers"]]
    return rows


def _one_line(words: str) -> str:
    """Return what fits on the line of the Bench, whole sentences first."""
    if len(words) <= LONGEST_NEXT:
        return words
    short = words[:LONGEST_NEXT]
    end = short.rfind(". ")
    return short[: end + 1] if end > LONGEST_NEXT // 3 else short.rsplit(" ", 1)[0] + " …"


def _in_the_way(found: BarrelAnswer, today: dt.date) -> dict[str, list[dict[str, Any]]]:
    problem = found.problem or finding("book_row_not_used", where=found.barrel, saw="no answer")
    words = {"number": 1, "severity": "Stop", "where": problem.where, "words": str(problem)}
    next_step = f"Put right first: {problem.where}: {problem.saw}. {problem.try_this}"
    return {
        "Answers": [{"barrel": found.barrel, "made_on": today, "next": next_step}],
        "Findings": [{"barrel": found.barrel, **words}],
    }
