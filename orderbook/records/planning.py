"""From a graded order to planned order lines: one line a stage, the later ones waiting for a verdict."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import pairwise

from orderbook.errors import Finding, finding
from orderbook.records.books import Books
from orderbook.records.identifiers import next_identifiers, tidy
from orderbook.records.index import barrel_of, index
from orderbook.records.listed import as_listed
from orderbook.records.packs import pieces_good
from orderbook.records.planned_spring import PlannedSpring
from orderbook.records.rows import Append, Change, Put
from orderbook.records.tables import OrderLine
from orderbook.records.verdicts import side_of

LIVE = frozenset({"planned", "ordered", "received", "fitted", "in drawer"})
FindLine = Callable[[PlannedSpring], OrderLine | None]


def planned(
    books: Books, restoration: str, barrel: str, stages: Sequence[PlannedSpring], *, all_at_once: bool = False
) -> tuple[tuple[Change, ...], tuple[Finding, ...]]:
    """Plan an order line for each stage that is not in Orders yet.

    The first stage is due now; each later one waits for the verdict on the stage before it, unless all are to be
    ordered at once. A spring at hand needs no line: the next stage waits for its verdict by its number. One piece
    is wanted of each; where the supplier sells packs, a whole one is planned at its price in the supplier's currency.
    A line planned before that is now to be tried after a new one waits for that one, and its stage moves up.
    """
    new = [s for s in sorted(stages, key=lambda s: s.stage) if not _line_of(books, restoration, barrel, s)]
    lines = [as_listed(books, s) for s in new if not s.at_hand]
    free = next_identifiers("O", (o.order for o in books.orders), len(lines))
    names = dict(zip((s.stage for s in lines), free, strict=True))
    before = {after.stage: first for first, after in pairwise(_sorted(stages))}
    earlier = _stages_before(books, restoration, barrel)
    need = _need_of(books, restoration, barrel)

    def find(stage: PlannedSpring) -> OrderLine | None:
        return _line_of(books, restoration, barrel, stage)

    def trigger(weaker: PlannedSpring | None) -> str:
        """Wait for the stage before by its number; by its order line, where stages were planned before."""
        if weaker is None:
            return "now"
        if weaker.at_hand:
            return f"if {tidy(weaker.item)} is too weak"
        line = _line_of(books, restoration, barrel, weaker)
        name = line.order if line else names[weaker.stage]
        return f"if {name if earlier else f'stage {weaker.stage}'} is too weak"

    numbers = _numbers(stages, lines, earlier, find)
    changes: list[Change] = [
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
                "stage": numbers[s.stage],
                "trigger": "now" if all_at_once else trigger(before.get(s.stage)),
                "qty": 1,
                "pack": s.pack if s.pack > 1 else None,
                "price": s.price,
                "currency": s.currency,
                "state": "planned",
            },
        )
        for s in lines
    ]
    for stage, line in _to_move(stages, lines, find).items():
        when = "now" if all_at_once else trigger(before.get(stage))
        changes.append(Put("Orders", line.row.place.row, {"stage": numbers.get(stage, line.stage), "trigger": when}))
    return tuple(changes), (*_unpriced(lines, names), *_left_out(books, restoration, barrel, stages))


def on_their_way(books: Books, restoration: str, barrel: str) -> list[OrderLine]:
    """Return the stages ordered for a barrel that are to come and are stronger than every spring that failed in it."""
    found = index(books)
    failed = [t for t in found.trials_of[restoration] if t.barrel == barrel and side_of(t.verdict) == "weak"]
    tried = [found.orders.get(t.order) or found.drawer.get(t.order) for t in failed]
    strongest = max((spring.strength_mm or 0 for spring in tried if spring), default=0)
    return [
        o
        for o in found.orders_of[restoration]
        if o.stage and o.state == "ordered" and barrel_of(books, o) == barrel and (o.strength_mm or 0) > strongest
    ]


def waits_for_those(books: Books, barrel: str, coming: Sequence[OrderLine]) -> Finding:
    """Say that nothing is planned for a barrel while springs ordered for it are on their way."""
    saw = f"{', '.join(o.order for o in coming)} for {barrel} ordered and not come yet"
    return finding("springs_on_their_way", where=coming[0].row.place.of("state"), saw=saw)


def _numbers(
    stages: Sequence[PlannedSpring], new: Sequence[PlannedSpring], earlier: int, line_of: FindLine
) -> dict[int, int]:
    """Return the stage number of every spring that is new, or planned and to be tried after a new one.

    They count on from the highest stage of what was planned before and comes first.
    """
    if not earlier:
        return {s.stage: s.stage for s in new}
    moved = _to_move(stages, new, line_of)
    first = min((line.stage or earlier + 1 for line in moved.values()), default=earlier + 1)
    wanted = {s.stage for s in new} | set(moved)
    rising = [s.stage for s in _sorted(stages) if s.stage in wanted]
    return {stage: first + n for n, stage in enumerate(rising)}


def _to_move(stages: Sequence[PlannedSpring], new: Sequence[PlannedSpring], line_of: FindLine) -> dict[int, OrderLine]:
    """Return the planned lines that stand behind a new spring in the graded order of today."""
    weakest = min((s.stage for s in new), default=None)
    behind = [s for s in stages if weakest is not None and s.stage > weakest]
    lines = {s.stage: line_of(s) for s in behind}
    return {stage: line for stage, line in lines.items() if line is not None and line.state == "planned"}


def _sorted(stages: Iterable[PlannedSpring]) -> list[PlannedSpring]:
    return sorted(stages, key=lambda s: s.stage)


def _line_of(books: Books, restoration: str, barrel: str, stage: PlannedSpring) -> OrderLine | None:
    """Return the line that stands for a stage in Orders already."""
    for o in index(books).orders_of[restoration]:
        same = (o.supplier.casefold(), o.item) == (stage.supplier.casefold(), stage.item)
        serves = o.state in ("planned", "ordered") or (o.state in LIVE and pieces_good(o) > 0)
        if same and serves and barrel_of(books, o) == barrel and _same_strength(o, stage):
            return o
    return None


def _same_strength(line: OrderLine, stage: PlannedSpring) -> bool:
    """Tell springs of one item apart: some suppliers call every strength of a width by one name."""
    return line.strength_mm is None or stage.strength_mm is None or line.strength_mm == stage.strength_mm


def _left_out(books: Books, restoration: str, barrel: str, stages: Sequence[PlannedSpring]) -> Iterable[Finding]:
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


def _unpriced(lines: Sequence[PlannedSpring], names: dict[int, str]) -> Iterable[Finding]:
    for s in lines:
        if s.price is None:
            yield finding("price_missing", where=names[s.stage], saw=f"{s.supplier} {s.item} has no price in the list")
