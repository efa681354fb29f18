"""What the answers of a barrel are made from, as two short texts: the same in the book's own formulas and here.

A column whose cells can change an answer says so in its definition (`answers`). A row that counts has a text made of
those cells and a mark, a number that stands for the text. Of a barrel count its own row and its rows in the other
tables (`inputs`); of every barrel the book's currency, the lists and the terms (`lists`). Sums of marks do not change
when rows are sorted; a mark is a square, so that two rows that change places in one column do show.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from functools import cache, lru_cache
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from orderbook.records.books import Books
from orderbook.records.cells import DAY_0, shows_error
from orderbook.records.definition import Column, Table, book_definition
from orderbook.records.identifiers import tidy
from orderbook.records.rows import Row, Tables

MODULUS = 299_993  # a prime; its square times the rows of the longest list stays a whole number in a worksheet
MILLIONTHS, ROUNDING = 1_000_000, 0.37  # no decimal that a hand types ends on the edge of this rounding
FACTORS = (7919, 104_729, 65_521)  # weight of the n-th letter: (7919·n² + 104729·n) mod 65521 + 1
LIST_LETTERS = 128  # letters of a row of the list that count
OF_BARREL, SHARED = ("Orders", "Readings", "Trials"), ("Drawer", "Rates", "Suppliers", "Weights")
ERROR = "#error"
PART_NAMES = {
    "Barrels": "its row in Barrels", "Orders": "springs that have come for it", "Readings": "its readings",
    "Trials": "its trials", "currency": "the book's currency", "Catalogue": "the list in Catalogue",
    "Drawer": "the drawer", "Rates": "the rates", "Suppliers": "the suppliers", "Weights": "the weights",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Mark:
    """The text of a row and the number that stands for it."""

    text: str
    number: int


@dataclass(frozen=True, slots=True)
class Fingerprints:
    """What answers are made from: by barrel, for all barrels alike, and the marks of single rows by table and row."""

    inputs: Mapping[str, str]
    lists: str
    catalogue: int
    marks: Mapping[str, Mapping[int, Mark]]


def fingerprints(books: Books) -> Fingerprints:
    """Return the fingerprints of a book as it stands."""
    return _fingerprints(books)


@lru_cache(maxsize=4)
def _fingerprints(books: Books) -> Fingerprints:
    return fingerprints_of(books.tables, int(books.derived("Catalogue", list_mark)))


def fingerprints_of(tables: Tables, catalogue: int | None = None) -> Fingerprints:
    """Return the fingerprints of tables of rows as they were typed; `catalogue` is the mark of the list, if known."""
    lookup = _Lookup(tables)
    marks: dict[str, dict[int, Mark]] = {}
    sums: dict[str, dict[str, int]] = {name: {} for name in OF_BARREL}
    for name in ("Barrels", *OF_BARREL, *SHARED):
        table, own = book_definition().tables[name], marks.setdefault(name, {})
        for row in tables.get(name, ()):
            barrel = lookup.barrel_of(row)
            if row.place.below or not (text := _text(table, row, barrel, lookup)):
                continue
            own[row.place.row] = made = Mark(text, mark(text))
            if name in sums:
                sums[name][barrel] = sums[name].get(barrel, 0) + made.number
    inputs: dict[str, str] = {}
    for row in tables.get("Barrels", ()):
        name = lookup.barrel_of(row)
        if name and row.place.row in marks["Barrels"]:
            parts = [marks["Barrels"][row.place.row].number, *(sums[table].get(name, 0) for table in OF_BARREL)]
            inputs.setdefault(name, ".".join(map(str, parts)))
    listed = list_mark(tables.get("Catalogue", ())) if catalogue is None else catalogue
    shared = [sum(one.number for one in marks[name].values()) for name in SHARED]
    lists = ".".join(map(str, [_currency(tables), listed, *shared]))
    return Fingerprints(MappingProxyType(inputs), lists, listed, MappingProxyType(marks))


def differing(kept: str, now: str, *, of_barrel: bool) -> tuple[str, ...]:
    """Say in words which parts of a fingerprint differ from the one that was kept; all, where it has other parts.

    >>> differing("1.0.5.0", "1.0.6.0", of_barrel=True)
    ('its readings',)
    """
    names = ("Barrels", *OF_BARREL) if of_barrel else ("currency", "Catalogue", *SHARED)
    old, new = kept.split("."), now.split(".")
    if len(old) != len(new):
        return ("what it was made from",)
    return tuple(PART_NAMES[name] for name, a, b in zip(names, old, new, strict=False) if a != b)


def mark(text: str) -> int:
    """Return the number that stands for a text: the square of its weighted letters, modulo a prime.

    >>> mark("bore") != mark("robe"), mark("")
    (True, 0)
    """
    if not text:
        return 0
    letters = np.frombuffer(text.encode("utf-32-le"), dtype="<u4").astype(np.int64)
    return int(int(letters @ _weights(len(letters))) % MODULUS) ** 2


@cache
def _weights(count: int) -> NDArray[np.int64]:
    places = np.arange(1, count + 1, dtype=np.int64)
    square, once, modulus = FACTORS
    return (square * places**2 + once * places) % modulus + 1


def told(value: Any, *, worked: bool = False, day: bool = False) -> str:
    """Return a cell as it stands in a mark's text: words as typed, a number in millionths, and whether it is filled.

    >>> told("6¾ ligne"), told(15.6), told(0), told(None)
    ('6¾ ligne01', '156000001', '01', '00')
    """
    if value is None:
        return "01" if worked else "00"  # an empty text that a formula gives is not an empty cell
    if isinstance(value, str):
        return f"{value}0{int(worked or value != '')}"
    if day:
        return f"{value.year * 10_000 + value.month * 100 + value.day if isinstance(value, date) else 0}1"
    return f"{_millionths(_serial(value))}1"


def _serial(value: Any) -> Any:
    """Return what a cell shown as a day or a time holds: its number."""
    if isinstance(value, date):
        return (value - DAY_0).days
    return value / timedelta(days=1) if isinstance(value, timedelta) else value


def _millionths(value: float | Decimal) -> int:
    return math.floor(float(value) * MILLIONTHS + ROUNDING)


def _text(table: Table, row: Row, barrel: str, lookup: _Lookup) -> str:
    """Return the text of a row; empty for a row that the answers of no barrel look at."""
    key = barrel if table.name in ("Barrels", *OF_BARREL) else row.get(table.counts_when)
    if key in (None, "") or not _counts(table.name, row):
        return ""
    parts = []
    for column in _columns(table.name):
        value = lookup.worked(table.name, column.key, row) if column.kind == "worked" else row.get(column.key)
        if shows_error(value):
            return ERROR
        parts.append(told(value, worked=column.kind == "worked", day=column.format == "date"))
    return "|".join(parts)


@cache
def _columns(table: str) -> tuple[Column, ...]:
    return tuple(column for column in book_definition().tables[table].columns if column.answers)


def _counts(table: str, row: Row) -> bool:
    """Whether the answers look at a row: at an order line that has come, at a spring that lies in the drawer."""
    state = " ".join(str(row.get("state") or "").split()).lower()
    if table == "Orders":
        return row.get("order") not in (None, "") and state == "received"
    return state in ("", "in drawer") if table == "Drawer" else True


class _Lookup:
    """What rows say of each other, as the formulas of the sheet find it: by cells that read alike, capitals aside."""

    def __init__(self, tables: Tables) -> None:
        self._tables = tables
        self._by: dict[tuple[str, str], dict[str, Row]] = {}

    def barrel_of(self, row: Row) -> str:
        """The barrel a row is about, in its plain spelling; of an order line without one, its need's."""
        said = row.get("barrel")
        if said in (None, "") and row.place.table == "Orders":
            need = self._row("Needs", "need", row.get("need"))
            said = need.get("barrel") if need else None
        return tidy(str(said)) if said not in (None, "") else ""

    def worked(self, table: str, key: str, row: Row) -> Any:
        """What a column that the sheet works out comes to in a row."""
        found: Callable[[Row], Any] = {
            ("Barrels", "movement"): lambda r: self._of(
                "Restorations", "restoration", r.get("restoration"), "movement"
            ),
            ("Readings", "unit_mm"): lambda r: self._positive("Units", "unit", _trimmed(r.get("unit")), "mm"),
            ("Readings", "instrument_mm"): self._instrument,
            ("Orders", "tried"): lambda r: self._times_tried(r.get("order")),
            ("Trials", "width_mm"): lambda r: self._size(r, "width_mm"),
            ("Trials", "strength_mm"): lambda r: self._size(r, "strength_mm"),
            ("Trials", "length_mm"): self._length,
        }[table, key]
        return found(row)

    def _instrument(self, row: Row) -> Any:
        name = _trimmed(row.get("instrument"))
        found = self._row("Instruments", "instrument", name)
        return None if found is None else found.get("half_width_mm") or 0

    def _times_tried(self, order: Any) -> int:
        plain = _plain(order)
        return sum(_plain(row.get("order")) == plain for row in self._tables.get("Trials", ()) if not row.place.below)

    def _length(self, row: Row) -> Any:
        fitted = row.get("length_fitted_mm")
        if _is_number(fitted) and row.get("order") not in (None, ""):
            return fitted
        cut = self._positive("Orders", "order", row.get("order"), "trim_to_mm")
        return cut if cut is not None else self._size(row, "length_mm")

    def _size(self, row: Row, key: str) -> Any:
        sold = self._positive("Orders", "order", row.get("order"), key)
        return sold if sold is not None else self._positive("Drawer", "drawer", row.get("order"), key)

    def _positive(self, table: str, by: str, name: Any, key: str) -> Any:
        found = self._of(table, by, name, key)
        return found if _is_number(found) and found else None

    def _of(self, table: str, by: str, name: Any, key: str) -> Any:
        found = self._row(table, by, name)
        return None if found is None else found.get(key)

    def _row(self, table: str, by: str, name: Any) -> Row | None:
        if name in (None, ""):
            return None
        if (table, by) not in self._by:
            rows: dict[str, Row] = {}
            for row in self._tables.get(table, ()):
                if row.get(by) not in (None, "") and not row.place.below:
                    rows.setdefault(_plain(row.get(by)), row)
            self._by[table, by] = rows
        return self._by[table, by].get(_plain(name))


