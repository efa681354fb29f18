"""Plan, lay out and mark orders: of one piece, or a whole parcel to one supplier."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from orderbook.book.opened import Opened, opened
from orderbook.book.own_folder import file_name, put_beside
from orderbook.errors import Finding, error, finding
from orderbook.records.books import Books
from orderbook.records.identifiers import is_shaped, tidy
from orderbook.records.index import index
from orderbook.records.limits import over_the_limit
from orderbook.records.marking import Outcome, again, marked, must_be_read
from orderbook.records.planned_spring import PlannedSpring, stored_stages
from orderbook.records.planning import planned
from orderbook.records.rows import Change
from orderbook.records.states import IN_HAND
from orderbook.records.tables import OrderLine
from orderbook.reports.orders import (
    OrderSheet,
    as_csv,
    as_html,
    as_text,
    due_at,
    due_lines,
    order_sheets,
    waiting_lines,
)


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
    Raises: OrderbookError of a cell of a due line that cannot be read.
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
    due = due_lines(books, restoration)
    for line in due:
        must_be_read(books, line)
    if changes:
        at_hand.save(changes)
    findings += tuple(_others_due(books, restoration, due))
    return _laid_out(books, changes, due, index(books).orders_of[restoration], findings, on)


def parcel(book: Path, supplier: str, *, on: date) -> Ordered:
    """Lay out the parcel to one supplier: what is due of every piece that is not closed; nothing is changed.

    Raises: OrderbookError(not_in_the_book) for a supplier nobody orders from; of a cell that cannot be read.
    """
    books = opened(book).books
    name = _supplier(books, supplier)
    due = due_at(books, name)
    for line in due:
        must_be_read(books, line)
    lines = [line for line in books.orders if line.supplier.casefold() == name.casefold()]
    return _laid_out(books, (), due, lines, (), on)


def _laid_out(
    books: Books,
    changes: tuple[Change, ...],
    due: Sequence[OrderLine],
    lines: Sequence[OrderLine],
    findings: tuple[Finding, ...],
    on: date,
) -> Ordered:
    sheets = order_sheets(books, due)
    findings += tuple(f for sheet in sheets for f in sheet.findings if f not in findings)
    findings += tuple(_too_dear(books, due, on))
    return Ordered(books, changes, sheets, waiting_lines(books, lines), findings)


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


def mark(
    book: Path,
    restoration: str,
    state: str,
    names: Sequence[str],
    *,
    on: date,
    pieces: int | None = None,
    wrong: str = "",
    agreed: str = "",
) -> Ordered:
    """Mark order lines of a restoration, or of a parcel; `ordered` without names means those that are due.

    Parameters: restoration, a piece such as R-007, or a parcel such as P-0007 (without names, all its lines that can
    take the mark); pieces, how many of one line came, went back or will not come, where it was not all of them; wrong,
    what is wrong with what came; agreed, the owner's word for an order above the sum in *Not above*.
    """
    at_hand = opened(book)
    books = at_hand.books
    if is_parcel(restoration):
        chosen = list(names) or _of_parcel(books, restoration, state)
        _of_this(books, chosen, parcel=restoration)
    else:
        books.restoration(restoration)
        chosen = list(names) or [line.order for line in _meant(state, due_lines(books, restoration))]
        _of_this(books, chosen, restoration=restoration)
    done = marked(books, state, chosen, on=on, pieces=pieces, wrong=wrong, agreed=agreed)
    lines = [line for line in done.books.orders if restoration in (line.restoration, line.parcel)]
    return _saved(at_hand, done, lines)


def is_parcel(name: str) -> bool:
    """Return whether a name is that of a parcel."""
    return is_shaped("parcel", name)


def parcel_sent(book: Path, name: str) -> Ordered:
    """Lay out a parcel that went out, as it was ordered."""
    books = opened(book).books
    lines = index(books).parcels[name]
    if not lines:
        raise error("not_in_the_book", where=name, saw="no order line is of this parcel")
    sheets = order_sheets(books, [line for line in lines if line.state not in ("lost", "cancelled")])
    return Ordered(books, (), sheets, (), ())


def mark_parcel(
    book: Path,
    supplier: str,
    state: str,
    names: Sequence[str] = (),
    *,
    on: date,
    agreed: str = "",
    wrong: str = "",
    pieces: int | None = None,
) -> Ordered:
    """Mark lines to one supplier over pieces: those named, or for `ordered` all that are due."""
    at_hand = opened(book)
    books = at_hand.books
    name = _supplier(books, supplier)
    if state == "ordered":
        chosen = list(names) or [line.order for line in due_at(books, name)]
    else:
        chosen = list(names) or [line.order for line in _meant(state, ())]
    _of_this(books, chosen, supplier=name)
    done = marked(books, state, chosen, on=on, agreed=agreed, wrong=wrong, pieces=pieces)
    lines = [line for line in done.books.orders if line.supplier.casefold() == name.casefold()]
    return _saved(at_hand, done, lines)


def order_again(book: Path, restoration: str, names: Sequence[str], *, on: date) -> Ordered:
    """Plan order lines once more, for what was lost, cancelled, came wrong or never came."""
    at_hand = opened(book)
    books = at_hand.books
    books.restoration(restoration)
    _of_this(books, names, restoration=restoration)
    changes: tuple[Change, ...] = ()
    for name in names:
        one = again(books, name)
        books, changes = one.books, (*changes, *one.changes)
    return _saved(at_hand, Outcome(books, changes, ()), index(books).orders_of[restoration])


def _saved(at_hand: Opened, done: Outcome, lines: Sequence[OrderLine]) -> Ordered:
    if done.changes:
        at_hand.save(done.changes)
    return Ordered(done.books, done.changes, (), waiting_lines(done.books, lines), done.findings)


def _meant(state: str, due: Sequence[OrderLine]) -> Sequence[OrderLine]:
    if state == "ordered":
        return due
    raise error("order_lines_missing", where="⟨mark⟩", saw=f"{state}, but no order lines")


def _of_parcel(books: Books, name: str, state: str) -> list[str]:
    """Return the lines of a parcel that a mark without names is for: those on their way, or those here."""
    lines = index(books).parcels[name]
    if not lines:
        raise error("not_in_the_book", where=name, saw="no order line is of this parcel")
    before = ("ordered", "lost") if state == "received" else ("ordered",) if state in ("lost", "cancelled") else IN_HAND
    return [line.order for line in lines if line.state in before]


def _of_this(books: Books, names: Sequence[str], **expected: str) -> None:
    for name in names:
        line = books.order(tidy(name))
        for key, value in expected.items():
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
