"""Every table of a book as a frozen record; the name of a field is the key of its column."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, fields
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any, TypeVar

from orderbook.errors import Finding
from orderbook.records import cells
from orderbook.records.rows import Place, Row

CATEGORIES = ("spring", "part", "material", "postage", "duty", "tax", "tool", "labour", "outside work")
KINDS = ("estimate", "committed", "paid", "credit")
ORDER_STATES = ("planned", "ordered", "received", "fitted", "in drawer", "returned", "cancelled")
VERDICTS = ("too weak", "never ran", "ran well", "too strong")
TRAINS = ("going", "striking", "chiming", "musical", "alarm")
NOWHERE = Row({}, Place("", 0))


@dataclass(frozen=True, slots=True)
class Restoration:
    """A timepiece on the bench."""

    restoration: str = ""
    piece: str = ""
    owner_reference: str = ""
    came_with: str = ""
    condition: str = ""
    photographs: str = ""
    estimate: Decimal | None = None
    not_above: Decimal | None = None
    opened: date | None = None
    closed: date | None = None
    state: str = ""
    note: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Barrel:
    """One barrel of a piece: the train it drives and how; its sizes are in the readings."""

    barrel: str = ""
    restoration: str = ""
    train: str = ""
    drive: str = ""
    note: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading of a barrel."""

    barrel: str = ""
    what: str = ""
    value: str = ""
    unit: str = ""
    instrument: str = ""
    date: date | None = None
    note: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Need:
    """A part or material and the decision about it."""

    need: str = ""
    restoration: str = ""
    part: str = ""
    barrel: str = ""
    decision: str = ""
    reason: str = ""
    evidence: str = ""
    depends_on: tuple[str, ...] = ()
    state: str = ""
    note: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class DrawerSpring:
    """A spring owned."""

    drawer: str = ""
    label: str = ""
    width_mm: Decimal | None = None
    strength_mm: Decimal | None = None
    length_mm: Decimal | None = None
    end: str = ""
    pieces: int | None = None
    whose: str = ""
    origin: str = ""
    order: str = ""
    price: Decimal | None = None
    currency: str = ""
    state: str = ""
    note: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One line of an order."""

    order: str = ""
    restoration: str = ""
    need: str = ""
    barrel: str = ""
    supplier: str = ""
    item: str = ""
    width_mm: Decimal | None = None
    strength_mm: Decimal | None = None
    length_mm: Decimal | None = None
    stage: int | None = None
    trigger: str = ""
    qty: int | None = None
    pack: int | None = None
    price: Decimal | None = None
    currency: str = ""
    postage: Decimal | None = None
    tax: Decimal | None = None
    rate: Decimal | None = None
    ordered_on: date | None = None
    expected: date | None = None
    received_on: date | None = None
    qty_received: int | None = None
    return_by: date | None = None
    qty_returned: int | None = None
    wrong: str = ""
    state: str = ""
    note: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Trial:
    """One fitting of a spring (an order line or one of the drawer) and how it did."""

    order: str = ""
    barrel: str = ""
    date: date | None = None
    clicks: Decimal | None = None
    verdict: str = ""
    stopped_turns: Decimal | None = None
    stopped_hours: Decimal | None = None
    rod: str = ""
    ran_days: Decimal | None = None
    amplitude: Decimal | None = None
    seen: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Work:
    """Hours worked on a need."""

    date: date | None = None
    need: str = ""
    hours: Decimal | None = None
    rate: Decimal | None = None
    done: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class LedgerLine:
    """One cost or credit."""

    date: date | None = None
    restoration: str = ""
    category: str = ""
    kind: str = ""
    amount: Decimal | None = None
    currency: str = ""
    rate: Decimal | None = None
    order: str = ""
    barrel: str = ""
    note: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Supplier:
    """Whom one orders from: currency, postage rule, lead time."""

    supplier: str = ""
    currency: str = ""
    postage: str = ""
    free_above: Decimal | None = None
    minimum_order: Decimal | None = None
    lead_days: int | None = None
    column_map: str = ""
    note: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class RateOfDay:
    """What one unit of a currency was worth in the book's currency on a day."""

    date: date | None = None
    currency: str = ""
    rate: Decimal | None = None
    source: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class ListedSpring:
    """A spring that can be bought."""

    supplier: str = ""
    item: str = ""
    width_mm: Decimal | None = None
    strength_mm: Decimal | None = None
    length_mm: Decimal | None = None
    price: Decimal | None = None
    currency: str = ""
    pack: int | None = None
    stock: int | None = None
    row: Row = field(default=NOWHERE, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class Setting:
    """One thing that holds for the whole book."""

    setting: str = ""
    value: str = ""
    row: Row = field(default=NOWHERE, compare=False, repr=False)


RECORDS: dict[str, Any] = {
    "Restorations": Restoration,
    "Barrels": Barrel,
    "Readings": Reading,
    "Needs": Need,
    "Catalogue": ListedSpring,
    "Drawer": DrawerSpring,
    "Orders": OrderLine,
    "Trials": Trial,
    "Work": Work,
    "Ledger": LedgerLine,
    "Suppliers": Supplier,
    "Rates": RateOfDay,
    "Settings": Setting,
}
# the column that makes a row count
KEYS = {
    "Restorations": "restoration", "Barrels": "barrel", "Readings": "barrel", "Needs": "need", "Catalogue": "item",
    "Drawer": "drawer", "Orders": "order", "Trials": "order", "Work": "need", "Ledger": "restoration",
    "Suppliers": "supplier", "Rates": "currency", "Settings": "setting",
}  # fmt: skip
IDENTIFIED = {
    "Restorations": "restoration",
    "Barrels": "barrel",
    "Needs": "need",
    "Drawer": "drawer",
    "Orders": "order",
}

_BY_TYPE: dict[str, cells.Reader] = {
    "str": cells.text,
    "Decimal | None": cells.number,
    "int | None": cells.whole,
    "date | None": cells.day,
    "tuple[str, ...]": cells.identifiers,
}
_IDENTIFIERS = {"restoration", "barrel", "need", "order", "drawer"}
_WORDS: dict[tuple[str, str], cells.Reader] = {
    ("Restoration", "state"): cells.one_of("open", "waiting", "closed"),
    ("Barrel", "train"): cells.one_of(*TRAINS),
    ("Barrel", "drive"): cells.one_of("going", "fusee"),
    ("Need", "decision"): cells.one_of("buy", "make", "repair", "reuse", "leave off"),
    ("Need", "evidence"): cells.one_of("original", "later replacement", "missing", "never required"),
    ("Need", "state"): cells.one_of("open", "decided", "done", "withdrawn"),
    ("DrawerSpring", "state"): cells.one_of("in drawer", "fitted", "gone"),
    ("DrawerSpring", "origin"): cells.one_of("new", "used", "original"),
    ("OrderLine", "state"): cells.one_of(*ORDER_STATES),
    ("Trial", "verdict"): cells.one_of(*VERDICTS, begins=("stopped",)),
    ("LedgerLine", "category"): cells.one_of(*CATEGORIES),
    ("LedgerLine", "kind"): cells.one_of(*KINDS),
}

Record = TypeVar("Record")


@cache
def readers(cls: Any) -> tuple[tuple[str, cells.Reader], ...]:
    """Return the reader of each column of a record."""
    return tuple((f.name, _reader(cls, f.name, str(f.type))) for f in fields(cls) if f.name != "row")


def _reader(cls: Any, name: str, kind: str) -> cells.Reader:
    if reader := _WORDS.get((cls.__name__, name)):
        return reader
    if name in _IDENTIFIERS:
        return cells.identifier
    return cells.currency if name == "currency" else _BY_TYPE[kind]


def record_of(cls: Callable[..., Record], row: Row, found: list[Finding]) -> Record:
    """Read a row as a record; what cannot be read is left empty and added to `found`."""
    values, typed = row.values, {}
    for name, reader in readers(cls):
        value = values.get(name)
        if value is not None and value != "":
            typed[name] = reader(value, row, name, found)
    return cls(**typed, row=row)
