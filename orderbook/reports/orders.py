"""Order sheets, one a parcel: what is due now at one supplier, as a page, as CSV, and as text to paste in a message."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from io import StringIO
from typing import Any

from orderbook.cautions import cautions_for
from orderbook.errors import Finding, finding
from orderbook.measures.money import Money
from orderbook.records.books import Books
from orderbook.records.conversion import in_minor
from orderbook.records.costs import goods_cost, postage_rule, supplier_named
from orderbook.records.csv_cells import harmless
from orderbook.records.index import index
from orderbook.records.packs import in_a_pack, in_words, packs_bought, packs_for, pieces_bought, pieces_wanted
from orderbook.records.parcels import Parcel, parcels_of, postage_of, postage_shares, same_item
from orderbook.records.stages import standing
from orderbook.records.tables import OrderLine
from orderbook.reports.pages import filled
from orderbook.reports.tables import TextColumn, table

CSV_HEADERS = (
    "order", "restoration", "item", "pieces_wanted", "packs", "in_a_pack", "width_mm", "strength_mm", "length_mm",
    "price_a_pack", "currency", "goods", "postage_share", "tax", "note", "barrel", "parcel",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line of an order sheet with what it costs; lines that share packs show them on the first."""

    line: OrderLine
    packs: int
    goods: Money | None
    postage: Money
    tax: Money


@dataclass(frozen=True, slots=True)
class OrderSheet:
    """What goes to one supplier in one currency."""

    supplier: str
    currency: str
    restorations: tuple[str, ...]
    lines: tuple[SheetLine, ...]
    goods: Money
    postage: Money
    tax: Money
    total: Money
    cautions: tuple[str, ...]
    findings: tuple[Finding, ...]

    @property
    def name(self) -> str:
        """A name for the sheet's files: `supplier-north-gbp`."""
        words = re.sub(r"[^a-z0-9]+", "-", self.supplier.casefold()).strip("-") or "supplier"
        return f"{words}-{self.currency.lower()}"


def due_lines(books: Books, restoration: str) -> tuple[OrderLine, ...]:
    """Return the planned lines of a piece that are due: stages that wait stay off the sheet."""
    lines = index(books).orders_of[restoration]
    return tuple(line for line in lines if line.state == "planned" and standing(books, line).due == "due")


def due_at(books: Books, supplier: str) -> tuple[OrderLine, ...]:
    """Return the planned lines that are due at one supplier, of every piece that is not closed."""
    pieces = index(books).restorations
    closed = {name for name, piece in pieces.items() if piece.state == "closed"}
    return tuple(
        line
        for line in books.orders
        if line.supplier.casefold() == supplier.casefold()
        and line.state == "planned"
        and line.restoration not in closed
        and standing(books, line).due == "due"
    )


def waiting_lines(books: Books, lines: Iterable[OrderLine]) -> tuple[tuple[OrderLine, str], ...]:
    """Return the planned lines that stay off the sheet, each with what it waits for."""
    planned = [line for line in lines if line.state == "planned"]
    return tuple((line, how.why) for line in planned if (how := standing(books, line)).due != "due")


def order_sheets(books: Books, lines: Sequence[OrderLine]) -> tuple[OrderSheet, ...]:
    """Lay order lines out by supplier and currency, packs and postage shared over the lines of each."""
    return tuple(_sheet(books, parcel) for parcel in parcels_of(books, lines))


def _sheet(books: Books, parcel: Parcel) -> OrderSheet:
    currency, none = parcel.currency, Money(0, parcel.currency)
    shares = postage_shares(books, parcel)
    packs = _packs(parcel.lines)
    lines = tuple(
        SheetLine(
            line,
            packs[line.order],
            None if line.price is None else goods_cost(line, currency),
            shares.get(line.order, none) if line.postage is None else in_minor(line.postage, currency),
            none if line.tax is None else in_minor(line.tax, currency),
        )
        for line in parcel.lines
    )
    goods = sum((x.goods for x in lines if x.goods), none)
    postage, tax = sum((x.postage for x in lines), none), sum((x.tax for x in lines), none)
    needs = index(books).needs
    words = " ".join(f"{x.item} {x.note}" for x in parcel.lines)
    words += " ".join(f" {n.part} {n.decision} {n.note}" for x in parcel.lines if (n := needs.get(x.need)))
    springs = "mainspring " if any(x.strength_mm is not None for x in parcel.lines) else ""
    return OrderSheet(
        supplier=parcel.supplier,
        currency=currency,
        restorations=tuple(sorted({line.restoration for line in parcel.lines})),
        lines=lines,
        goods=goods,
        postage=postage,
        tax=tax,
        total=goods + postage + tax,
        cautions=tuple(map(str, cautions_for(springs + words))),
        findings=tuple(_worth_knowing(books, parcel, goods)),
    )


def _packs(lines: Sequence[OrderLine]) -> dict[str, int]:
    """Return the packs to ask for with each line: those that lines share stand with the first of them."""
    found, shared = {}, {same_item(line): _wanted(lines, line) for line in lines if line.goods is not None}
    for line in lines:
        if line.goods is None:
            found[line.order] = packs_bought(line)
        else:
            found[line.order] = packs_for(shared.pop(same_item(line), 0), in_a_pack(line))
    return found


