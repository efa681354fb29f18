"""Looking things up in a book: made once per book, so that a whole book is checked in one pass."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, TypeVar

from orderbook.records import tables as t
from orderbook.records.books import Books
from orderbook.records.identifiers import restoration_of

Record = TypeVar("Record")


@dataclass(frozen=True, slots=True)
class Index:
    """The records of a book by identifier, and by what they belong to."""

    restorations: Mapping[str, t.Restoration]
    barrels: Mapping[str, t.BarrelRow]
    needs: Mapping[str, t.Need]
    orders: Mapping[str, t.OrderLine]
    drawer: Mapping[str, t.DrawerSpring]
    suppliers: Mapping[str, t.SupplierRow]
    orders_of: Mapping[str, list[t.OrderLine]]  # by restoration
    orders_for: Mapping[str, list[t.OrderLine]]  # by need
    needs_of: Mapping[str, list[t.Need]]
    ledger_of: Mapping[str, list[t.LedgerLine]]
    ledger_for: Mapping[str, list[t.LedgerLine]]  # by order line; what a spring of the drawer cost stands in moves_of
    work_of: Mapping[str, list[t.Work]]  # of the need it names, or of the piece itself
    trials_of: Mapping[str, list[t.Trial]]
    trials_with: Mapping[str, list[t.Trial]]  # by spring
    drawer_from: Mapping[str, list[t.DrawerSpring]]  # by order line
    moves_of: Mapping[str, list[t.LedgerLine]]  # by spring of the drawer
    parcels: Mapping[str, list[t.OrderLine]]
    notes_of: Mapping[str, list[t.RecordNote]]


@lru_cache(maxsize=4)
def index(books: Books) -> Index:
    """Return the lookups of a book."""
    needs = {n.need: n for n in books.needs}
    orders = {o.order: o for o in books.orders}

    def piece_of(trial: t.Trial) -> str:
        order = orders.get(trial.order)
        return restoration_of(trial.barrel) or (order.restoration if order else "")

    return Index(
        restorations={r.restoration: r for r in books.restorations},
        barrels={b.barrel: b for b in books.barrels},
        needs=needs,
        orders=orders,
        drawer={d.drawer: d for d in books.drawer},
        suppliers={s.supplier.casefold(): s for s in books.suppliers},
        orders_of=_grouped(books.orders, lambda o: o.restoration),
        orders_for=_grouped(books.orders, lambda o: o.need),
        needs_of=_grouped(books.needs, lambda n: n.restoration),
        ledger_of=_grouped(books.ledger, lambda line: line.restoration),
        ledger_for=_grouped(books.ledger, lambda line: "" if line.drawer else line.order),
        work_of=_grouped(books.work, lambda w: needs[w.need].restoration if w.need in needs else w.need),
        trials_of=_grouped(books.trials, piece_of),
        trials_with=_grouped(books.trials, lambda trial: trial.order),
        drawer_from=_grouped(books.drawer, lambda d: d.order),
        moves_of=_grouped(books.ledger, lambda line: line.drawer),
        parcels=_grouped(books.orders, lambda o: o.parcel),
        notes_of=_grouped(books.notes, lambda n: n.restoration),
    )


def barrel_of(books: Books, line: t.OrderLine | t.LedgerLine) -> str:
    """Return the barrel a line is for: its own, or the one of its order's or its need's."""
    found = index(books)
    if line.barrel:
        return line.barrel
    if isinstance(line, t.LedgerLine):
        order = found.orders.get(line.order)
        return barrel_of(books, order) if order else ""
    need = found.needs.get(line.need)
    return need.barrel if need else ""


def _grouped(records: Iterable[Record], by: Callable[[Record], str]) -> Mapping[str, list[Record]]:
    groups: dict[str, list[Any]] = defaultdict(list)
    for record in records:
        if name := by(record):
            groups[name].append(record)
    return _Groups(groups)


class _Groups(dict[str, list[Any]]):
    """Groups by name; a name with none gives an empty list and is not added."""

    def __missing__(self, name: str) -> list[Any]:
        return []
