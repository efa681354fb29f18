"""Rows to springs: every row becomes a spring or a reject with its reason."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from orderbook.catalogue.blocks import Block
from orderbook.catalogue.faults import Faults, rejects_of
from orderbook.catalogue.plan import ReadingPlan
from orderbook.catalogue.pricing import Unread, prices_of
from orderbook.catalogue.row_sizes import sizes_of
from orderbook.catalogue.sizes import Trouble
from orderbook.catalogue.springs import Catalogue, Reject
from orderbook.catalogue.stock import stock_of


@dataclass(frozen=True, slots=True)
class Converted:
    """What became of a block: springs, rejects, what is told of prices with the number of rows, set-aside lines."""

    catalogue: Catalogue
    rejects: list[Reject]
    rows_in: int
    told: Counter[Unread] = field(default_factory=Counter)
    currency_unsaid: int = 0
    repeated: tuple[int, ...] = ()


def convert(block: Block, plan: ReadingPlan) -> Converted:
    """Read the rows of a block by a plan."""
    block, repeated = _without_headers(block, plan)
    faults = Faults.none(len(block))
    item = _texts(block, plan, "item", "")
    _needs_name("item", block, plan, faults)
    _needs_name("supplier", block, plan, faults)
    supplier = _texts(block, plan, "supplier", plan.supplier)
    if plan.column("supplier") is not None or not plan.supplier:
        faults.add("supplier", supplier == "", Trouble("no supplier", "Say whose list it is."))
    width, strength, length = sizes_of(block, plan, faults)
    prices = prices_of(block, plan)
    catalogue = Catalogue.of(
        supplier=supplier,
        item=item,
        width_mm=width,
        strength_mm=strength,
        length_mm=length,
        **{name: _texts(block, plan, name, "") for name in ("end", "material", "note")},
        currency=prices.currency,
        price_minor=prices.minor,
        pack=prices.pack,
        stock=stock_of(block, plan),
        file=_constant(plan.file, len(block)),
        line=block.lines,
    )
    kept = faults.number == 0
    return Converted(
        catalogue if kept.all() else catalogue.take(kept),
        rejects_of(block, faults, plan.file, plan.words),
        len(block),
        prices.counted(kept),
        int(np.count_nonzero(kept & (prices.minor >= 0) & (prices.currency == ""))),
        repeated,
    )


def _without_headers(block: Block, plan: ReadingPlan) -> tuple[Block, tuple[int, ...]]:
    """Set aside rows that repeat the header."""
    again = np.ones(len(block), dtype=bool)
    used = [column for column in plan.columns if column.meaning != "unused"]
    used.sort(key=lambda column: len(block.columns[column.index].cells))  # the shortest look first
    for column in used:
        coded = block.columns[column.index]
        heading = plan.header[column.index]
        begins = heading.split(" ", 1)[0]  # blanks within a heading are of one kind, in a cell they may be of any
        places = [
            i for i, text in enumerate(coded.texts) if text.startswith(begins) and " ".join(text.split()) == heading
        ]
        if not places or not heading:
            return block, ()
        again &= np.isin(coded.codes, places)
        if not again.any():
            return block, ()
    kept = ~again
    return block.take(kept), tuple(block.lines[again].tolist())


def _texts(block: Block, plan: ReadingPlan, meaning: str, missing: str) -> NDArray[np.object_]:
    column = plan.column(meaning)
    if column is None:
        return _constant(missing, len(block))
    coded = block.columns[column.index]
    distinct = np.empty(len(coded.cells), dtype=object)
    distinct[:] = coded.texts
    distinct[coded.missing] = missing
    return distinct if coded.is_plain else np.asarray(distinct[coded.codes])


def _constant(text: str, rows: int) -> NDArray[np.object_]:
    """The same text in every row, held once."""
    one = np.empty(1, dtype=object)
    one[0] = text
    return np.broadcast_to(one, (rows,))


def _needs_name(meaning: str, block: Block, plan: ReadingPlan, faults: Faults) -> None:
    """A row needs its item number, and names without half a pair of quotes."""
    column = plan.column(meaning)
    if column is None:
        return
    coded, troubles = block.columns[column.index], {}
    if '"' in "".join(coded.texts):
        for at, text in enumerate(coded.texts):
            if text.count('"') % 2 and text.strip('"') != text:
                reason = f"{text!r} begins or ends in a single quote: one is missing"
                troubles[at] = Trouble(reason, "Mend the quotes of this line.")
    if meaning == "item":
        nameless = Trouble("no item number", "A spring is ordered by its number; add it to the list.")
        troubles |= dict.fromkeys(coded.missing, nameless)
    faults.of_cells(column.header, coded.codes, troubles)