def _plain(value: Any) -> str:
    return str(value).casefold()


def _trimmed(value: Any) -> Any:
    return " ".join(value.split(" ")).strip(" ") if isinstance(value, str) else value


def _is_number(value: Any) -> bool:
    return isinstance(value, (int, float, Decimal)) and not isinstance(value, bool)


def _currency(tables: Tables) -> str:
    for row in tables.get("Settings", ()):
        if _plain(row.get("setting")) == "book currency":
            return str(row.get("value") or "")
    return ""


def list_mark(rows: Sequence[Row]) -> int:
    """Return the mark of the list of springs: of all its rows together, in whatever order they stand."""
    listed = [row for row in rows if row.get("supplier") not in (None, "") and not row.place.below]
    keys = [column.key for column in _columns("Catalogue")]
    if any(shows_error(row.get(key)) for row in listed for key in keys):
        return -1
    words = ["|".join(_general(row.get(key)) for key in keys)[:LIST_LETTERS].ljust(LIST_LETTERS) for row in listed]
    letters = np.array(words, dtype=f"<U{LIST_LETTERS}").view("<u4").reshape(len(listed), LIST_LETTERS)
    total = letters.astype(np.int64) @ _weights(LIST_LETTERS)
    return int(((total % MODULUS) ** 2).sum())


def _general(value: Any) -> str:
    """Return a cell as a worksheet joins it to a text, whatever mark its country puts before decimals."""
    if isinstance(value, str):
        return value.replace(",", ".")
    return "" if value is None else f"{float(_serial(value)):.15g}"
