"""Every fault the rules know, put into a book that is in order: found by its code, at its cell, and nothing else."""

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest

from orderbook.records.accounts import account
from orderbook.records.books import books_from
from orderbook.records.checks import checked
from orderbook.records.rows import Place, Row

Tables = dict[str, list[dict[str, Any]]]
ON = date(2026, 3, 10)
ORDERED = {"state": "ordered", "ordered_on": date(2026, 3, 9), "expected": date(2026, 3, 13), "postage": 4.5}
PAID = {
    "restoration": "R-007",
    "date": date(2026, 3, 9),
    "category": "part",
    "kind": "paid",
    "amount": 5,
    "currency": "GBP",
}


def order(**values: Any) -> Callable[[Tables], None]:
    return lambda rows: rows["Orders"][0].update(values)


def line(**values: Any) -> Callable[[Tables], None]:
    """A line of its own that is in order but for what is given."""
    whole = {"order": "O-0009", "restoration": "R-007", "supplier": "Supplier North", "item": "dial feet", "qty": 1,
             "price": 4, "currency": "GBP", "state": "planned", "trigger": "now", **values}  # fmt: skip
    return lambda rows: rows["Orders"].append({k: v for k, v in whole.items() if v is not None})


def ledger(**values: Any) -> Callable[[Tables], None]:
    return lambda rows: rows["Ledger"].append({k: v for k, v in (PAID | values).items() if v is not None})


def add(table: str, **values: Any) -> Callable[[Tables], None]:
    return lambda rows: rows[table].append(values)


def change(table: str, number: int, **values: Any) -> Callable[[Tables], None]:
    return lambda rows: rows[table][number].update(values)


