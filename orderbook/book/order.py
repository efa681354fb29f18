"""Plan, lay out and mark orders."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from orderbook.book.graded import graded_order
from orderbook.book.opened import opened
from orderbook.book.own_folder import fill
from orderbook.errors import Finding, error, spelled
from orderbook.records.books import Books
from orderbook.records.identifiers import tidy
from orderbook.records.marking import marked
from orderbook.records.nextsteps import named
from orderbook.records.planned_spring import PlannedSpring, stored_stages
from orderbook.records.planning import planned
from orderbook.records.rows import Change
from orderbook.records.tables import OrderLine
from orderbook.reports.changes import in_words
from orderbook.reports.orders import (
    OrderSheet,
    as_csv,
    as_dict,
    as_html,
    as_text,
    due_lines,
    order_sheets,
    waiting_lines,
)
from orderbook.reports.tables import wrapped
from orderbook.shown import Shown

if TYPE_CHECKING:
    from orderbook.choosing.grading import Grading


@dataclass(frozen=True, slots=True, repr=False)
class Ordered(Shown):
    """What `order` did: the book after it, sheets by supplier, lines that wait, and findings.

    `marked` is what lines were marked with, empty where orders were planned; `into` the folder the sheets are in.
    """

    books: Books
    changes: tuple[Change, ...]
    sheets: tuple[OrderSheet, ...]
    waiting: tuple[tuple[OrderLine, str], ...]
    findings: tuple[Finding, ...]
    restoration: str
    on: date
    marked: str = ""
    into: Path | None = None

    shown_columns: ClassVar[tuple[str, ...]] = (
        "supplier", "order", "item", "packs", "in_a_pack", "width_mm", "strength_mm", "length_mm", "price_a_pack",
        "currency", "goods", "postage_share", "tax", "waits",
    )  # fmt: skip

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON keys of the command."""
        return {
            "sheets": [as_dict(sheet) for sheet in self.sheets],
            "waiting": [{"order": line.order, "why": why} for line, why in self.waiting],
            "changes": len(self.changes),
            "findings": [f.as_dict() for f in self.findings],
        }

    def shown_rows(self) -> list[dict[str, Any]]:
        """Return the lines that are due, a row each with its supplier, then those that wait and for what."""
        due = [
            {"supplier": sheet["supplier"], **line} for sheet in map(as_dict, self.sheets) for line in sheet["lines"]
        ]
        return due + [
            {"supplier": x.supplier, "order": x.order, "item": x.item, "waits": why} for x, why in self.waiting
        ]

    def text(self, **_: Any) -> str:
        """Say what changed, and lay out what is due by supplier, as the command prints it."""
        lines = in_words(self.changes)
        for sheet in self.sheets:
            lines.append(("\n" if lines else "") + as_text(sheet, on=self.on))
            lines += ["\n" + wrapped(f"Caution: {said}") for said in sheet.cautions]
        if not self.marked and not self.sheets:
            lines.append(f"Nothing of {self.restoration} is due to be ordered.")
        for line, why in self.waiting:
            planned_now = f"\nNot on a sheet: {line.order}, {named(line)}: waits {why}."
            lines.append(f"{line.order} waits {why}." if self.marked else planned_now)
        if self.into and self.sheets:
            lines.append(f"\nWritten into {self.into}.")
        lines += [f"{found.severity.capitalize()}: {found}" for found in self.findings]
        if not self.marked and self.sheets:
            due = " ".join(x.line.order for sheet in self.sheets for x in sheet.lines)
            said = spelled(f"⟨!order {self.restoration} {due} mark=ordered⟩")
            lines.append(f"\nWhen it has gone out: {said}")
        return "\n".join(lines)


def order(
    book: Path,
    restoration: str,
    lines: Sequence[str] = (),
    *,
    on: date,
    mark: str = "",
    pieces: int | None = None,
    stages: Grading | Path | str | None = None,
    barrel: str = "",
    together: bool = False,
    into: Path | None = None,
) -> Ordered:
    """Plan the stages that are not in Orders yet, and lay out what is due by supplier; with `mark`, mark lines instead.

    Parameters: lines and pieces, as `marked`; stages, a graded order for a barrel, where none is given those stored in
    the book; together, whether every stage planned now is due at once, in one parcel; into, a folder for the sheets.
    Raises: OrderbookError as `planned` and `marked`, and for what does not go together (pieces_not_possible).
    """
    name = tidy(restoration)
    if pieces is not None and not mark:
        raise error("pieces_not_possible", where="⟨pieces⟩", saw="nothing is marked")
    if mark:
        return _marked(book, name, mark, lines, on, pieces)
    done = _planned(book, name, on, [graded_order(stages, barrel)] if stages is not None else [], together)
    if into is None or not done.sheets:
        return done
    return replace(done, into=write_sheets(done.sheets, into, on=on))


def _planned(
    book: Path, restoration: str, on: date, stages: Sequence[tuple[str, Sequence[PlannedSpring]]], together: bool
) -> Ordered:
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
    return Ordered(books, changes, sheets, waiting_lines(books, restoration), findings, restoration, on)


def _marked(book: Path, restoration: str, state: str, names: Sequence[str], on: date, pieces: int | None) -> Ordered:
    """Mark order lines of a restoration; `ordered` without names means those that are due."""
    at_hand = opened(book)
    books = at_hand.books
    books.restoration(restoration)
    chosen = list(names) or [line.order for line in _meant(books, restoration, state)]
    _of_this_restoration(books, restoration, chosen)
    done = marked(books, state, chosen, on=on, pieces=pieces)
    if done.changes:
        at_hand.save(done.changes)
    waiting = waiting_lines(done.books, restoration)
    return Ordered(done.books, done.changes, (), waiting, done.findings, restoration, on, state)


def restoration_of_lines(book: Path, lines: Sequence[str]) -> str:
    """Return the restoration that order lines belong to.

    Raises: OrderbookError(not_in_the_book | order_lines_missing).
    """
    if not lines:
        raise error("order_lines_missing", where="⟨mark⟩", saw="no order lines")
    return opened(book).books.order(tidy(lines[0])).restoration


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
