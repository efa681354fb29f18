"""Plan, lay out and mark orders: of one piece, or a whole parcel to one supplier."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from orderbook.book.graded import graded_order
from orderbook.book.opened import Opened, opened
from orderbook.book.own_folder import file_name, put_beside
from orderbook.errors import Finding, error, finding, spelled
from orderbook.records.books import Books
from orderbook.records.identifiers import is_shaped, tidy
from orderbook.records.index import index
from orderbook.records.limits import over_the_limit
from orderbook.records.marking import Outcome, again, marked, must_be_read
from orderbook.records.nextsteps import named
from orderbook.records.planned_spring import PlannedSpring, stored_stages
from orderbook.records.planning import on_their_way, planned, waits_for_those
from orderbook.records.rows import Change
from orderbook.records.states import IN_HAND
from orderbook.records.tables import OrderLine
from orderbook.reports.changes import in_words
from orderbook.reports.orders import (
    OrderSheet,
    as_csv,
    as_dict,
    as_html,
    as_text,
    due_at,
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

    `about` is the piece, the parcel or the supplier it was asked for; `marked` what lines were marked with, empty where
    orders were planned or only shown; `into` the folder the sheets are in.
    """

    books: Books
    changes: tuple[Change, ...]
    sheets: tuple[OrderSheet, ...]
    waiting: tuple[tuple[OrderLine, str], ...]
    findings: tuple[Finding, ...]
    about: str
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
            lines.append(f"Nothing of {self.about} is due to be ordered.")
        for line, why in self.waiting:
            planned_now = f"\nNot on a sheet: {line.order}, {named(line)}: waits {why}."
            lines.append(f"{line.order} waits {why}." if self.marked else planned_now)
        if self.into and self.sheets:
            lines.append(f"\nWritten into {self.into}.")
        lines += [f"{found.severity.capitalize()}: {found}" for found in self.findings]
        if not self.marked and (verb := self._when_gone_out()):
            lines.append(f"\nWhen it has gone out: {spelled(verb)}")
        return "\n".join(lines)

    def _when_gone_out(self) -> str:
        due = [x.line for sheet in self.sheets for x in sheet.lines if x.line.state == "planned"]
        if not due:
            return ""
        named_lines = [self.about, *(line.order for line in due)]
        of_a_piece = any(line.restoration == self.about for line in due)
        what = " ".join(named_lines) if of_a_piece else shlex.quote(f"to={self.about}")
        return f"⟨!order {what} mark=ordered⟩"


def order(
    book: Path,
    name: str = "",
    lines: Sequence[str] = (),
    *,
    on: date,
    to: str = "",
    mark: str = "",
    pieces: int | None = None,
    wrong: str = "",
    agreed: str = "",
    again: bool = False,
    stages: Grading | Path | str | None = None,
    barrel: str = "",
    together: bool = False,
    into: Path | None = None,
) -> Ordered:
    """Plan the stages that are not in Orders yet, and lay out what is due by supplier; with `mark`, mark lines instead.

    Parameters: name, a piece such as R-007, or a parcel that went out such as P-0007; to, a supplier in place of it:
    the whole parcel of what is due there, over all pieces; lines, for mark and again (`ordered` without lines means
    all that are due, a parcel without lines all of its own that can take the mark); pieces, how many of one line came,
    went back or will not come, if not all; wrong, what is wrong with what came; agreed, the owner's word for an order
    above the sum in *Not above*; again, plan the lines once more; stages, a graded order for a barrel, where none is
    given those stored in the book; together, whether every stage planned now is due at once, in one parcel; into, a
    folder for the sheets.
    Raises: OrderbookError as `planned` and `marked`; for what does not go together (pieces_not_possible |
    order_of_what); for a supplier nobody orders from (not_in_the_book); of a cell of a due line that cannot be read.
    """
    if not (name or to) or (name and to):
        raise error(
            "order_of_what", where="⟨order⟩", saw=f"{name} and {to}" if name else "no piece, parcel or supplier"
        )
    if pieces is not None and not mark:
        raise error("pieces_not_possible", where="⟨pieces⟩", saw="nothing is marked")
    at_hand, about = opened(book), tidy(name)
    if to:
        about = _supplier(at_hand.books, to)
    elif not is_parcel(about):
        at_hand.books.restoration(about)
    if again:
        return _again(at_hand, about, lines, on)
    if mark:
        chosen = _chosen(at_hand.books, about, mark, lines, is_supplier=bool(to))
        done = marked(at_hand.books, mark, chosen, on=on, pieces=pieces, wrong=wrong, agreed=agreed)
        return _saved(at_hand, done, about, on, mark)
    if to:
        answer = _parcel(at_hand.books, about, on)
    elif is_parcel(about):
        answer = _parcel_sent(at_hand.books, about, on)
    else:
        answer = _planned(at_hand, about, on, [graded_order(stages, barrel)] if stages is not None else [], together)
    if into is None or not answer.sheets:
        return answer
    return replace(answer, into=write_sheets(answer.sheets, into, on=on, whose=about))


