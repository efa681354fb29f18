"""Rows to springs: every row becomes a spring or a reject with its reason. Each distinct cell is read once."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from orderbook.catalogue.blocks import Block, Coded
from orderbook.catalogue.gauges import gauge_number
from orderbook.catalogue.marks import both_readings
from orderbook.catalogue.naming import SIZES, Column
from orderbook.catalogue.plan import Plan
from orderbook.catalogue.pricing import Prices, prices_of
from orderbook.catalogue.sizes import SENSIBLE_MM, Trouble, Written, in_mm, in_order, is_missing, pieces
from orderbook.catalogue.springs import Catalogue, Reject
from orderbook.catalogue.words import fold

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Converted:
    """What became of a block: springs, rejects, rows whose price could not be read, and set-aside lines."""

    catalogue: Catalogue
    rejects: list[Reject]
    rows_in: int
    prices_unread: dict[str, int] = field(default_factory=dict)
    currency_unsaid: int = 0
    repeated: tuple[int, ...] = ()


@dataclass(slots=True)
class Faults:
    """The first trouble of each row."""

    number: NDArray[np.int32]
    troubles: list[tuple[str, Trouble]]

    @staticmethod
    def none(rows: int) -> Faults:
        """No row has trouble yet."""
        return Faults(np.zeros(rows, dtype=np.int32), [])

    def add(self, column: str, rows: NDArray[np.bool_], trouble: Trouble) -> None:
        """Note the trouble of these rows, unless they have one already."""
        hit = rows & (self.number == 0)
        if hit.any():
            self.troubles.append((column, trouble))
            self.number[hit] = len(self.troubles)

    def of_cells(self, column: str, codes: NDArray[np.int32], troubles: dict[int, Trouble]) -> None:
        """Note the troubles of distinct cells for the rows that have them."""
        if not troubles:
            return
        index = np.zeros(1 + max(int(codes.max(initial=0)), *troubles), dtype=np.int32)  # some cells have no row left
        for cell, trouble in troubles.items():
            self.troubles.append((column, trouble))
            index[cell] = len(self.troubles)
        found = index[codes]
        self.number = np.where(self.number == 0, found, self.number)


def convert(block: Block, plan: Plan) -> Converted:
    """Read the rows of a block by a plan."""
    block, repeated = _without_headers(block, plan)
    faults = Faults.none(len(block))
    item = _texts(block, plan, "item", "")
    _needs_name("item", block, plan, faults)
    _needs_name("supplier", block, plan, faults)
    supplier = _texts(block, plan, "supplier", plan.supplier)
    faults.add("supplier", supplier == "", Trouble("no supplier", "Give it with --supplier."))
    sizes = _sizes(block, plan, faults)
    prices = prices_of(block, plan)
    for column, codes, troubles in prices.troubles:
        faults.of_cells(column, codes, troubles)
    texts = {name: _texts(block, plan, name, "") for name in ("end", "material", "note")}
    whole = dict(zip(("width_mm", "strength_mm", "length_mm"), sizes, strict=True)) | texts
    catalogue = Catalogue.of(
        supplier=supplier,
        item=item,
        **whole,
        currency=prices.currency,
        price_minor=prices.minor,
        pack=prices.pack,
        stock=_stock(block, plan),
        file=_constant(plan.file, len(block)),
        line=block.lines,
    )
    kept = faults.number == 0
    rejects = _rejects(block, plan, faults)
    return Converted(
        catalogue if kept.all() else catalogue.take(kept),
        rejects,
        len(block),
        _unread(prices, kept),
        int(np.count_nonzero(kept & (prices.minor >= 0) & (prices.currency == ""))),
        repeated,
    )


def _without_headers(block: Block, plan: Plan) -> tuple[Block, tuple[int, ...]]:
    """Set aside rows that repeat the header."""
    again = np.ones(len(block), dtype=bool)
    used = [column for column in plan.columns if column.meaning != "unused"]
    for column in used:
        coded = block.columns[column.index]
        places = [i for i, text in enumerate(coded.texts) if " ".join(text.split()) == plan.header[column.index]]
        again &= np.isin(coded.codes, places)
        if not again.any():
            return block, ()
    kept = ~again
    columns = tuple(Coded(c.codes[kept], c.cells) for c in block.columns)
    return Block(block.lines[kept], columns), tuple(block.lines[again].tolist())


def _texts(block: Block, plan: Plan, meaning: str, missing: str) -> NDArray[np.object_]:
    column = plan.column(meaning)
    if column is None:
        return _constant(missing, len(block))
    coded = block.columns[column.index]
    distinct = np.empty(len(coded.cells), dtype=object)
    distinct[:] = coded.texts
    distinct[coded.missing] = missing
    return np.asarray(distinct[coded.codes])


def _constant(text: str, rows: int) -> NDArray[np.object_]:
    column = np.empty(rows, dtype=object)
    column[:] = text
    return column


def _needs_name(meaning: str, block: Block, plan: Plan, faults: Faults) -> None:
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


def _sizes(block: Block, plan: Plan, faults: Faults) -> list[Floats]:
    combined = plan.column("sizes")
    found: dict[str, Floats] = {}
    if combined is not None:
        found = _combined(block.columns[combined.index], combined, faults)
    for meaning in SIZES:
        if (column := plan.column(meaning)) is not None:
            own = _size(block.columns[column.index], column, plan, faults, optional=meaning in found)
            given = found.get(meaning)
            if given is not None:
                _differ(column, own, given, faults)
                own = np.where(np.isnan(own), given, own)
            found[meaning] = own
    if (gauge := plan.column("gauge")) is not None and "strength" not in found:
        found["strength"] = _by_gauge(block.columns[gauge.index], gauge, plan, faults)
    sizes = [found.get(meaning, np.full(len(block), np.nan)) for meaning in SIZES]
    for meaning, values in zip(SIZES, sizes, strict=True):
        faults.add("", np.isnan(values), Trouble(f"no {meaning}", "Add it to the list, or leave the row out."))
    _in_proportion(sizes[0], sizes[1], sizes[2], faults)
    return sizes


def _size(coded: Coded, column: Column, plan: Plan, faults: Faults, optional: bool) -> Floats:
    values = np.full(len(coded.cells), np.nan)
    troubles: dict[int, Trouble] = {}
    for i, (size, text) in enumerate(zip(coded.sizes, coded.texts, strict=True)):
        answer = _one_size(size, text, coded.cells[i] is None, column, plan)
        if isinstance(answer, Trouble):
            if not (optional and is_missing(text)):
                troubles[i] = answer
        else:
            values[i] = answer
    faults.of_cells(column.header, coded.codes, troubles)
    return np.asarray(values[coded.codes])


def _one_size(size: Written | None, text: str, is_date: bool, column: Column, plan: Plan) -> float | Trouble:
    if is_date:
        return Trouble("a spreadsheet made a date of it", "Write the size as text in the sheet.")
    if is_missing(text):
        return Trouble(f"no {column.meaning}", "Add it to the list, or leave the row out.")
    if size is None:
        if column.meaning == "strength" and (number := gauge_number(text)):
            return _gauge_mm(number, text, column, plan)
        return Trouble(f"{text!r} is not a length", "Write one number with its unit, such as 0.16 mm.")
    if not size.unit and not column.unit:
        return Trouble(f"{text!r} has no unit, while other cells have", "Write the unit, or say it in a column map.")
    mm = in_mm(size, column.decimal, column.unit)
    if mm is None:
        return _unreadable(size, text)
    low, high = SENSIBLE_MM[column.meaning]
    if not low <= mm <= high:
        saw = f"{text!r} is a {column.meaning} of {mm:.4g} mm; a mainspring's is {low:g} to {high:g} mm"
        return Trouble(saw, "Look at the decimal mark and the unit.")
    return mm


def _unreadable(size: Written, text: str) -> Trouble:
    if not size.is_fraction and len(size.number.replace(",", ".").split(".")) == 2:
        return Trouble(f"{both_readings(size.number)}; the column has both marks", "Write it with four decimals.")
    return Trouble(f"{text!r} is not one number", "Write one number with its unit, such as 0.16 mm.")


def _gauge_mm(number: str, text: str, column: Column, plan: Plan) -> float | Trouble:
    if plan.gauge is None:
        saw = f"{text!r} is a gauge number, and gauges differ from maker to maker"
        return Trouble(saw, "Name the gauge's table: --gauge TABLE.csv with the columns gauge,number,mm.")
    table = plan.gauge.only(f"{column.header} {text}")
    if table is None:
        return Trouble(
            f"{plan.gauge.source} has several gauges", "Name the gauge in the heading, or use a table of one."
        )
    if number not in table:
        return Trouble(f"gauge number {number} is not in {plan.gauge.source}", "Add it to the table if it is right.")
    low, high = SENSIBLE_MM["strength"]
    if not low <= table[number] <= high:
        saw = f"gauge number {number} is {table[number]:g} mm; a mainspring's strength is {low:g} to {high:g} mm"
        return Trouble(saw, "Is it the right gauge?")
    return table[number]


def _by_gauge(coded: Coded, column: Column, plan: Plan, faults: Faults) -> Floats:
    values = np.full(len(coded.cells), np.nan)
    troubles: dict[int, Trouble] = {}
    for i, text in enumerate(coded.texts):
        number = gauge_number(text)
        answer = _gauge_mm(number, text, column, plan) if number else _not_a_gauge(text)
        if isinstance(answer, Trouble):
            troubles[i] = answer
        else:
            values[i] = answer
    faults.of_cells(column.header, coded.codes, troubles)
    return np.asarray(values[coded.codes])


def _not_a_gauge(text: str) -> Trouble:
    if is_missing(text):
        return Trouble("no strength", "Add it to the list, or leave the row out.")
    return Trouble(f"{text!r} is no gauge number", "Write the number alone, such as 12 or 3/0.")


def _combined(coded: Coded, column: Column, faults: Faults) -> dict[str, Floats]:
    values = np.full((3, len(coded.cells)), np.nan)
    troubles: dict[int, Trouble] = {}
    for i, text in enumerate(coded.texts):
        answer = _come_apart(text, column)
        if isinstance(answer, Trouble):
            troubles[i] = answer
        else:
            values[:, i] = answer
    faults.of_cells(column.header, coded.codes, troubles)
    found = dict(zip(SIZES, values[:, coded.codes], strict=True))
    return {meaning: sizes for meaning, sizes in found.items() if not np.isnan(sizes).all()}


def _come_apart(text: str, column: Column) -> tuple[float, float, float] | Trouble:
    found = pieces(text)
    if any(not piece.unit and not column.unit for piece in found):
        return Trouble(f"{text!r} has no unit, while other cells have", "Write the unit, or say it in a column map.")
    sizes = [in_mm(piece, column.decimal, column.unit) for piece in found]
    known = tuple(size for size in sizes if size is not None)
    ordered = in_order(known) if found and len(known) == len(found) else None
    if ordered is None:
        try_this = "Write it as width x strength x length with a unit, such as 2.50 x 0.16 x 340 mm."
        return Trouble(f"{text!r} does not come apart into width, strength and length", try_this)
    for meaning, mm in zip(SIZES, ordered, strict=True):
        low, high = SENSIBLE_MM[meaning]
        if mm is not None and not low <= mm <= high:
            saw = f"{text!r} makes a {meaning} of {mm:.4g} mm; a mainspring's is {low:g} to {high:g} mm"
            return Trouble(saw, "Look at the decimal mark and the unit.")
    width, strength, length = ordered
    return width, strength, np.nan if length is None else length


def _differ(column: Column, own: Floats, given: Floats, faults: Faults) -> None:
    apart = ~np.isnan(own) & ~np.isnan(given) & ~np.isclose(own, given, rtol=0.005)
    faults.add(column.header, apart, Trouble("two columns give different sizes", "Ask the supplier which is right."))


def _in_proportion(width: Floats, strength: Floats, length: Floats, faults: Faults) -> None:
    with np.errstate(invalid="ignore"):
        thick, short = width < 3 * strength, length < 3 * width
    advice = "Look at the decimal marks; are two columns swapped?"
    faults.add("", thick, Trouble("the strength is more than a third of the width", advice))
    faults.add("", short, Trouble("the length is less than three widths", advice))


def _stock(block: Block, plan: Plan) -> NDArray[np.int64]:
    column = plan.column("stock")
    if column is None:
        return np.full(len(block), -1, dtype=np.int64)
    coded = block.columns[column.index]
    pieces_left = np.array([_pieces_left(text, plan) for text in coded.texts] or [-1], dtype=np.int64)
    return np.asarray(pieces_left[coded.codes])


def _pieces_left(text: str, plan: Plan) -> int:
    digits = text.replace(" ", "").removesuffix("+").removeprefix(">").removesuffix("Stk.").removesuffix("pcs")
    if digits.isascii() and digits.isdigit() and len(digits) < 10:
        return int(digits)
    return 0 if " ".join(fold(text)) in plan.words.cells["none_left"] else -1


def _unread(prices: Prices, kept: NDArray[np.bool_]) -> dict[str, int]:
    if not prices.unread or prices.codes is None:
        return {}
    counts = np.bincount(prices.codes[kept], minlength=max(prices.unread) + 1)
    return {text: int(counts[i]) for i, text in prices.unread.items() if counts[i]}


def _rejects(block: Block, plan: Plan, faults: Faults) -> list[Reject]:
    words = plan.words.cells["total"]
    totals = words, frozenset(word.split()[0] for word in words)
    rows = np.flatnonzero(faults.number)
    return [_reject(block, plan, int(row), faults.troubles[faults.number[row] - 1], totals) for row in rows]


def _reject(
    block: Block, plan: Plan, row: int, fault: tuple[str, Trouble], totals: tuple[frozenset[str], frozenset[str]]
) -> Reject:
    column, trouble = fault
    cells = [c.texts[c.codes[row]] for c in block.columns]
    filled = [cell for cell in cells if cell]
    text = " | ".join(cells)
    line = int(block.lines[row])
    if len(filled) == 1 and not filled[0][:1].isdigit():
        return Reject(plan.file, line, "", filled[0], "a title or remark: one cell only", "Nothing to do if so.")
    if any(_is_total(cell, *totals) for cell in filled):
        return Reject(plan.file, line, "", text, "a total, not a spring", "Nothing to do if so.")
    return Reject(plan.file, line, column, text, trouble.reason, trouble.try_this)


def _is_total(cell: str, totals: frozenset[str], begins: frozenset[str]) -> bool:
    if cell.split(maxsplit=1)[0].casefold().rstrip(":.") not in begins:
        return False
    words = fold(cell)
    return any(" ".join(words[:n]) in totals for n in (1, 2, 3))
