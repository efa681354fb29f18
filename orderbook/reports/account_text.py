"""The account of a restoration, and the totals over all of them, for a person to read."""

from __future__ import annotations

from collections.abc import Mapping

from orderbook.errors import Finding
from orderbook.records.accounts import Account, Sums
from orderbook.records.totals import Totals
from orderbook.reports.tables import TextColumn, table

HEADS = ("estimate", "committed", "paid", "credits", "labour", "balance")


def account_text(found: Account) -> str:
    """Write an account as its tables by category and by barrel, its limits, what is to come and what was not added."""
    lines = [f"{found.restoration}  {found.piece}\n"]
    columns: list[TextColumn | str] = ["", *(TextColumn(f"{head}\n{found.currency}", "right") for head in HEADS)]
    rows = [_cells(found, name, sums) for name, sums in found.by_category.items()]
    rows.append(_cells(found, "all", found.total))
    lines.append(table(columns, rows, bold_row=len(rows) - 1))
    if found.labour_hours:
        lines.append(f"\nLabour done: {found.labour_hours.normalize():f} h.")
    if any(found.by_barrel):
        barrels = [_of_barrel(found, name, sums) for name, sums in found.by_barrel.items()]
        lines += ["", table(["by barrel", *columns[1:]], barrels)]
    lines += _limits(found)
    for expected in found.to_come:
        cost = "no price" if expected.cost is None else str(found.money(expected.cost))
        late = f", {expected.late_days} days late" if expected.late_days else ""
        day = f", expected {expected.line.expected}" if expected.line.expected else ""
        line = expected.line
        rest = "" if line.state in ("planned", "ordered") else f", {expected.pieces} still due"
        lines.append(f"To come: {line.order} {line.supplier} {line.item}, {line.state}{rest}{day}{late}: {cost}")
    return "\n".join([*lines, *_left_out(found.rows_added, found.not_added)])


def totals_text(found: Totals) -> str:
    """Write the totals over all pieces: by piece, supplier and category, and what went through the drawer."""
    lines = [f"All pieces, {found.span}\n"]
    columns = [TextColumn(f"{head}\n{found.currency}", "right") for head in HEADS[:-1]]

    def shown(title: str, groups: Mapping[str, Sums], more: Mapping[str, Sums]) -> str:
        rows = [_cells(found, name, sums)[:-1] for name, sums in [*groups.items(), *more.items()]]
        return table([title, *columns], rows, bold_row=len(rows) - 1 if more else None) + "\n"

    lines.append(shown("by piece", found.by_piece, {"all": found.total}))
    lines.append(shown("by supplier", found.by_supplier, {}))
    lines.append(shown("by category", found.by_category, {}))
    lines.append(f"Labour done: {found.labour_hours.normalize():f} h.")
    lines.append(f"Paid to suppliers: {found.money(found.paid_to_suppliers)}.")
    if found.into_drawer or found.out_of_drawer or found.drawer_then:
        moved = f"{found.money(found.into_drawer)} went in, {found.money(found.out_of_drawer)} came out"
        when = f"by {found.span.last}" if found.span.last else "now"
        lines.append(f"Springs through the drawer: {moved}; in it {when}: {found.money(found.drawer_then)}.")
    if found.from_own_stock:
        lines.append(f"Springs of our own stock from before the book: {found.money(found.from_own_stock)}.")
    return "\n".join([*lines, *_left_out(found.rows_added, found.not_added)])


def _left_out(added: int, not_added: tuple[Finding, ...]) -> list[str]:
    return [f"\nRows added: {added}. Rows not added: {len(not_added)}.", *(f"  {trouble}" for trouble in not_added)]


def _limits(found: Account) -> list[str]:
    asked = found.total.committed + found.total.spent
    said = []
    if found.agreed is not None and found.agreed != found.total.estimate:
        said.append(f"agreed {found.money(found.agreed)}, by category {found.money(found.total.estimate)}")
    elif found.total.estimate:
        said.append(f"estimate {found.money(found.total.estimate)}")
    if found.not_above is not None:
        over = f", which is {found.money(asked - found.not_above)} too much" if asked > found.not_above else ""
        said.append(f"not above {found.money(found.not_above)}{over}")
    return [f"\nCommitted, paid and worked: {found.money(asked)}; {'; '.join(said)}."] if said else []


def _cells(found: Account | Totals, name: str, sums: Sums) -> list[str]:
    amounts = (sums.estimate, sums.committed, sums.paid, sums.credit, sums.labour, sums.balance)
    return [name, *(found.money(amount).text if amount else "–" for amount in amounts)]


def _of_barrel(found: Account, name: str, sums: Sums) -> list[str]:
    """Lay out one barrel; without an estimate of its own it has no balance."""
    cells = _cells(found, name or "not of one barrel", sums)
    return cells if sums.estimate else [*cells[:-1], "–"]
