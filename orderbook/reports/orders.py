"""Order sheets, one per supplier: what is due now, as a page, as CSV, and as text to paste in a message."""

from __future__ import annotations

import csv
import re
from collections import defaultdict
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
from orderbook.records.costs import currency_of, goods_cost, postage_rule, postage_shares, supplier_named
from orderbook.records.index import index
from orderbook.records.packs import could_share, in_a_pack, in_words, packs_bought, pieces_bought, pieces_wanted
from orderbook.records.stages import standing
from orderbook.records.tables import OrderLine
from orderbook.reports.pages import filled
from orderbook.reports.tables import TextColumn, table

CSV_HEADERS = (
    "order", "restoration", "item", "pieces_wanted", "packs", "in_a_pack", "width_mm", "strength_mm", "length_mm",
    "price_a_pack", "currency", "goods", "postage_share", "tax", "note",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class SheetLine:
    """One line of an order sheet with what it costs."""

    line: OrderLine
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
        """A name for the sheet's files: `order-supplier-north-gbp`."""
        words = re.sub(r"[^a-z0-9]+", "-", self.supplier.casefold()).strip("-") or "supplier"
        return f"order-{words}-{self.currency.lower()}"


def due_lines(books: Books, restoration: str) -> tuple[OrderLine, ...]:
    """Return the planned lines that are due: stages that wait stay off the sheet."""
    lines = index(books).orders_of[restoration]
    return tuple(line for line in lines if line.state == "planned" and standing(books, line).due == "due")


def waiting_lines(books: Books, restoration: str) -> tuple[tuple[OrderLine, str], ...]:
    """Return the planned lines that stay off the sheet, each with what it waits for."""
    lines = [line for line in index(books).orders_of[restoration] if line.state == "planned"]
    return tuple((line, how.why) for line in lines if (how := standing(books, line)).due != "due")


def order_sheets(books: Books, lines: Sequence[OrderLine]) -> tuple[OrderSheet, ...]:
    """Lay order lines out by supplier and currency, with postage shared over the lines of each."""
    shares = postage_shares(books, lines)
    parcels: dict[tuple[str, str], list[OrderLine]] = defaultdict(list)
    for line in lines:
        parcels[line.supplier, currency_of(books, line)].append(line)
    return tuple(_sheet(books, supplier, currency, parcel, shares) for (supplier, currency), parcel in parcels.items())


def _sheet(books: Books, supplier: str, currency: str, parcel: list[OrderLine], shares: dict[str, Money]) -> OrderSheet:
    none = Money(0, currency)
    lines = tuple(
        SheetLine(
            line,
            None if line.price is None else goods_cost(line, currency),
            shares.get(line.order, none) if line.postage is None else in_minor(line.postage, currency),
            none if line.tax is None else in_minor(line.tax, currency),
        )
        for line in parcel
    )
    goods = sum((x.goods for x in lines if x.goods), none)
    postage, tax = sum((x.postage for x in lines), none), sum((x.tax for x in lines), none)
    needs = index(books).needs
    words = " ".join(f"{x.item} {x.note}" for x in parcel)
    words += " ".join(f" {n.part} {n.decision} {n.note}" for x in parcel if (n := needs.get(x.need)))
    springs = "mainspring " if any(x.strength_mm is not None for x in parcel) else ""
    return OrderSheet(
        supplier=supplier,
        currency=currency,
        restorations=tuple(sorted({line.restoration for line in parcel})),
        lines=lines,
        goods=goods,
        postage=postage,
        tax=tax,
        total=goods + postage + tax,
        cautions=tuple(map(str, cautions_for(springs + words))),
        findings=tuple(_worth_knowing(books, supplier, currency, goods, parcel)),
    )


def _worth_knowing(
    books: Books, supplier: str, currency: str, goods: Money, parcel: list[OrderLine]
) -> Iterable[Finding]:
    known = supplier_named(books, supplier)
    if known is None:
        yield finding("not_in_the_book", where=supplier or "supplier", saw="not in Suppliers; postage is not known")
    elif known.currency == currency and (rule := postage_rule(known, currency)).below_minimum(goods):
        saw = f"{goods} of goods; {supplier} takes orders from {rule.minimum_order}"
        yield finding("below_minimum_order", where=supplier, saw=saw)
    for line in parcel:
        if line.price is None:
            yield finding("price_missing", where=line.row.place.of("price"), saw=f"{line.order} has no price")
        if over := pieces_bought(line) - pieces_wanted(line):
            saw = f"{line.order}: {pieces_wanted(line)} wanted, {in_words(line)} bought: {over} over"
            yield finding("pack_leaves_pieces", where=line.row.place.of("qty"), saw=saw)
    for lines in could_share(parcel):
        saw = f"{' and '.join(line.order for line in lines)} are the same item, each in packs of its own"
        yield finding("pack_could_be_shared", where=lines[0].row.place.of("qty"), saw=saw)


def as_text(sheet: OrderSheet, *, on: date) -> str:
    """Write an order sheet as plain text to paste in a message."""
    right = ("width\nmm", "strength\nmm", "length\nmm", f"at\n{sheet.currency}", f"sum\n{sheet.currency}")
    heads = [TextColumn("item", wraps=True), TextColumn("how many"), *(TextColumn(head, "right") for head in right)]
    heads.append(TextColumn("our no."))
    rows = [_text_row(x) for x in sheet.lines]
    sums = f"Goods {sheet.goods}, postage {sheet.postage}" + (f", tax {sheet.tax}" if sheet.tax.minor else "")
    return "\n".join(
        [
            f"Order to {sheet.supplier}, {on.isoformat()}",
            f"for {', '.join(sheet.restorations)}",
            "",
            table(heads, rows),
            "",
            f"{sums}; in all {sheet.total}.",
            "Please send exactly these sizes, or ask before sending another.",
        ]
    )


def _text_row(x: SheetLine) -> list[str]:
    line = x.line
    sizes = [
        ("" if size is None else f"{size.normalize():f}") for size in (line.width_mm, line.strength_mm, line.length_mm)
    ]
    each = "" if line.price is None else in_minor(line.price, x.postage.currency).text
    return [line.item, in_words(line), *sizes, each, x.goods.text if x.goods else "", line.order]


def as_html(sheet: OrderSheet, *, on: date) -> str:
    """Write an order sheet as a page to print."""
    return filled("order_sheet.html", sheet=sheet, rows=[_text_row(x) for x in sheet.lines], day=on.isoformat())


def as_csv(sheet: OrderSheet) -> str:
    """Write an order sheet as CSV."""
    page = StringIO()
    out = csv.writer(page, lineterminator="\r\n")
    out.writerow(CSV_HEADERS)
    for x in sheet.lines:
        item, _, *sizes, each, goods, order = _text_row(x)
        restoration, note = x.line.restoration, x.line.note
        bought = (pieces_wanted(x.line), packs_bought(x.line), in_a_pack(x.line))
        sums = (each, sheet.currency, goods, x.postage.text, x.tax.text)
        out.writerow([order, restoration, item, *bought, *sizes, *sums, note])
    return page.getvalue()


def as_dict(sheet: OrderSheet) -> dict[str, Any]:
    """Return an order sheet as JSON keys; money is text."""
    headers = [h for h in CSV_HEADERS if h != "note"]
    rows = list(csv.DictReader(StringIO(as_csv(sheet))))
    return {
        "supplier": sheet.supplier,
        "currency": sheet.currency,
        "lines": [{h: row[h] for h in headers} for row in rows],
        "goods": sheet.goods.text,
        "postage": sheet.postage.text,
        "tax": sheet.tax.text,
        "total": sheet.total.text,
        "cautions": list(sheet.cautions),
    }
