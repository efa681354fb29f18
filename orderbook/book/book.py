"""A book as Python sees it: every command on a book is a method, and its rows can be read, added and changed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import TYPE_CHECKING, Any, Unpack

from orderbook.errors import error

if TYPE_CHECKING:
    from collections.abc import Callable

    from orderbook.answers.choice import ChoiceTerms
    from orderbook.answers.learned import LearnedBook
    from orderbook.barrel.barrel import Barrel
    from orderbook.barrel.sizing import Sizing
    from orderbook.book.check import CheckedBook
    from orderbook.book.export import Exported
    from orderbook.book.import_ import Imported
    from orderbook.book.into_book import BroughtIn
    from orderbook.book.next_ import NextSteps
    from orderbook.book.order import Ordered
    from orderbook.book.record import Recorded
    from orderbook.book.refresh import Refreshed
    from orderbook.book.table_rows import TableRows
    from orderbook.book.trial import TrialNoted
    from orderbook.choosing.grading import Grading
    from orderbook.choosing.ranking import Ranking
    from orderbook.records.accounts import Account
    from orderbook.records.definition import Table
    from orderbook.records.rows import Change, Row
    from orderbook.records.totals import Totals


@dataclass(frozen=True, slots=True, init=False)
class Book:
    """A book of restorations on disk: a workbook (`.xlsx`, `.xlsm`), or a folder of CSV files as `export` writes it.

    Nothing of it is held open, what another program saves is seen at once, and each change is saved at once.
    Parameters: path. Tables are named as in the book, columns by the keys of the reference of columns; money is a
    Decimal, a day a date, an empty cell None. `on`, wherever it stands, is the day something happened: today unless
    given, a date or text such as 2026-03-04.
    Raises: OrderbookError from each method if the book cannot be read, or (where it writes) is open elsewhere; the
    book is then as it was. What was there before a write is kept beside it as `.bak`, and the
    two books before that as `.bak2` and `.bak3`.

    >>> import tempfile
    >>> from orderbook import Book
    >>> folder = tempfile.TemporaryDirectory()
    >>> book = Book.new(Path(folder.name) / "clocks.xlsx")
    >>> book.append("Restorations", {"restoration": "R-001", "piece": "a lever watch", "state": "open"})
    >>> book.append("Barrels", {"barrel": "R-001-B1", "restoration": "R-001", "drive": "going", "turns_asked": 7})
    >>> book.append("Readings", *(
    ...     {"barrel": "R-001-B1", "what": what, "value": mm, "unit": "mm"}
    ...     for what, mm in (("bore", 15.6), ("arbor", 4.9), ("depth", 3.1))))
    >>> print(book.size("R-001-B1").width)
    2.98 ± 0.03 mm
    >>> book.update("Restorations", "R-001", {"note": "it ticks"})
    >>> book["Restorations"].to_frame()["note"].tolist()
    ['it ticks']
    >>> folder.cleanup()
    """

    path: Path

    def __init__(self, path: Path | str) -> None:
        """Take the path of a book; it is looked at when something is asked of it."""
        object.__setattr__(self, "path", Path(path))

    @classmethod
    def new(cls, path: Path | str, *, live: bool = False, source: Path | str | None = None) -> Book:
        """Make a new book and return it; one that exists is never overwritten. See `orderbook.new`."""
        from orderbook.book.new import new

        return cls(new(path, live=live, source=source).path)

    def __getitem__(self, table: str) -> TableRows:
        """Return the rows of a table, such as `book["Readings"]`; `book["Readings"].to_frame()` is a data frame."""
        from orderbook.book.opened import opened
        from orderbook.book.table_rows import TableRows, of_folder

        definition = _table(table)
        at_hand = opened(self.path)
        if at_hand.file is None:
            return TableRows(definition, of_folder(definition, at_hand.books.tables.get(table, ())))
        return TableRows(definition, at_hand.file.rows(table))

    def rows(self, table: str) -> tuple[Row, ...]:
        """Return the rows of a table that count, each read as `row["key"]`."""
        return self[table].all_rows

    def row(self, table: str, key: str) -> Row:
        """Return the row of an identifier, such as `book.row("Orders", "O-003")`."""
        from orderbook.records.identifiers import tidy

        which, rows = _table(table).counts_when, self.rows(table)
        found = [row for row in rows if tidy(str(row[which])) == tidy(key)]
        where = f"{self.path}, table {table}"
        if not found:
            known = ", ".join(str(row[which]) for row in rows[:8]) or "none yet"
            raise error("book_no_such_row", where=where, saw=f"no {key}; there are: {known}")
        if len(found) > 1:
            places = ", ".join(str(row.place.row) for row in found)
            raise error("book_id_twice", where=where, saw=f"{key} stands in rows {places}")
        return found[0]

    def barrel(self, barrel: str) -> Barrel:
        """Return what the book says of one barrel: readings with their ±, fitted and tried springs, drive and turns."""
        from orderbook.answers.answer import asked_barrel
        from orderbook.book.opened import opened

        return asked_barrel(opened(self.path).books, barrel)

    def append(self, table: str, *rows: Any) -> None:
        """Add rows to a table, each a mapping of column key to value, or a data frame of them, and save."""
        from orderbook.records.rows import Append

        self._save([Append(table, values) for values in _values(table, rows)])

    def update(self, table: str, which: str | Row, values: Mapping[str, Any]) -> None:
        """Set cells of one row, named by its identifier or given as it was read, and save; None empties a cell.

        A row given as it was read is looked at again: if the book now holds another there, nothing is written.
        """
        from orderbook.records.rows import Put

        (checked,) = _values(table, [values])
        row = self.row(table, which) if isinstance(which, str) else _same(self, table, which)
        self._save([Put(table, row.place.row, checked)])

    def size(self, barrel: str, *, write: bool = False) -> Sizing:
        """Return the spring of a barrel; with `write`, store the answers of that barrel in the book."""
        from orderbook.book.on_book import sizing_in

        return sizing_in(self.path, barrel, write=write)

    def rank(self, barrel: str, *, write: bool = False, **terms: Unpack[ChoiceTerms]) -> Ranking:
        """Return the book's springs for a barrel, nearest to the task first; `terms` outweigh what the book says."""
        from orderbook.book.on_book import considered_in
        from orderbook.choosing.ranking import ranking_of

        return ranking_of(considered_in(self.path, barrel, write=write, **terms))

    def grade(self, barrel: str, *, write: bool = False, **terms: Unpack[ChoiceTerms]) -> Grading:
        """Return the graded order for a barrel, weakest first; `terms` outweigh what the book says."""
        from orderbook.book.on_book import considered_in
        from orderbook.choosing.grading import grading_of

        return grading_of(considered_in(self.path, barrel, write=write, **terms))

    def refresh(
        self, *barrels: str, everything: bool = False, report: Callable[[str], None] = lambda _: None
    ) -> Refreshed:
        """Work out the answers of the barrels that changed (or of those named) and store them in the book."""
        from orderbook.book.refresh import refresh

        return refresh(self.path, barrels, everything=everything, report=report)

    def watch(self, *barrels: str) -> Iterator[Refreshed | str]:
        """Yield what `refresh` finds at each save of the book by a program; a text where something is in the way."""
        from orderbook.book.watch import watched

        return watched(self.path, barrels)

    def check(self, *, fix: bool = False, on: date | str | None = None) -> CheckedBook:
        """Look the whole book over; with `fix`, do the cures that are safe."""
        from orderbook.book.check import check

        return check(self.path, on=_day(on), fix=fix)

    def order(
        self,
        restoration: str = "",
        *lines: str,
        to: str = "",
        mark: str | None = None,
        pieces: int | None = None,
        wrong: str = "",
        agreed: str = "",
        again: bool = False,
        stages: Grading | Path | str | None = None,
        barrel: str = "",
        together: bool = False,
        into: Path | str | None = None,
        on: date | str | None = None,
    ) -> Ordered:
        """Plan the stages that are not in Orders yet and lay out what is due by supplier; with `mark`, mark lines.

        Parameters: restoration, a piece such as R-007, or a parcel that went out such as P-0007; to, a supplier in its
        place: the whole parcel over all pieces, so that each name given is a line; lines, such as O-0031, with mark
        ordered, received, fitted, drawer, returned, lost or cancelled (`ordered` without lines means all that are due);
        pieces, how many of one line, if not all; wrong, what is wrong with what came; agreed, the owner's word for an
        order above the sum in Not above; again, plan the lines once more; stages, a graded order to plan, or the file
        of one, for a barrel; together, plan every stage as due now; into, a folder for the order sheets.
        """
        from orderbook.book.order import order

        name, which = ("", (*filter(None, [restoration]), *lines)) if to else (restoration, lines)
        return order(
            self.path, name, which, on=_day(on), to=to, mark=mark or "", pieces=pieces, wrong=wrong, agreed=agreed,
            again=again, stages=stages, barrel=barrel, together=together, into=_path(into),
        )  # fmt: skip

    def mark(
        self,
        state: str,
        *lines: str,
        pieces: int | None = None,
        wrong: str = "",
        agreed: str = "",
        on: date | str | None = None,
    ) -> Ordered:
        """Mark order lines with what became of them, such as `book.mark("received", "O-0031")`; see `order`."""
        from orderbook.book.order import restoration_of_lines

        piece = restoration_of_lines(self.path, lines)
        return self.order(piece, *lines, mark=state, pieces=pieces, wrong=wrong, agreed=agreed, on=on)

    def trial(
        self,
        spring: str,
        verdict: str,
        *,
        barrel: str = "",
        clicks: float | None = None,
        stopped_turns: float | None = None,
        stopped_hours: float | None = None,
        rod: str = "",
        days: float | None = None,
        note: str = "",
        on: date | str | None = None,
    ) -> TrialNoted:
        """Note how a fitted spring did, and return what comes next: the need, the answers and the stages follow.

        Parameters: spring, an order line or a spring of the drawer (for the drawer the barrel too); verdict, too weak,
        never ran, stopped, ran well or too strong; clicks of set-up given; after how many turns or hours it stopped;
        rod readings; days it ran; a note of what was seen.
        """
        from orderbook.book.trial import trial

        return trial(
            self.path, spring, verdict, on=_day(on), barrel=barrel, clicks=_exact(clicks), rod=rod, seen=note,
            stopped_turns=_exact(stopped_turns), stopped_hours=_exact(stopped_hours), ran_days=_exact(days),
        )  # fmt: skip

    def next(self, restoration: str = "", *, on: date | str | None = None) -> NextSteps:
        """Return what can be done now and what waits for what; of one restoration, or of all that are not closed."""
        from orderbook.book.next_ import next_

        return next_(self.path, _name(restoration), on=_day(on))

    def ledger(
        self,
        restoration: str = "",
        *,
        since: date | str | None = None,
        until: date | str | None = None,
        export: Path | str | None = None,
        on: date | str | None = None,
    ) -> Account | Totals:
        """Return what a restoration costs; or what all of them do, over the days since and until where they are given.

        With `export`, write the rows to FILE.csv or FILE.beancount.
        """
        from orderbook.book.ledger import ledger

        first, last = _day_or_none(since, "since"), _day_or_none(until, "until")
        return ledger(self.path, _name(restoration), on=_day(on), since=first, until=last, export=_path(export))

    def learn(
        self,
        *more: Path | str,
        with_pieces: Iterable[Path | str] = (),
        into: Path | str | None = None,
        start: str = "learned",
    ) -> LearnedBook:
        """Learn from the closed barrels what movements need, and store with each barrel where its need is expected.

        Parameters: more, other books of this bench; with_pieces, files of other benches' pieces; into, a new file for
        one's own pieces; start, "practice" to take what was learned out of the books again.
        """
        from orderbook.book.learn import learn

        return learn(
            [self.path, *map(Path, more)],
            with_pieces=with_pieces,
            into=None if into is None else Path(into),
            start=start,
        )

    def record(
        self,
        restoration: str,
        *,
        only: str | None = None,
        costs: bool = True,
        owner_costs: bool = False,
        estimate: bool = False,
        into: Path | str | None = None,
        on: date | str | None = None,
    ) -> Recorded:
        """Write the restoration record as pages to print: one for the file, and one for the owner without suppliers.

        Parameters: only, “owner” or “file”; costs, whether sums and hours stand in the one for the file; owner_costs,
        whether in the owner's too; estimate, the estimate for the owner in place of the record; into, a folder.
        """
        from orderbook.book.record import record

        return record(
            self.path, _name(restoration), on=_day(on), only=only or "", costs=costs, owner_costs=owner_costs,
            estimate=estimate, into=_path(into),
        )  # fmt: skip

    def export(
        self, folder: Path | str | None = None, *, calendar: Path | str | None = None, on: date | str | None = None
    ) -> Exported:
        """Write every table as a CSV file into a folder, which can be used as a book in turn; its days to FILE.ics."""
        from orderbook.book.export import export

        return export(self.path, _path(folder), calendar=_path(calendar), on=_day(on))

    def import_(
        self, file: Any, table: str, *, column_map: Path | str | None = None, sheet: str | None = None
    ) -> Imported:
        """Add the rows of a list kept elsewhere to a table: a file (CSV, .xlsx, .ods) or a data frame."""
        from orderbook.book.import_ import import_

        return import_(self.path, file, table, column_map=column_map, sheet=sheet)

    def catalogue(self, lists: Any, **ways: Any) -> BroughtIn:
        """Bring suppliers' lists into the table Catalogue: paths, data frames, or what `read_catalogue` gave.

        Parameters: lists; ways, as `read_catalogue` takes them, such as `supplier=`. What the book holds of these
        suppliers is replaced; other suppliers' rows and your own notes stay.
        """
        from orderbook.book.into_book import brought_in

        return brought_in(self.path, lists, **ways)

    def _save(self, changes: list[Change]) -> None:
        from orderbook.book.opened import opened

        opened(self.path).save(changes)


