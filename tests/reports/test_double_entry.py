"""The double-entry file against beancount: its checker accepts it, its own totals equal ours."""

from collections import defaultdict
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from orderbook.errors import Finding
from orderbook.records.accounts import account
from orderbook.records.books import Books, books_from
from orderbook.records.marking import marked
from orderbook.records.tables import CATEGORY
from orderbook.reports.double_entry import double_entry

# ISO 4217 minor units: 2 for GBP and EUR, 0 for JPY, 3 for BHD
CURRENCIES = ("GBP", "EUR", "JPY", "BHD")
DAYS = st.dates(date(2026, 1, 1), date(2026, 12, 31))
AMOUNTS = st.decimals(Decimal("0"), Decimal("99999"), places=3)
RATES = st.none() | st.decimals(Decimal("0.0001"), Decimal("300"), places=4)


@st.composite
def random_books(draw: st.DrawFn) -> Books:
    names = ["R-001", "R-002"]
    own = draw(st.sampled_from(CURRENCIES))
    ledger = st.fixed_dictionaries(
        {
            "restoration": st.sampled_from(names),
            "date": st.none() | DAYS,
            "category": st.sampled_from((*CATEGORY, "sprung")),
            "kind": st.sampled_from(("estimate", "committed", "paid", "credit")),
            "amount": st.none() | AMOUNTS,
            "currency": st.sampled_from(CURRENCIES),
            "rate": RATES,
            "note": st.text(max_size=12),
            "order": st.sampled_from(("", "O-0001")),
        }
    )
    work = st.fixed_dictionaries(
        {
            "need": st.sampled_from(("N-0001", "N-0002")),
            "date": DAYS,
            "hours": st.decimals(Decimal("0"), Decimal("40"), places=2),
            "rate": st.none() | AMOUNTS,
        }
    )
    return books_from(
        {
            "Restorations": [{"restoration": name, "state": "open"} for name in names],
            "Needs": [{"need": f"N-000{i}", "restoration": name, "part": "hands"} for i, name in enumerate(names, 1)],
            "Ledger": draw(st.lists(ledger, max_size=12)),
            "Work": draw(st.lists(work, max_size=3)),
        },
        currency=own,
    )


def totals_of_beancount(text: str, currency: str) -> dict[str, Decimal]:
    from beancount import loader
    from beancount.core.data import Transaction

    entries, errors, _ = loader.load_string(text)
    assert errors == []
    totals: dict[str, Decimal] = defaultdict(Decimal)
    for entry in entries:
        if isinstance(entry, Transaction):
            for posting in entry.postings:
                assert posting.units is not None
                if not posting.account.startswith(("Assets", "Liabilities", "Equity:Agreed")):
                    assert posting.units.currency == currency
                    totals[posting.account] += posting.units.number
    return totals


def ours(books: Books) -> dict[str, Decimal]:
    totals: dict[str, Decimal] = defaultdict(Decimal)
    for r in books.restorations:
        sums = account(books, r.restoration, on=date(2027, 1, 1))
        for category, s in sums.by_category.items():
            name = f"{r.restoration}:{category.title().replace(' ', '-')}"
            totals[f"Expenses:{name}"] += Decimal(sums.money(s.committed + s.paid - s.credit + s.labour).text)
            totals[f"Equity:Estimate:{name}"] += Decimal(sums.money(s.estimate).text)
            totals["Income:Bench"] -= Decimal(sums.money(s.labour).text)
    return totals


def check(books: Books) -> None:
    text = double_entry(books, on=date(2027, 1, 1))
    theirs, mine = totals_of_beancount(text, books.currency), ours(books)
    assert {k: v for k, v in theirs.items() if v} == {k: v for k, v in mine.items() if v}


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(random_books())
def test_totals_equal_those_of_beancount(books: Books) -> None:
    check(books)


@pytest.mark.slow
@settings(max_examples=1000, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(random_books())
def test_totals_equal_those_of_beancount_over_thousands_of_books(books: Books) -> None:
    check(books)


def test_a_foreign_amount_keeps_its_currency_on_the_side_that_paid() -> None:
    books = books_from(
        {
            "Restorations": [{"restoration": "R-007", "piece": 'a "bracket" clock', "state": "open"}],
            "Ledger": [{"restoration": "R-007", "date": date(2026, 3, 5), "category": "spring", "kind": "paid",
                        "amount": "38.40", "currency": "EUR", "rate": "0.8425", "order": "O-0031",
                        "note": "Supplier East E-3846"},
                       {"restoration": "R-007", "date": date(2026, 3, 6), "category": "part", "kind": "paid",
                        "amount": "8,5O", "currency": "GBP"}],
        },
        currency="GBP",
    )  # fmt: skip
    text = double_entry(books, "R-007", on=date(2026, 4, 1))
    assert "  Expenses:R-007:Spring  32.35 GBP\n  Assets:Bank  -38.40 EUR @@ 32.35 GBP\n" in text
    assert "; not added: Ledger row 3 (amount): amount “8,5O” is not a number" in text
    totals_of_beancount(text, "GBP")
    assert isinstance(account(books, "R-007", on=date(2026, 4, 1)).not_added[0], Finding)


def test_part_of_a_line_sent_back_is_credited_in_its_currency() -> None:
    """By hand: 3 at 10.01 EUR, rate 0.865: 25.98 GBP paid; two back are 20.02 EUR, 17.32 GBP."""
    row = {"order": "O-0001", "restoration": "R-001", "item": "hands", "qty": 3, "price": "10.01", "currency": "EUR",
           "rate": "0.865", "state": "planned"}  # fmt: skip
    books = books_from({"Restorations": [{"restoration": "R-001", "state": "open"}], "Orders": [row]}, currency="GBP")
    for mark in ("ordered", "received"):
        books = marked(books, mark, ["O-0001"], on=date(2026, 3, 1)).books
    books = marked(books, "returned", ["O-0001"], on=date(2026, 3, 9), pieces=2).books
    check(books)
    sums = account(books, "R-001", on=date(2026, 3, 9)).total
    assert (sums.paid, sums.credit) == (2598, 1732)
    assert "Assets:Bank  20.02 EUR @@ 17.32 GBP" in double_entry(books, on=date(2026, 3, 9))
