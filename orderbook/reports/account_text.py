"""The account of a restoration for a person to read."""

from __future__ import annotations

from orderbook.records.accounts import Account, Sums
from orderbook.reports.tables import TextColumn, table


def account_text(found: Account) -> str:
    """Write an account as its tables by category and by barrel, its limits, what is to come and what was not added."""
    lines = [f"{found.restoration}  {found.piece}\n"]
    heads = ["estimate", "committed", "paid", "credits", "labour", "balance"]
    columns: list[TextColumn | str] = ["", *(TextColumn(f"{head}\n{found.currency}", "right") for head in heads)]
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
        lines.append(f"To come: {line.order} {line.supplier} {line.item}, {line.state}{day}{late}: {cost}")
    lines.append(f"\nRows added: {found.rows_added}. Rows not added: {len(found.not_added)}.")
    return "\n".join([*lines, *(f"  {trouble}" for trouble in found.not_added)])


def _limits(found: Account) -> list[str]:
    asked = found.total.committed + found.total.spent
    said = []
    if found.agreed is not None:
        said.append(f"agreed {found.money(found.agreed)}")
    if found.not_above is not None:
        over = f", which is {found.money(asked - found.not_above)} too much" if asked > found.not_above else ""
        said.append(f"not above {found.money(found.not_above)}{over}")
    return [f"\nCommitted, paid and worked: {found.money(asked)}; {'; '.join(said)}."] if said else []


def _cells(found: Account, name: str, sums: Sums) -> list[str]:
    amounts = (sums.estimate, sums.committed, sums.paid, sums.credit, sums.labour, sums.balance)
    return [name, *(found.money(amount).text if amount else "–" for amount in amounts)]


def _of_barrel(found: Account, name: str, sums: Sums) -> list[str]:
    """Lay out one barrel; without an estimate of its own it has no balance."""
    cells = _cells(found, name or "not of one barrel", sums)
    return cells if sums.estimate else [*cells[:-1], "–"]