def _table(name: str) -> Table:
    from orderbook.records.definition import book_definition

    tables = book_definition().tables
    if name not in tables:
        raise error("book_table_unknown", where=f"table {name}", saw=f"a book has: {', '.join(sorted(tables))}")
    return tables[name]


def _values(name: str, given: Any) -> list[dict[str, Any]]:
    """Return rows to be written, looked over: each key must be a column that is filled in."""
    from orderbook.measures.given import is_table, rows_of

    keys = [column.key for column in _table(name).columns if column.kind != "worked"]
    rows = [row for one in given for row in (rows_of(one, where=name) if is_table(one) else rows_of([one], where=name))]
    for key in dict.fromkeys(key for row in rows for key in row):
        if key not in keys:
            raise error("book_column_unknown", where=f"table {name}", saw=f"{key}; to fill in are: {', '.join(keys)}")
    return rows


def _same(book: Book, table: str, row: Row) -> Row:
    worked = {column.key for column in _table(table).columns if column.kind == "worked"}

    def typed(one: Row) -> dict[str, Any]:
        """Return what a hand filled: a formula's value may follow from other rows."""
        return {key: value for key, value in one.values.items() if key not in worked}

    for now in book.rows(table):
        if now.number == row.number and typed(now) == typed(row):
            return now
    where = f"{book.path}, table {table}, row {row.number + 1}"
    raise error("book_row_moved", where=where, saw="another row is there now")


def _name(restoration: str) -> str:
    from orderbook.records.identifiers import tidy

    return tidy(restoration)


def _path(given: Path | str | None) -> Path | None:
    return None if given is None else Path(given)


def _day(on: date | str | None) -> date:
    """Return the day something happened.

    Raises: OrderbookError(date_not_read).
    """
    return _day_or_none(on, "on") or date.today()


def _day_or_none(given: date | str | None, name: str) -> date | None:
    if given is None:
        return None
    if isinstance(given, date):
        return date(given.year, given.month, given.day)
    try:
        return date.fromisoformat(given.strip())
    except ValueError:
        raise error("date_not_read", where=f"⟨{name}⟩", saw=repr(given)) from None


def _exact(value: float | None) -> Decimal | None:
    """Return a number as it would be typed: 7 and not 7.0."""
    if value is None:
        return None
    exact = Decimal(str(value))
    return Decimal(int(exact)) if exact == exact.to_integral_value() else exact