def _wanted(lines: Sequence[OrderLine], line: OrderLine) -> int:
    return sum(pieces_wanted(o) for o in lines if o.goods is not None and same_item(o) == same_item(line))


def _worth_knowing(books: Books, parcel: Parcel, goods: Money) -> Iterable[Finding]:
    known = supplier_named(books, parcel.supplier)
    where = parcel.supplier or "supplier"
    if known is None:
        yield finding("not_in_the_book", where=where, saw="not in Suppliers; postage is not known")
    elif postage_of(books, parcel) is None:
        saw = f"{known.supplier} charges {known.currency}, these lines are in {parcel.currency}; postage is not known"
        yield finding("currencies_mixed", where=where, saw=saw)
    elif (rule := postage_rule(known, parcel.currency)).below_minimum(goods):
        saw = f"{goods} of goods; {parcel.supplier} takes orders from {rule.minimum_order}"
        yield finding("below_minimum_order", where=where, saw=saw)
    for line in parcel.lines:
        if line.price is None:
            yield finding("price_missing", where=line.row.place.of("price"), saw=f"{line.order} has no price")
        if over := pieces_bought(line) - pieces_wanted(line):
            many = f"{in_words(pieces_wanted(line), in_a_pack(line))} bought"
            if line.goods is not None:
                many = f"{pieces_bought(line)} bought with a pack that lines share"
            saw = f"{line.order}: {pieces_wanted(line)} wanted, {many}: {over} over"
            yield finding("pack_leaves_pieces", where=line.row.place.of("qty"), saw=saw)


def as_text(sheet: OrderSheet, *, on: date) -> str:
    """Write an order sheet as plain text to paste in a message."""
    right = ("width\nmm", "strength\nmm", "length\nmm", f"at\n{sheet.currency}", f"sum\n{sheet.currency}")
    heads = [TextColumn("item", wraps=True), TextColumn("how many"), *(TextColumn(head, "right") for head in right)]
    heads.append(TextColumn("our no.", wraps=True))
    sums = f"Goods {sheet.goods}, postage {sheet.postage}" + (f", tax {sheet.tax}" if sheet.tax.minor else "")
    return "\n".join(
        [
            f"Order to {sheet.supplier}, {on.isoformat()}",
            f"for {', '.join(sheet.restorations)}",
            "",
            table(heads, _rows(sheet)),
            "",
            f"{sums}; in all {sheet.total}.",
            "Please send exactly these sizes, or ask before sending another.",
        ]
    )


def _rows(sheet: OrderSheet) -> list[list[str]]:
    """Return what to ask the supplier for: lines that share packs are one row."""
    shared: dict[tuple[object, ...], list[SheetLine]] = {}
    rows: list[list[SheetLine]] = []
    for x in sheet.lines:
        group = shared.setdefault(same_item(x.line), []) if x.line.goods is not None else []
        if not group:
            rows.append(group)
        group.append(x)
    return [_row(group, sheet.currency) for group in rows]


def _row(group: Sequence[SheetLine], currency: str) -> list[str]:
    line = group[0].line
    many = in_words(sum(pieces_wanted(x.line) for x in group), in_a_pack(line))
    goods = [x.goods for x in group if x.goods]
    total = sum(goods, Money(0, currency)).text if goods else ""
    each = "" if line.price is None else in_minor(line.price, currency).text
    return [line.item, many, *_sizes(line), each, total, ", ".join(x.line.order for x in group)]


def _sizes(line: OrderLine) -> list[str]:
    sizes = (line.width_mm, line.strength_mm, line.length_mm)
    return ["" if size is None else f"{size.normalize():f}" for size in sizes]


def as_html(sheet: OrderSheet, *, on: date) -> str:
    """Write an order sheet as a page to print."""
    return filled("order_sheet.html", sheet=sheet, rows=_rows(sheet), day=on.isoformat())


def as_csv(sheet: OrderSheet) -> str:
    """Write an order sheet as CSV, a line a row; no text in it can run as a formula."""
    page = StringIO()
    out = csv.writer(page, lineterminator="\r\n")
    out.writerow(CSV_HEADERS)
    out.writerows([harmless(cell) for cell in row] for row in _line_rows(sheet))
    return page.getvalue()


def _line_rows(sheet: OrderSheet) -> Iterable[list[str]]:
    for x in sheet.lines:
        line = x.line
        bought = (pieces_wanted(line), x.packs, in_a_pack(line))
        each = "" if line.price is None else in_minor(line.price, sheet.currency).text
        goods = x.goods.text if x.goods else ""
        yield [
            line.order, line.restoration, line.item, *map(str, bought), *_sizes(line), each, sheet.currency, goods,
            x.postage.text, x.tax.text, line.note, line.barrel, line.parcel,
        ]  # fmt: skip


def as_dict(sheet: OrderSheet) -> dict[str, Any]:
    """Return an order sheet as JSON keys; money is text."""
    rows = [dict(zip(CSV_HEADERS, row, strict=True)) for row in _line_rows(sheet)]
    return {
        "supplier": sheet.supplier,
        "currency": sheet.currency,
        "restorations": list(sheet.restorations),
        "lines": [{key: value for key, value in row.items() if key != "note"} for row in rows],
        "goods": sheet.goods.text,
        "postage": sheet.postage.text,
        "tax": sheet.tax.text,
        "total": sheet.total.text,
        "cautions": list(sheet.cautions),
    }
