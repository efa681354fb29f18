"""Work out the answers of a book again, and store them with the inputs they were made from."""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from orderbook.errors import Finding, OrderbookError, finding
from orderbook.records.definition import book_definition
from orderbook.sheets.plots import LISTS_NOW
from orderbook.xlsx.cells import Stored
from orderbook.xlsx.changes import Changes, commit, replace_rows
from orderbook.xlsx.reading import OpenBook, Row, columns_of, open_book, table_in
from orderbook.xlsx.recalculation import recalculated
from orderbook.xlsx.user_functions import functions_used

if TYPE_CHECKING:
    from orderbook.book.answer_rows import Answered

ANSWER_TABLES = ("Answers", "Stages", "AlsoFits", "DoesNotGoIn", "Findings", "Torque", "Belief")
LONGEST_NEXT = 125  # letters that the line "Next" of the Bench holds
Report = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Answer:
    """What refresh found for one barrel: its answers, or the one finding that stands in their way."""

    barrel: str
    answered: Answered | None
    problem: Finding | None = None


@dataclass(frozen=True, slots=True)
class Refreshed:
    """What refresh did: barrels worked out anew, barrels that were up to date, what else there is to say."""

    path: Path
    answers: tuple[Answer, ...]
    up_to_date: tuple[str, ...]
    findings: tuple[Finding, ...]
    written: bool = True


def refresh(
    path: Path, barrels: Iterable[str] = (), *, today: dt.date | None = None, everything: bool = False,
    write: bool = True, report: Report = lambda _: None,
) -> Refreshed:  # fmt: skip
    """Work out the answers of the barrels that changed (or of those named) and store them in the book.

    Every cell whose formula uses our worksheet functions, and what depends on it, is worked out too.
    Raises: OrderbookError if the book is open elsewhere or cannot be read or written; it is then as it was.
    """
    book = open_book(path)
    for name in book.anatomy.tables:
        table_in(book, name)  # a column that is gone is said even where no answer is due
    now = _now(book)
    wanted = [row for row in book.rows("Barrels") if _is_due(book, row, now, set(barrels), everything)]
    for name in barrels:
        book.row("Barrels", name)
    answers = tuple(_answers(book, wanted, report))
    if write:
        _store(book, answers, now, today or dt.date.today())
    names = {answer.barrel for answer in answers}
    fresh = tuple(str(row["barrel"]) for row in book.rows("Barrels") if str(row["barrel"]) not in names)
    return Refreshed(path, answers, fresh, book.findings, write)


@dataclass(frozen=True, slots=True)
class Now:
    """What answers are made from, as the book's own formulas say it."""

    inputs: Mapping[str, str]
    lists: str


def _now(book: OpenBook) -> Now:
    """Work the book's formulas out as it stands: stored values may be those of another program, or none."""
    if not book.rows("Barrels"):
        return Now({}, "")
    cells, _ = recalculated(book, {}, [], functions_used(book), again=True)
    table = table_in(book, "Barrels")
    column = columns_of(table, book_definition().tables["Barrels"]).get("inputs_now")
    inputs = {}
    for row in book.rows("Barrels"):
        place = (row.number, column if column is not None else -1)
        inputs[str(row["barrel"])] = str(_value(book, cells, table.sheet, place) or "")
    return Now(inputs, str(_value(book, cells, "Plots", LISTS_NOW) or ""))


def _value(book: OpenBook, cells: Mapping[str, Mapping[Any, Any]], sheet: str, place: tuple[int, int]) -> Any:
    new = cells.get(sheet, {}).get(place)
    if isinstance(new, Stored):
        return new.value
    old = book.cells.get(sheet, {}).get(place)
    return None if old is None else old.value


def _is_due(book: OpenBook, row: Row, now: Now, named: set[str], everything: bool) -> bool:
    name = str(row["barrel"])
    if named:
        return name.casefold() in {n.casefold() for n in named}
    kept = next((a for a in book.tables.get("Answers", ()) if str(a["barrel"]) == name), None)
    if everything or kept is None or str(kept["kept_inputs"] or "") != now.inputs.get(name):
        return True
    return str(kept["kept_lists"] or "") != now.lists and not _is_closed(book, row)


def _is_closed(book: OpenBook, barrel: Row) -> bool:
    piece = str(barrel["restoration"] or "").casefold()
    rows = book.tables.get("Restorations", ())
    return any(str(row["restoration"]).casefold() == piece and row["state"] == "closed" for row in rows)