def _planned(
    at_hand: Opened, restoration: str, on: date, stages: Sequence[tuple[str, Sequence[PlannedSpring]]], together: bool
) -> Ordered:
    books = at_hand.books
    changes: tuple[Change, ...] = ()
    findings = tuple(f for f in at_hand.look() if f.code == "answers_stale" and restoration in f.saw)
    for barrel, graded in stages or stored_stages(books, restoration):
        if not stages and (coming := on_their_way(books, restoration, barrel)):
            findings = (*findings, waits_for_those(books, barrel, coming))
            continue
        more, told = planned(books, restoration, barrel, graded, all_at_once=together)
        books = books.after(more) if more else books
        changes, findings = changes + more, findings + told
    due = due_lines(books, restoration)
    for line in due:
        must_be_read(books, line)
    if changes:
        at_hand.save(changes)
    findings += tuple(_others_due(books, restoration, due))
    done = _laid_out(books, due, restoration, on)
    return replace(done, changes=changes, findings=(*findings, *(f for f in done.findings if f not in findings)))


def _parcel(books: Books, supplier: str, on: date) -> Ordered:
    """Lay out the parcel to one supplier: what is due of every piece that is not closed; nothing is changed."""
    due = due_at(books, supplier)
    for line in due:
        must_be_read(books, line)
    return _laid_out(books, due, supplier, on)


def _parcel_sent(books: Books, name: str, on: date) -> Ordered:
    """Lay out a parcel that went out, as it was ordered."""
    lines = [line for line in _lines_of(books, name) if line.state not in ("lost", "cancelled")]
    return Ordered(books, (), order_sheets(books, lines), (), (), name, on)


def _laid_out(books: Books, due: Sequence[OrderLine], about: str, on: date) -> Ordered:
    sheets = order_sheets(books, due)
    told = (*dict.fromkeys(f for sheet in sheets for f in sheet.findings), *_too_dear(books, due, on))
    return Ordered(books, (), sheets, waiting_lines(books, _lines_of(books, about)), told, about, on)


def _lines_of(books: Books, about: str) -> list[OrderLine]:
    """Return the order lines of a piece, of a parcel, or to a supplier."""
    found = index(books)
    if is_parcel(about):
        if not found.parcels[about]:
            raise error("not_in_the_book", where=about, saw="no order line is of this parcel")
        return list(found.parcels[about])
    if about in found.restorations:
        return list(found.orders_of[about])
    return [line for line in books.orders if line.supplier.casefold() == about.casefold()]


def _too_dear(books: Books, due: Sequence[OrderLine], on: date) -> list[Finding]:
    """Say which pieces this order would take above the sum agreed, before it goes out."""
    pieces = index(books).restorations
    open_ones = [line for line in due if line.restoration in pieces and pieces[line.restoration].state != "closed"]
    if not open_ones:
        return []
    after = marked(books, "ordered", [line.order for line in open_ones], on=on, agreed="not yet").books
    over = over_the_limit(books, after, dict.fromkeys(line.restoration for line in open_ones))
    return [finding("above_limit_soon", where=one.finding.where, saw=one.finding.saw) for one in over]


def _others_due(books: Books, restoration: str, due: Sequence[OrderLine]) -> list[Finding]:
    """Say where other pieces have lines due at the same suppliers: one parcel costs its postage once."""
    told = []
    for supplier in dict.fromkeys(line.supplier for line in due):
        others = sorted({line.restoration for line in due_at(books, supplier)} - {restoration})
        if others:
            saw = f"{', '.join(others)} have lines due at {supplier} too"
            told.append(finding("parcel_could_be_shared", where=supplier, saw=saw))
    return told


