"""From a graded order to planned order lines: one line a stage, the later ones waiting for a verdict."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from orderbook.errors import Finding, error, finding
from orderbook.records import cells
from orderbook.records.books import Books
from orderbook.records.identifiers import next_identifiers, tidy
from orderbook.records.index import barrel_of, index
from orderbook.records.listed import as_listed
from orderbook.records.rows import Append, Change, Row
from orderbook.records.tables import OrderLine

OLDER = {"drawer": "drawer"}  # books and files written before `found_in` name the place as the supplier
LIVE = frozenset({"planned", "ordered", "received", "fitted", "in drawer"})


@dataclass(frozen=True, slots=True)
class Stage:
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


def planned(
    books: Books, restoration: str, barrel: str, stages: Sequence[Stage], *, all_at_once: bool = False
) -> tuple[tuple[Change, ...], tuple[Finding, ...]]:
    """Plan an order line for each stage that is not in Orders yet.

    The first stage is due now; each later one waits for the verdict on the stage before it, unless all are to be
    ordered at once. A spring at hand needs no line: the next stage waits for its verdict by its number. One piece
    is wanted of each; where the supplier sells packs, a whole one is planned at its price in the supplier's currency.
    """
    new = [s for s in sorted(stages, key=lambda s: s.stage) if not _line_of(books, restoration, barrel, s)]
    lines = [as_listed(books, s) for s in new if not s.at_hand]
    free = next_identifiers("O", (o.order for o in books.orders), len(lines))
    names = dict(zip((s.stage for s in lines), free, strict=True))
    before = {after.stage: first for first, after in pairwise(_sorted(stages))}
    earlier = _stages_before(books, restoration, barrel)
    need = _need_of(books, restoration, barrel)

    def trigger(weaker: Stage | None) -> str:
        """Wait for the stage before by its number; by its order line, where stages were planned before."""
        if weaker is None:
            return "now"
        if weaker.at_hand:
            return f"if {tidy(weaker.item)} is too weak"
        line = _line_of(books, restoration, barrel, weaker)
        name = line.order if line else names[weaker.stage]
        return f"if {name if earlier else f'stage {weaker.stage}'} is too weak"

    changes = [
        Append(
            "Orders",
            {
                "order": names[s.stage],
                "restoration": restoration,
                "barrel": barrel,
                "need": need,
                "supplier": s.supplier,
                "item": s.item,
                "width_mm": s.width_mm,
                "strength_mm": s.strength_mm,
                "length_mm": s.length_mm,
                "stage": earlier + number if earlier else s.stage,
                "trigger": "now" if all_at_once else trigger(before.get(s.stage)),
                "qty": 1,
                "pack": s.pack if s.pack > 1 else None,
                "price": s.price,
                "currency": s.currency,
                "state": "planned",
            },
        )
        for number, s in enumerate(lines, 1)
    ]
    return tuple(changes), (*_unpriced(lines, names), *_left_out(books, restoration, barrel, stages))


def _sorted(stages: Iterable[Stage]) -> list[Stage]:
    return sorted(stages, key=lambda s: s.stage)


def _line_of(books: Books, restoration: str, barrel: str, stage: Stage) -> OrderLine | None:
    """Return the line that stands for a stage in Orders already."""
    for o in index(books).orders_of[restoration]:
        same = (o.supplier.casefold(), o.item) == (stage.supplier.casefold(), stage.item)
        if same and o.state in LIVE and barrel_of(books, o) == barrel and _same_strength(o, stage):
            return o
    return None


def _same_strength(line: OrderLine, stage: Stage) -> bool:
    """Tell springs of one item apart: some suppliers call every strength of a width by one name."""
    return line.strength_mm is None or stage.strength_mm is None or line.strength_mm == stage.strength_mm


def _left_out(books: Books, restoration: str, barrel: str, stages: Sequence[Stage]) -> Iterable[Finding]:
    """Say which planned springs the graded order of today does without: a verdict has moved the need since."""
    wanted = [_line_of(books, restoration, barrel, s) for s in stages]
    for o in index(books).orders_of[restoration]:
        if stages and o.stage and o.state == "planned" and barrel_of(books, o) == barrel and o not in wanted:
            now = ", ".join(f"{s.supplier} {s.item}" for s in _sorted(stages))
            saw = f"{o.order} is planned for {barrel}, but the graded order is now: {now}"
            yield finding("planned_but_left_out", where=o.row.place.of("state"), saw=saw)


def _stages_before(books: Books, restoration: str, barrel: str) -> int:
    """Return the highest stage planned for a barrel before; the stages of a new graded order are counted on from it."""
    lines = [o for o in index(books).orders_of[restoration] if o.stage and o.state in LIVE]
    return max((o.stage or 0 for o in lines if barrel_of(books, o) == barrel), default=0)


def _need_of(books: Books, restoration: str, barrel: str) -> str:
    open_needs = [
        n for n in index(books).needs_of[restoration] if n.barrel == barrel and n.state in ("open", "decided")
    ]
    return next((n.need for n in open_needs if "spring" in n.part.casefold()), "")


def _unpriced(lines: Sequence[Stage], names: dict[int, str]) -> Iterable[Finding]:
    for s in lines:
        if s.price is None:
            yield finding("price_missing", where=names[s.stage], saw=f"{s.supplier} {s.item} has no price in the list")


def stored_stages(books: Books, restoration: str) -> list[tuple[str, list[Stage]]]:
    """Return the graded orders kept in the book's table Stages, by barrel of a restoration."""
    by_barrel: dict[str, list[Stage]] = {}
    for row in books.tables.get("Stages", ()):
        barrel = tidy(str(row.get("barrel") or ""))
        known = index(books).barrels.get(barrel)
        if known and known.restoration == restoration and row.get("stage"):
            by_barrel.setdefault(barrel, []).append(stage_of(row))
    return list(by_barrel.items())


def stage_of(row: Row) -> Stage:
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
    return Stage(stage, supplier, item, **sizes, price=price, currency=currency, pack=pack, found_in=found_in)
