"""One spring of a graded order as the books plan it, read from the book's table Stages or from a file."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from orderbook.errors import Finding, error
from orderbook.records import cells
from orderbook.records.books import Books
from orderbook.records.identifiers import tidy
from orderbook.records.index import index
from orderbook.records.rows import Row

OLDER = {"drawer": "drawer"}  # books and files written before `found_in` name the place as the supplier


@dataclass(frozen=True, slots=True)
class PlannedSpring:
    """One spring of a graded order, at the price of a pack.

    `found_in` is list, drawer or received; of a spring at hand, `item` is its number in Drawer or Orders.
    """

    stage: int
    supplier: str
    item: str
    width_mm: Decimal | None = None
    strength_mm: Decimal | None = None
    length_mm: Decimal | None = None
    price: Decimal | None = None
    currency: str = ""
    pack: int = 1
    found_in: str = "list"

    @property
    def at_hand(self) -> bool:
        """Whether it need not be ordered."""
        return self.found_in != "list"


def stored_stages(books: Books, restoration: str) -> list[tuple[str, list[PlannedSpring]]]:
    """Return the graded orders kept in the book's table Stages, by barrel of a restoration."""
    by_barrel: dict[str, list[PlannedSpring]] = {}
    for row in books.tables.get("Stages", ()):
        barrel = tidy(str(row.get("barrel") or ""))
        known = index(books).barrels.get(barrel)
        if known and known.restoration == restoration and row.get("stage"):
            by_barrel.setdefault(barrel, []).append(stage_of(row))
    return list(by_barrel.items())


def stage_of(row: Row) -> PlannedSpring:
    """Read one stage of a graded order from a row.

    Raises: OrderbookError(stage_not_read).
    """
    found: list[Finding] = []
    stage = cells.whole(row.get("stage"), row, "stage", found)
    sizes = {key: cells.number(row.get(key), row, key, found) for key in ("width_mm", "strength_mm", "length_mm")}
    listed = "listed_" if row.get("listed_price") else ""  # as the supplier prints it, where the answer says so
    price = cells.number(row.get(f"{listed}price"), row, f"{listed}price", found)
    currency = cells.text(row.get(f"{listed}currency"), row, f"{listed}currency", found)
    pack = cells.whole(row.get("pack"), row, "pack", found) or 1
    supplier, item = (cells.text(row.get(key), row, key, found) for key in ("supplier", "item"))
    if stage is None or found:
        saw = found[0].saw if found else "no stage number"
        raise error("stage_not_read", where=found[0].where if found else row.place.of("stage"), saw=saw)
    found_in = cells.text(row.get("found_in"), row, "found_in", found) or OLDER.get(supplier, "list")
    return PlannedSpring(stage, supplier, item, **sizes, price=price, currency=currency, pack=pack, found_in=found_in)