RECEIVED = {"state": "received", "ordered_on": date(2026, 3, 2), "received_on": date(2026, 3, 6), "qty_received": 1}
FAULTS: list[tuple[str, str, Callable[[Tables], None]]] = [
    ("cell_not_a_number", "Orders row 2 (price)", order(price="6,4O")),
    ("cell_not_whole", "Orders row 2 (qty)", order(qty=1.5)),
    ("word_not_listed", "Needs row 2 (decision)", change("Needs", 0, decision="bodge")),
    ("currency_not_known", "Orders row 5 (currency)", line(currency="XYZ")),
    ("date_in_two_orders", "Restorations row 2 (opened)", change("Restorations", 0, opened="04/03/2026")),
    ("date_not_read", "Restorations row 2 (opened)", change("Restorations", 0, opened="early March")),
    ("row_without_identifier", "Work row 3 (need)", add("Work", hours=2, rate=38)),
    ("identifier_shape", "Needs row 6 (need)", add("Needs", need="7", restoration="R-007", part="key", state="open")),
    ("identifier_twice", "Suppliers row 4 (supplier)", add("Suppliers", supplier="supplier north", currency="GBP",
                                                          postage=4.5, lead_days=4)),
    ("not_in_the_book", "Ledger row 4 (restoration)", ledger(restoration="R-077")),
    ("not_in_the_book", "Orders row 5 (supplier)", line(supplier="Supplier South")),
    ("not_in_the_book", "Needs row 6 (depends_on)".replace("_", " "),
     add("Needs", need="N-0006", restoration="R-007", part="key", state="open", depends_on="N-0099")),
    ("not_in_the_book", "Trials row 2 (order)",
     add("Trials", order="O-0099", barrel="R-007-B1", verdict="too weak", date=ON)),
    ("of_another_piece", "Orders row 5 (barrel)", line(barrel="R-008-B1")),
    ("of_another_piece", "Barrels row 5 (restoration)",
     add("Barrels", barrel="R-009-B1", restoration="R-007", train="going")),
    ("state_impossible", "Orders row 5 (state)", line(received_on=date(2026, 3, 9))),
    ("state_impossible", "Orders row 5 (received on)", line(state="fitted", ordered_on=date(2026, 3, 1))),
    ("state_impossible", "Restorations row 3 (closed)", change("Restorations", 1, closed=None)),
    ("state_impossible", "Trials row 2 (order)",
     add("Trials", order="O-0001", barrel="R-007-B1", verdict="stopped", date=ON)),
    ("restoration_closed", "Orders row 5 (state)", line(restoration="R-008")),
    ("trigger_not_read", "Orders row 2 (trigger)", order(trigger="when I feel like it")),
    ("verdict_turned_round", "Trials row 3 (seen)", lambda rows: rows.update(Trials=[
        {"order": "D-0004", "barrel": "R-007-B1", "verdict": v, "date": ON} for v in ("too weak", "ran well")])),
    ("quantity_differs", "Orders row 5 (qty received)", line(**RECEIVED | {"qty_received": 3})),
    ("came_wrong", "Orders row 5 (wrong)", line(**RECEIVED, wrong="bent")),
    ("tried_elsewhere", "Trials row 2 (barrel)",
     lambda rows: (order(**RECEIVED)(rows),
                   add("Trials", order="O-0001", barrel="R-007-B2", verdict="stopped", date=ON)(rows))[0]),
    ("verdict_missing", "Trials row 2 (verdict)", add("Trials", order="D-0004", barrel="R-007-B1", date=ON)),
    ("needs_in_a_circle", "Needs row 3 (depends on)", change("Needs", 1, depends_on="N-0003")),
    ("decision_missing", "Needs row 3 (decision)", change("Needs", 1, decision=None)),
    ("done_too_early", "Needs row 4 (state)", change("Needs", 2, state="done")),
    ("reason_missing", "Needs row 5 (reason)", change("Needs", 3, reason=None)),
    ("withdrawn_but_ordered", "Orders row 5 (state)", line(need="N-0004")),
    ("amount_negative", "Ledger row 4 (amount)", ledger(amount=-5)),
    ("amount_negative", "Orders row 2 (qty)", order(qty=-1)),
    ("amount_too_fine", "Ledger row 4 (amount)", ledger(amount="5.001")),
    ("row_not_added", "Ledger row 4 (amount)", ledger(amount="8,5O")),
    ("row_not_added", "Ledger row 4 (rate)", ledger(currency="USD")),
    ("row_not_added", "Ledger row 4 (category)", ledger(category="sundries")),
    ("row_not_added", "Ledger row 4 (category)", ledger(category="labour")),
    ("row_not_added", "Work row 3 (rate)", add("Work", need="N-0002", hours=1)),
    ("rate_of_own_currency", "Ledger row 4 (rate)", ledger(rate="0.86")),
    ("currencies_mixed", "Orders row 5 (currency)", line(currency="EUR")),
    ("tax_without_base", "Orders row 5 (price)", line(price=None, tax=1)),
    ("ledger_differs", "Ledger row 4 (amount)",
     lambda rows: (line(**RECEIVED)(rows), ledger(order="O-0009")(rows))[0]),
    ("committed_too_early", "Ledger row 4 (kind)",
     lambda rows: (line()(rows), ledger(order="O-0009", kind="committed")(rows))[0]),
    ("paid_but_cancelled", "Ledger row 4 (kind)",
     lambda rows: (line(state="cancelled")(rows), ledger(order="O-0009")(rows))[0]),
    ("credit_too_early", "Ledger row 4 (kind)",
     lambda rows: (line()(rows), ledger(order="O-0009", kind="credit")(rows))[0]),
    ("above_estimate", "Restorations row 2 (not above)", ledger(amount=2000)),
    ("dates_backwards", "Orders row 5 (received on)", line(**RECEIVED | {"received_on": date(2026, 3, 1)})),
    ("delivery_late", "Orders row 5 (expected)", line(**ORDERED | {"expected": date(2026, 3, 9)})),
    ("return_day_near", "Orders row 5 (return by)", line(**RECEIVED, return_by=date(2026, 3, 15))),
    ("ledger_row_missing", "Orders row 5 (state)", line(**ORDERED)),
    ("ledger_kind_behind", "Ledger row 4 (kind)",
     lambda rows: (line(**RECEIVED)(rows), ledger(order="O-0009", kind="committed", amount=4)(rows))[0]),
    ("credit_missing", "Orders row 5 (state)", line(**RECEIVED | {"state": "returned"})),
    ("committed_after_cancel", "Ledger row 4 (kind)",
     lambda rows: (line(state="cancelled")(rows), ledger(order="O-0009", kind="committed")(rows))[0]),
    ("drawer_row_missing", "Orders row 5 (state)", line(**RECEIVED | {"state": "in drawer"}, strength_mm=0.4)),
    ("drawer_state_behind", "Drawer row 2 (state)",
     lambda rows: (line(**RECEIVED | {"state": "returned"})(rows), change("Drawer", 0, order="O-0009")(rows))[0]),
    ("state_behind_trial", "Orders row 2 (state)",
     lambda rows: (order(**RECEIVED)(rows),
                   add("Trials", order="O-0001", barrel="R-007-B1", verdict="ran well", date=ON)(rows))[0]),
    ("stage_not_needed", "Orders row 3 (state)",
     lambda rows: (order(**RECEIVED | {"state": "fitted"})(rows),
                   add("Trials", order="O-0001", barrel="R-007-B1", verdict="ran well", date=ON)(rows))[0]),
    ("order_term_missing", "Orders row 5 (expected)", line(state="ordered", ordered_on=date(2026, 3, 9))),
]  # fmt: skip
# what may come along: the same cell seen by two rules, and the bookkeeping that a state brings with it
ALONG = {
    "row_not_added", "row_of_no_piece", "cell_not_a_number", "ledger_row_missing", "word_not_listed",
    "amount_negative", "not_in_the_book", "order_term_missing", "of_another_piece", "identifier_shape",
    "state_impossible", "currency_not_known", "cost_behind_spring",
}  # fmt: skip