def _supplier(books: Books, name: str) -> str:
    known = {line.supplier.casefold(): line.supplier for line in books.orders if line.supplier}
    known |= {s.supplier.casefold(): s.supplier for s in books.suppliers if s.supplier}
    found = known.get(" ".join(name.split()).casefold())
    if found is None:
        listed = ", ".join(sorted(known.values())) or "none"
        raise error("not_in_the_book", where=name, saw="not in Suppliers", expected=f"Expected one of: {listed}.")
    return found


def _chosen(books: Books, about: str, state: str, names: Sequence[str], *, is_supplier: bool) -> list[str]:
    """Return the lines to mark: those named, or those that a mark without names is for."""
    key = "supplier" if is_supplier else "parcel" if is_parcel(about) else "restoration"
    _of_this(books, names, key, about)
    if names:
        return list(names)
    if key == "parcel":
        on_its_way = {"received": ("ordered", "lost"), "lost": ("ordered",), "cancelled": ("ordered",)}
        return [line.order for line in _lines_of(books, about) if line.state in on_its_way.get(state, IN_HAND)]
    if state != "ordered":
        raise error("order_lines_missing", where="⟨mark⟩", saw=f"{state}, but no order lines")
    return [line.order for line in (due_at(books, about) if is_supplier else due_lines(books, about))]


def is_parcel(name: str) -> bool:
    """Return whether a name is that of a parcel."""
    return is_shaped("parcel", name)


def _again(at_hand: Opened, restoration: str, names: Sequence[str], on: date) -> Ordered:
    """Plan order lines once more, for what was lost, cancelled, came wrong or never came."""
    books = at_hand.books
    if not names:
        raise error("order_lines_missing", where="⟨again⟩", saw="no order lines")
    _of_this(books, names, "restoration", restoration)
    changes: tuple[Change, ...] = ()
    for name in names:
        one = again(books, name)
        books, changes = one.books, (*changes, *one.changes)
    return _saved(at_hand, Outcome(books, changes, ()), restoration, on, "planned again")


def _saved(at_hand: Opened, done: Outcome, about: str, on: date, mark: str) -> Ordered:
    if done.changes:
        at_hand.save(done.changes)
    waiting = waiting_lines(done.books, _lines_of(done.books, about))
    return Ordered(done.books, done.changes, (), waiting, done.findings, about, on, mark)


def restoration_of_lines(book: Path, lines: Sequence[str]) -> str:
    """Return the restoration that order lines belong to.

    Raises: OrderbookError(not_in_the_book | order_lines_missing).
    """
    if not lines:
        raise error("order_lines_missing", where="⟨mark⟩", saw="no order lines")
    return opened(book).books.order(tidy(lines[0])).restoration


def _of_this(books: Books, names: Sequence[str], key: str, value: str) -> None:
    for name in names:
        line = books.order(tidy(name))
        seen = getattr(line, key)
        if seen.casefold() != value.casefold():
            saw = f"{line.order} belongs to {seen or f'no {key}'}, not to {value}"
            raise error("of_another_piece", where=line.row.place.of(key), saw=saw)


def write_sheets(sheets: Sequence[OrderSheet], folder: Path, *, on: date, whose: str = "") -> Path:
    """Write each sheet as text, as CSV and as a page to print into a folder; what else is in it stays.

    Parameters: whose, the piece or supplier they are for; sheets of an earlier run for the same are replaced.
    Raises: OrderbookError(folder_not_ours | file_not_ours).
    """
    pieces = {name for sheet in sheets for name in sheet.restorations}
    of_one = f"{file_name(whose).lower()}-" if whose in pieces or is_parcel(whose) else ""
    files = {}
    for sheet in sheets:
        name = f"order-{of_one}{sheet.name}"
        files[f"{name}.txt"] = as_text(sheet, on=on).encode("utf-8")
        files[f"{name}.html"] = as_html(sheet, on=on).encode("utf-8")
        files[f"{name}.csv"] = as_csv(sheet).encode("utf-8-sig")
    return put_beside(folder, files, whose=f"orders of {whose or ', '.join(sorted(pieces))}")
