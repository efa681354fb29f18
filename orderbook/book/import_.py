"""Bring an existing list into a table of a book: a column map says what each of its columns is."""

from __future__ import annotations

import tomllib
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any, ClassVar

from orderbook.book.csv_folder import key_of
from orderbook.book.import_checked import as_in_the_book
from orderbook.book.opened import opened
from orderbook.book.outside_lists import OutsideList, frame_list, outside_list
from orderbook.errors import Finding, error, finding
from orderbook.records import cells
from orderbook.records import tables as t
from orderbook.records.books import STORED, Books, record_of
from orderbook.records.cells import day_of
from orderbook.records.definition import Kind, book_definition
from orderbook.records.identifiers import IDENTIFIED, next_identifiers
from orderbook.records.rows import Append, Place, Row, Value
from orderbook.shown import Shown

TABLES = tuple(name for name in t.RECORDS if name not in STORED)  # those a hand or a list fills


@dataclass(frozen=True, slots=True)
class TableMap:
    """What the columns of a list are: header → column key, fixed values, words to put in place of others."""

    columns: Mapping[str, str] = field(default_factory=dict)
    fixed: Mapping[str, Any] = field(default_factory=dict)
    words: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    day_first: bool | None = None


@dataclass(frozen=True, slots=True, repr=False)
class Imported(Shown):
    """What came in: columns understood and not, rows by what became of them, and why some stayed out."""

    table: str
    columns: Mapping[str, str]
    unused: tuple[str, ...]
    worked_out: tuple[str, ...]
    rows_in: int
    rows_added: int
    rows_there_already: int
    findings: tuple[Finding, ...]

    shown_columns: ClassVar[tuple[str, ...]] = ("header", "column")

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON keys of the command."""
        return asdict(self) | {"findings": [f.as_dict() for f in self.findings]}

    def shown_rows(self) -> list[dict[str, Any]]:
        """Return the columns, each as headed and as understood."""
        return [{"header": header, "column": key} for header, key in self.columns.items()]

    def text(self, **_: Any) -> str:
        """Say what came in and what did not, as the command prints it."""
        lines = [f"{header} → {key.replace('_', ' ')}" for header, key in self.columns.items()]
        lines += [f"Not used: {', '.join(self.unused)}"] if self.unused else []
        lines += [f"Worked out by the book itself: {', '.join(self.worked_out)}"] if self.worked_out else []
        lines += [
            f"{'Stayed out' if found.code == 'row_not_brought_in' else 'Came in, look at'}: {found}"
            for found in self.findings
        ]
        stayed_out = self.rows_in - self.rows_added - self.rows_there_already
        counts = f"{self.rows_in} rows read, {self.rows_added} added, {self.rows_there_already} there already"
        return "\n".join([*lines, f"\n{self.table}: {counts}, {stayed_out} stayed out."])


def import_(
    book: Path, file: Any, table: str, *, column_map: Path | str | None = None, sheet: str | None = None
) -> Imported:
    """Add the rows of a CSV or spreadsheet file, or of a data frame, to a table of the book.

    A row with a cell that cannot be read stays out and is named; a row that is in the table already is not added again.
    Rows without an identifier get the next free one.
    Raises: OrderbookError(table_not_known | column_map_not_read | list_not_read | columns_not_known).
    """
    at_hand = opened(book)
    name = _table_named(table)
    chosen = read_map(Path(column_map)) if column_map else TableMap()
    source = outside_list(Path(file), sheet=sheet) if isinstance(file, (str, Path)) else frame_list(file)
    columns = _columns(name, source, chosen)
    findings: list[Finding] = []
    rows = list(_rows(name, source, columns, chosen, findings))
    new = _without_known(at_hand.books, name, rows)
    numbered = as_in_the_book(at_hand.books, name, _numbered(at_hand.books, name, new, findings), findings)
    if numbered:
        at_hand.save([Append(name, row.values) for row in numbered])
    left = tuple(header for header in source.headers if header and header not in columns)
    worked = tuple(header for header in left if key_of(name, header) in _filled_by(name, "worked", "answer"))
    unused = tuple(header for header in left if header not in worked)
    return Imported(
        name, columns, unused, worked, len(source.rows), len(numbered), len(rows) - len(new), tuple(findings)
    )  # fmt: skip


def read_map(path: Path) -> TableMap:
    """Read a column map (TOML): [columns] header = key, [fixed] key = value, [words.key] theirs = ours, dates."""
    try:
        raw = tomllib.loads(path.read_text(encoding="utf-8"))
        order = {None: None, "day first": True, "month first": False}[raw.get("dates")]
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, KeyError) as problem:
        raise error("column_map_not_read", where=str(path), saw=str(problem)) from problem
    return TableMap(raw.get("columns", {}), raw.get("fixed", {}), raw.get("words", {}), order)


def _table_named(table: str) -> str:
    for name in TABLES:
        if name.casefold() == table.strip().casefold():
            return name
    raise error("table_not_known", where="⟨table⟩", saw=f"“{table}”", expected=f"Expected one of {', '.join(TABLES)}.")


def _columns(table: str, source: OutsideList, chosen: TableMap) -> dict[str, str]:
    known = set(t.READERS[t.RECORDS[table]]) | set(_only_in_the_book(table))
    wrong = [key for key in (*chosen.columns.values(), *chosen.fixed, *chosen.words) if key not in known]
    if wrong:
        expected = f"Expected columns of {table}: {', '.join(sorted(known))}."
        raise error("columns_not_known", where="column map", saw=f"“{wrong[0]}”", expected=expected)
    wanted = {header.strip().casefold(): key for header, key in chosen.columns.items()}
    doubled = [header for header, times in Counter(h.casefold() for h in source.headers if h).items() if times > 1]
    for header in doubled:
        if wanted.get(header) or key_of(table, header) in known:
            saw = f"two columns are called “{header}”: give one of them another name"
            raise error("columns_not_known", where=source.name, saw=saw)
    found = {header: wanted.get(header.strip().casefold()) or key_of(table, header) for header in source.headers}
    columns = {header: key for header, key in found.items() if key in known}
    twice = [key for key in columns.values() if list(columns.values()).count(key) > 1]
    if twice or not columns:
        saw = f"two columns are “{twice[0]}”" if twice else f"none of its columns is known: {', '.join(source.headers)}"
        raise error("columns_not_known", where=source.name, saw=saw)
    return columns


def _only_in_the_book(table: str) -> tuple[str, ...]:
    """The columns a hand fills that no rule of the books reads, such as the wheels of a barrel: kept as they are."""
    known = set(t.READERS[t.RECORDS[table]])
    return tuple(key for key in _filled_by(table, "input", "brought") if key not in known)


def _filled_by(table: str, *kinds: Kind) -> tuple[str, ...]:
    defined = book_definition().tables.get(table)
    return tuple(column.key for column in (defined.columns if defined else ()) if column.kind in kinds)


def _rows(
    table: str, source: OutsideList, columns: Mapping[str, str], chosen: TableMap, findings: list[Finding]
) -> Iterator[Row]:
    cls = t.RECORDS[table]
    others = _only_in_the_book(table)
    for number, line in source.rows:
        place = Place(source.name, number)
        values = dict(chosen.fixed)
        for header, cell in zip(source.headers, line, strict=False):
            if (key := columns.get(header)) and cell not in (None, ""):
                values[key] = _translated(cell, chosen.words.get(key, {}), chosen.day_first)
        if not any(key in values for key in columns.values()):
            continue
        told: list[Finding] = []
        record = record_of(cls, Row(values, place), told)
        if told:
            findings += [finding("row_not_brought_in", where=f.where, saw=f.saw, try_this=f.expected) for f in told]
            continue
        read = {key: _plain(getattr(record, key)) for key in t.READERS[cls]}
        kept = {key: _as_typed(values.get(key)) for key in others}
        yield Row({key: value for key, value in (read | kept).items() if value not in (None, "", ())}, place)


def _as_typed(value: Value) -> Value:
    """Keep a cell as a hand would type it into the book: what is one number as a number, all else as it stands."""
    exact = cells.number(value, Row({}, Place("", 0)), "", [])
    return value if exact is None else exact


def _translated(cell: Value, words: Mapping[str, str], day_first: bool | None) -> Value:
    if isinstance(cell, str):
        said = cell.strip()
        replaced = {theirs.casefold(): ours for theirs, ours in words.items()}.get(said.casefold(), said)
        return day_of(replaced, day_first=day_first) or replaced if day_first is not None else replaced
    return cell.date() if isinstance(cell, datetime) else cell


def _plain(value: Any) -> Value:
    kept: Value = ", ".join(value) if isinstance(value, tuple) else value
    return kept


def _without_known(books: Books, table: str, rows: Sequence[Row]) -> list[Row]:
    """Leave out what is in the book: by its identifier, or, where it has none, by every other cell, each row once."""
    cls, identifier = t.RECORDS[table], IDENTIFIED.get(table)
    records = books.records(table)
    names = {getattr(record, identifier) for record in records} if identifier else set()
    there = Counter(_as_key(record, cls, identifier) for record in records)
    new = []
    for row in rows:
        name = row.get(identifier) if identifier else None
        key = _as_key(record_of(cls, row, []), cls, identifier)
        if name in names if name else there[key]:
            there[key] -= not name
        else:
            new.append(row)
    return new


def _as_key(record: Any, cls: Any, without: str | None) -> tuple[Any, ...]:
    return tuple(getattr(record, key) for key in t.READERS[cls] if key != without)


def _numbered(books: Books, table: str, rows: list[Row], findings: list[Finding]) -> list[Row]:
    key = t.KEYS[table]
    letter = {"Restorations": "R", "Needs": "N", "Drawer": "D", "Orders": "O"}.get(table)
    if letter is None:
        for row in rows:
            if not row.get(key):
                saw = f"a row without {key}: {_said(row.values)}"
                findings.append(finding("row_not_brought_in", where=row.place.of(), saw=saw))
        return [row for row in rows if row.get(key)]
    taken = [getattr(record, key) for record in books.records(table)]
    taken += [str(row.get(key)) for row in rows if row.get(key)]
    unnamed = [row for row in rows if not row.get(key)]
    free = iter(next_identifiers(letter, taken, len(unnamed)))
    return [row if row.get(key) else Row({key: next(free), **row.values}, row.place) for row in rows]


def _said(values: Mapping[str, Value]) -> str:
    return ", ".join(f"{key} {value}" for key, value in list(values.items())[:3])
