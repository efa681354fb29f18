"""The book's own Account, Barrels and Order sheet states against ours: every number a person acts on, two ways."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from orderbook.errors import Finding, OrderbookError, finding
from orderbook.mechanics.closed_rule import USUAL_SET_UP, Kept
from orderbook.records.accounts import Account, Sums, account
from orderbook.records.books import Books
from orderbook.records.definition import book_definition
from orderbook.records.index import index
from orderbook.records.rows import Row
from orderbook.records.stages import standing
from orderbook.sheets.account_page import FIRST_CATEGORY
from orderbook.xlsx.page import address, letters
from orderbook.xlsx.reading import OpenBook, columns_of
from orderbook.xlsx.sheet_reading import SheetCell

HEADS = ("estimate", "committed", "paid", "credits", "balance")
CLOSE = 1e-9  # of the value: two ways of rounding in the last place
ROUNDED = {"width_mm": 0.005}  # the sheet rounds it to whole hundredths
STANDING = {"due": "due", "waits": "waits", "off": "waits", "not read": "not understood"}


def sheet_differences(book: OpenBook, books: Books) -> Iterator[Finding]:
    """Find cells of these sheets whose native formula says something else than Python, or has been typed over."""
    yield from _account(book, books)
    yield from _barrels(book)
    yield from _due(book, books)


def _account(book: OpenBook, books: Books) -> Iterator[Finding]:
    cells = book.cells.get("Account", {})
    picked = cells.get((0, 2))
    name = str(picked.value or "") if picked else ""
    if name not in index(books).restorations:
        return
    found = account(books, name, on=date.max)  # sums alone: no delivery is late on any day
    categories = book_definition().lists["category"]
    for n, category in enumerate(categories):
        sums = found.by_category.get(category, Sums())
        yield from _sums(cells, found, FIRST_CATEGORY + n, f"{name}, {category}", sums)
    yield from _sums(cells, found, FIRST_CATEGORY - 1, f"{name}, all", found.total)
    left_out = cells.get((FIRST_CATEGORY - 1, 8))
    yield from _difference(
        "Account", (FIRST_CATEGORY - 1, 8), left_out, len(found.not_added), f"{name}, rows not added"
    )


def _sums(
    cells: Mapping[tuple[int, int], SheetCell], found: Account, row: int, words: str, sums: Sums
) -> Iterator[Finding]:
    """Compare one line of the Account; labour done stands under paid there."""
    ours = (sums.estimate, sums.committed, sums.paid + sums.labour, sums.credit, sums.balance)
    for col, (head, minor) in enumerate(zip(HEADS, ours, strict=True), 2):
        wanted = Decimal(found.money(minor).text)
        yield from _difference("Account", (row, col), cells.get((row, col)), wanted, f"{words}, {head}")


def _difference(
    sheet: str, place: tuple[int, int], cell: SheetCell | None, wanted: Any, words: str, within: float = 0.0
) -> Iterator[Finding]:
    where = f"{sheet}!{address(*place, fixed=False)} ({words})"
    if cell is None or cell.formula is None:
        yield finding("formula_missing", where=where, saw=f"“{cell.value}”" if cell else "nothing")
    elif not _same(cell.value, wanted, within):
        saw = f"the sheet says {_shown(cell.value)}, Python says {_shown(wanted)}"
        yield finding("native_sum_differs", where=where, saw=saw)


def _same(stored: Any, wanted: Any, within: float) -> bool:
    if wanted is None or stored in (None, ""):
        return wanted is None and stored in (None, "")
    try:
        number, exact = float(stored), float(wanted)
    except (TypeError, ValueError):
        return str(stored) == str(wanted)
    return abs(number - exact) <= within + CLOSE * max(abs(exact), 1.0)


def _shown(value: Any) -> str:
    if value in (None, ""):
        return "nothing"
    return f"{value:.10g}" if isinstance(value, float) else str(value)


def _barrels(book: OpenBook) -> Iterator[Finding]:
    """Compare the closed forms of every barrel: from the cells of the row, through our own functions."""
    table = book.anatomy.tables.get("Barrels")
    columns = columns_of(table, book_definition().tables["Barrels"]) if table else {}
    for row in book.rows("Barrels") if table else ():
        # an older book has no closed rule: its strength was the most that gives the turns
        for key, wanted in _closed_forms(row).items() if "strength_most_mm" in columns else ():
            if key in columns and table:
                place = (row.number, columns[key])
                cell = book.cells[table.sheet].get(place)
                words = f"{row['barrel']}, {key.replace('_', ' ')}"
                yield from _difference(table.sheet, place, cell, wanted, words, ROUNDED.get(key, 0.0))


def _closed_forms(row: Row) -> dict[str, float | None]:
    from orderbook.mechanics import spring_length, spring_strength, spring_turns, spring_width
    from orderbook.mechanics.closed_rule import fitted_by_rule, strongest_by_rule

    depth, bore, arbor, clearance, turns, fill, used = (
        _number(row[key])
        for key in ("depth_mm", "bore_mm", "arbor_mm", "clearance_mm", "turns_taken", "fill_taken", "used_taken")
    )
    keys = ("width_mm", "strength_most_mm", "strongest_mm", "strength_mm", "length_mm", "turns")
    found: dict[str, float | None] = dict.fromkeys(keys)
    try:
        if depth is not None:
            found["width_mm"] = float(spring_width(depth, clearance))
        if bore is None or arbor is None or turns is None or fill is None or used is None:
            return found
        most = float(spring_strength(bore, arbor, turns, fill))
        kept, run = _kept(row, used)
        strength = min(float(fitted_by_rule(bore, arbor, run, fill, kept)), most)
        length = float(spring_length(bore, arbor, strength, fill))
        strongest = float(strongest_by_rule(bore, arbor, run, fill, kept))
        return found | {"strength_most_mm": most, "strongest_mm": strongest, "strength_mm": strength,
                        "length_mm": length, "turns": float(spring_turns(bore, arbor, strength, length))}  # fmt: skip
    except OrderbookError:  # sizes that make no barrel: the sheet shows nothing either
        return found


def _kept(row: Row, used: float) -> tuple[Kept, float]:
    """How the barrel of a row is kept within its run, and the turns of it that the closed rule takes."""
    if row["drive"] == "fusee":
        return "fusee", used
    clicks, teeth = _number(row["set_up_clicks"]), _number(row["ratchet_teeth"])
    set_up = _number(row["set_up_turns"])
    if set_up is None and clicks is not None and teeth:
        set_up = clicks / teeth
    if set_up is None and row["stop_work"] == "yes":
        set_up = USUAL_SET_UP
    return ("going", used) if set_up is None else ("stop work", used + set_up)


def _number(value: Any) -> float | None:
    return float(value) if isinstance(value, (int, float, Decimal)) and not isinstance(value, bool) else None


def _due(book: OpenBook, books: Books) -> Iterator[Finding]:
    """Compare which planned lines are due: by the formula of Orders and by the rules of the books."""
    table = book.anatomy.tables.get("Orders")
    columns = columns_of(table, book_definition().tables["Orders"]) if table else {}
    if table is None or "sheet_state" not in columns:
        return
    for line in books.orders:
        place = (line.row.place.row - 1, columns["sheet_state"])
        cell = book.cells[table.sheet].get(place)
        if line.state == "planned" and cell is not None and cell.value != "other currency":
            wanted = STANDING[standing(books, line).due]
            if cell.value != wanted:
                where = f"{table.sheet}!{letters(place[1])}{place[0] + 1} (for the order sheet)"
                saw = f"the sheet says {_shown(cell.value)}, the verdicts say {wanted}"
                yield finding("native_sum_differs", where=where, saw=saw)
