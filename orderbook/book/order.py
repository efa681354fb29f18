"""Plan, lay out and mark orders."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from orderbook.book.opened import opened
from orderbook.book.own_folder import fill
from orderbook.errors import Finding, error
from orderbook.records.books import Books
from orderbook.records.identifiers import tidy
from orderbook.records.marking import marked
from orderbook.records.planned_spring import PlannedSpring, stored_stages
from orderbook.records.planning import planned
from orderbook.records.rows import Change
from orderbook.records.tables import OrderLine
from orderbook.reports.orders import OrderSheet, as_csv, as_html, as_text, due_lines, order_sheets, waiting_lines


@dataclass(frozen=True, slots=True)
class Ordered:
    """What `order` did: the book after it, sheets by supplier, lines that wait, and findings."""

    books: Books
    changes: tuple[Change, ...]
    sheets: tuple[OrderSheet, ...]
    waiting: tuple[tuple[OrderLine, str], ...]
    findings: tuple[Finding, ...]


def order(
    book: Path,
    restoration: str,
    *,
    on: date,
    stages: Sequence[tuple[str, Sequence[PlannedSpring]]] = (),
    together: bool = False,
) -> Ordered:
    """Plan the stages that are not in Orders yet, and lay out what is due by supplier.

    Parameters: stages, graded orders as (barrel, its stages); where none are given, those stored in the book;
    together, whether every stage planned now is due at once, in one parcel.
    """
    at_hand = opened(book)
    books = at_hand.books
    books.restoration(restoration)
    changes: tuple[Change, ...] = ()
    findings = tuple(f for f in at_hand.look() if f.code == "answers_stale" and restoration in f.saw)
    for barrel, graded in stages or stored_stages(books, restoration):
        more, told = planned(books, restoration, barrel, graded, all_at_once=together)
        books = books.after(more) if more else books
        changes, findings = changes + more, findings + told
    if changes:
        at_hand.save(changes)
    sheets = order_sheets(books, due_lines(books, restoration))
    findings += tuple(f for sheet in sheets for f in sheet.findings if f not in findings)
    return Ordered(books, changes, sheets, waiting_lines(books, restoration), findings)


def mark(
    book: Path, restoration: str, state: str, names: Sequence[str], *, on: date, pieces: int | None = None
) -> Ordered:
    """Mark order lines of a restoration; `ordered` without names means those that are due.

    Parameters: pieces, how many of one line came or went back, where it was not all of them.
    """
    at_hand = opened(book)
    books = at_hand.books
    books.restoration(restoration)
    chosen = list(names) or [line.order for line in _meant(books, restoration, state)]
    _of_this_restoration(books, restoration, chosen)
    done = marked(books, state, chosen, on=on, pieces=pieces)
    if done.changes:
        at_hand.save(done.changes)
    waiting = waiting_lines(done.books, restoration)
    return Ordered(done.books, done.changes, (), waiting, done.findings)


def _meant(books: Books, restoration: str, state: str) -> Sequence[OrderLine]:
    if state == "ordered":
        return due_lines(books, restoration)
    raise error("order_lines_missing", where="⟨mark⟩", saw=f"{state}, but no order lines")


def _of_this_restoration(books: Books, restoration: str, names: Sequence[str]) -> None:
    for name in names:
        line = books.order(tidy(name))
        if line.restoration != restoration:
            saw = f"{line.order} belongs to {line.restoration}, not to {restoration}"
            raise error("of_another_piece", where=line.row.place.of("restoration"), saw=saw)


def write_sheets(sheets: Sequence[OrderSheet], folder: Path, *, on: date) -> Path:
    """Write each sheet as text, as CSV and as a page to print into a folder.

    Raises: OrderbookError(folder_not_ours).
    """
    files = {}
    for sheet in sheets:
        files[f"{sheet.name}.txt"] = as_text(sheet, on=on).encode("utf-8")
        files[f"{sheet.name}.html"] = as_html(sheet, on=on).encode("utf-8")
        files[f"{sheet.name}.csv"] = as_csv(sheet).encode("utf-8-sig")
    return fill(folder, files)