@pytest.mark.parametrize(("code", "where", "fault"), FAULTS, ids=[f"{c}-{n}" for n, (c, _, _) in enumerate(FAULTS)])
def test_a_fault_is_found_at_its_cell(rows: Tables, code: str, where: str, fault: Callable[[Tables], None]) -> None:
    fault(rows)
    found = checked(books_from(rows), on=ON).findings
    assert (code, where) in {(f.code, f.where) for f in found}
    assert {f.code for f in found} - ALONG - {"credit_missing", "stage_not_needed"} <= {code}


def test_a_row_that_cannot_be_added_is_named_beside_the_total(rows: Tables) -> None:
    total = account(books_from(rows), "R-007", on=ON).total
    for fault in (ledger(amount="8,5O"), ledger(currency="USD"), ledger(amount=-5), ledger(kind="gift")):
        fault(rows)
    found = account(books_from(rows), "R-007", on=ON)
    assert found.total == total
    assert [f.where for f in found.not_added] == [
        "Ledger row 4 (amount)", "Ledger row 5 (rate)", "Ledger row 6 (amount)", "Ledger row 7 (kind)",
    ]  # fmt: skip


def test_a_rate_that_is_known_is_offered_and_put_in_by_fix(rows: Tables) -> None:
    ledger(currency="EUR", amount="10")(rows)
    books = books_from(rows)
    (step,) = checked(books, on=ON).fixes
    assert "0.865" in str(step.finding)
    after = books.after([step.change])
    assert account(after, "R-007", on=ON).total.paid == 865
    assert checked(after, on=ON).findings == ()


def test_text_in_a_workbook_is_a_finding_with_a_safe_cure() -> None:
    place = Place("Ledger", 7, "Ledger", {"amount": "E", "date": "A"})
    typed = Row({**PAID, "amount": "5,00", "date": "17/03/2026"}, place)
    books = books_from({"Restorations": [{"restoration": "R-007", "state": "open"}], "Ledger": [typed]}, currency="GBP")
    found = checked(books, on=ON)
    wheres = {f.where: f.code for f in found.findings}
    assert wheres == {"Ledger!E7 (amount)": "row_not_added", "Ledger!A7 (date)": "date_typed_as_text"}
    after = books.after([step.change for step in found.fixes])
    assert checked(after, on=ON).findings == ()
    assert account(after, "R-007", on=ON).total.paid == 500


def test_a_row_below_its_table_is_found() -> None:
    below = Row({"restoration": "R-008", "state": "open"}, Place("Restorations", 300, "Restorations", below=True))
    found = checked(books_from({"Restorations": [below]}, currency="GBP"), on=ON).findings
    assert [(f.code, f.where) for f in found] == [("row_below_table", "Restorations row 300")]


def test_fixing_ends(rows: Tables) -> None:
    """Every fault at once: the cures do not call for each other for ever, and nothing raises."""
    for _, _, fault in FAULTS:
        fault(rows)
    books = books_from(rows)
    for _ in range(5):
        fixes = checked(books, on=ON).fixes
        books = books.after([step.change for step in fixes])
    assert checked(books, on=ON).fixes == ()


def test_a_cost_without_an_order_line_may_name_its_barrel(rows: Tables) -> None:
    """By hand: 40.00 estimated and 12.50 paid for the striking barrel, beside what its orders cost."""
    line = {"restoration": "R-007", "category": "part", "currency": "GBP", "barrel": "R-007-B2"}
    rows["Ledger"] += [line | {"kind": "estimate", "amount": 40}, line | {"kind": "paid", "amount": "12.50"}]
    found = account(books_from(rows), "R-007", on=ON)
    assert (found.by_barrel["R-007-B2"].estimate, found.by_barrel["R-007-B2"].paid) == (4000, 1250)
    assert sum(sums.balance for sums in found.by_barrel.values()) == found.total.balance
    rows["Ledger"][-1]["barrel"] = "R-008-B1"
    said = checked(books_from(rows), on=ON).findings
    assert ("of_another_piece", f"Ledger row {len(rows['Ledger']) + 1} (barrel)") in {(f.code, f.where) for f in said}