def _answers(book: OpenBook, rows: Iterable[Row], report: Report) -> Iterable[Answer]:
    rows = list(rows)
    if not rows:
        return
    from orderbook.answers.at_hand import wishes_for
    from orderbook.book.questions import springs_in, wishes_in
    from orderbook.records.books import books_from
    from orderbook.xlsx.record_rows import typed_rows

    (springs, said), wishes, books = springs_in(book), wishes_in(book), books_from(typed_rows(book))
    for row in rows:
        name = str(row["barrel"])
        report(f"{name}: sizing, ranking, choosing")
        try:
            yield Answer(name, answered_in(book, name, springs, wishes_for(books, wishes, name), said))
        except OrderbookError as problem:
            yield Answer(name, None, problem.finding)


def answered_in(book: OpenBook, name: str, springs: Any, wishes: Any, said: tuple[Finding, ...] = ()) -> Answered:
    """Return everything that is worked out for one barrel of a book."""
    from orderbook.barrel.sizing import size
    from orderbook.book.answer_rows import Answered
    from orderbook.book.questions import barrel_in
    from orderbook.choosing.grading import grading_of
    from orderbook.choosing.ranking import consider, ranking_of

    barrel, found = barrel_in(book, name)
    considered = consider(barrel, springs, wishes, (*said, *found))
    return Answered(name, size(barrel, found), ranking_of(considered), grading_of(considered))


def _store(book: OpenBook, answers: tuple[Answer, ...], now: Now, today: dt.date) -> None:
    changes = Changes()
    if answers:
        fresh = {answer.barrel: _rows(answer, now, today) for answer in answers}
        for name in ANSWER_TABLES:
            kept = [_kept(name, row) for row in book.rows(name) if str(row["barrel"]) not in fresh]
            replace_rows(changes, book, name, kept + [row for rows in fresh.values() for row in rows.get(name, [])])
    commit(book, changes, again=True)


def _kept(name: str, row: Row) -> dict[str, Any]:
    worked = {c.key for c in book_definition().tables[name].columns if c.kind == "worked"}
    return {key: value for key, value in row.values.items() if key not in worked}


def _rows(answer: Answer, now: Now, today: dt.date) -> dict[str, list[dict[str, Any]]]:
    from orderbook.book.answer_rows import answer_rows

    if answer.answered is not None:
        rows = answer_rows(answer.answered, today)
        stage = rows["Stages"][0]["stage"] if rows["Stages"] else None
    else:
        rows, stage = _in_the_way(answer, today), None
    rows["Findings"] = [{**row, "where": str(row["where"]).removeprefix("--")} for row in rows["Findings"]]
    rows["Stages"] = [{**row, "why": str(row["why"]).replace(" on average", "")} for row in rows.get("Stages", [])]
    rows["Answers"] = [{**row, "next": _one_line(str(row["next"]))} for row in rows["Answers"]]
    kept = {"kept_inputs": now.inputs.get(answer.barrel, ""), "kept_lists": now.lists, "next_stage": stage}
    rows["Answers"] = [{**row, **kept} for row in rows["Answers"]]
    return rows


def _one_line(words: str) -> str:
    """Return what fits on the line of the Bench, whole sentences first; a book is refreshed, not graded by flags."""
    from orderbook.choosing.grading import GRADE_AGAIN

    words = words.replace(GRADE_AGAIN, "Note it in Barrels, then refresh.")
    if len(words) <= LONGEST_NEXT:
        return words
    short = words[:LONGEST_NEXT]
    end = short.rfind(". ")
    return short[: end + 1] if end > LONGEST_NEXT // 3 else short.rsplit(" ", 1)[0] + " …"


def _in_the_way(answer: Answer, today: dt.date) -> dict[str, list[dict[str, Any]]]:
    problem = answer.problem or finding("book_row_not_used", where=answer.barrel, saw="no answer")
    words = {"number": 1, "severity": "Stop", "where": problem.where, "words": str(problem)}
    next_step = f"Put right first: {problem.where}: {problem.saw}. {problem.try_this}"
    return {
        "Answers": [{"barrel": answer.barrel, "made_on": today, "next": next_step}],
        "Findings": [{"barrel": answer.barrel, **words}],
    }
