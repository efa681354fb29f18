"""The account for other programs: its rows add up to it, whatever the currency, and name what cannot be added."""

from collections import defaultdict
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orderbook.records.account_rows import account, account_rows
from orderbook.records.books import Books, books_from
from orderbook.records.conversion import in_minor
from orderbook.records.parcels import parcels_of, postage_shares
from orderbook.records.tables import CATEGORY

ON = date(2026, 6, 1)
DIGITS = {"GBP": 2, "JPY": 0, "BHD": 3}  # ISO 4217 minor units

ledger = st.fixed_dictionaries(
    {
        "restoration": st.just("R-001"),
        "category": st.sampled_from(CATEGORY),
        "kind": st.sampled_from(("estimate", "committed", "paid", "credit")),
        "amount": st.decimals(-5, 9999, places=3),
        "currency": st.sampled_from(("GBP", "JPY", "BHD")),
        "rate": st.none() | st.decimals(Decimal("0.0001"), 500, places=4),
    }
)


def book(currency: str, rows: list[dict[str, object]], hours: list[Decimal]) -> Books:
    return books_from(
        {
            "Restorations": [{"restoration": "R-001", "state": "open"}],
            "Needs": [{"need": "N-0001", "restoration": "R-001", "part": "hands"}],
            "Ledger": rows,
            "Work": [{"need": "N-0001", "hours": h, "rate": "38.50"} for h in hours],
        },
        currency=currency,
    )


@settings(max_examples=150, deadline=None)
@given(
    st.sampled_from(sorted(DIGITS)), st.lists(ledger, max_size=15), st.lists(st.decimals(0, 40, places=2), max_size=3)
)
def test_the_account_is_its_rows_rounded_one_by_one(
    currency: str, rows: list[dict[str, object]], hours: list[Decimal]
) -> None:
    books = book(currency, rows, hours)
    found = account(books, "R-001", on=ON).as_dict()
    smallest = Decimal(1).scaleb(-DIGITS[currency])
    sums: dict[tuple[str, str], Decimal] = defaultdict(Decimal)
    left_out = 0
    for row in rows:  # by hand, in decimal, as a sheet's ROUND would
        rate = row["rate"] if row["rate"] is not None else 1 if row["currency"] == currency else None
        amount = row["amount"]
        assert isinstance(amount, Decimal)
        if rate is None or amount < 0 or (row["category"] == "labour" and row["kind"] != "estimate"):
            left_out += 1
            continue
        sums[str(row["category"]), str(row["kind"])] += (amount * Decimal(str(rate))).quantize(smallest, ROUND_HALF_UP)
    for h in hours:
        sums["labour", "labour"] += (h * Decimal("38.50")).quantize(smallest, ROUND_HALF_UP)
    for (category, kind), total in sums.items():
        assert Decimal(found["categories"][category][kind]) == total
    assert (found["rows_added"], found["rows_not_added"]) == (len(rows) + len(hours) - left_out, left_out)
    listed = list(account_rows(books, "R-001", on=ON))
    assert sum(bool(row["not_added"]) for row in listed) == left_out
    exported = sum(
        Decimal(row["in_book_currency"])
        for row in listed
        if row["kind"] in ("paid", "committed") and not row["not_added"]
    )
    assert exported == Decimal(found["total"]["paid"]) + Decimal(found["total"]["committed"])


def test_balance_is_estimate_less_what_it_takes() -> None:
    rows: list[dict[str, object]] = [
        {"restoration": "R-001", "category": "spring", "kind": kind, "amount": amount, "currency": "GBP"}
        for kind, amount in (("estimate", 100), ("committed", 20), ("paid", 30), ("credit", 5))
    ]
    found = account(book("GBP", rows, [Decimal(1)]), "R-001", on=ON).as_dict()
    assert found["categories"]["spring"]["balance"] == "55.00"
    assert found["total"]["balance"] == "16.50"  # 55.00 less one hour of 38.50


@pytest.mark.parametrize(
    ("weights", "total", "shares"),
    [
        # Hamilton's method, recomputed: populations and seats of an often printed example
        ([21878, 9713, 4167, 3252, 1065], 44, [24, 11, 5, 3, 1]),
        ([21878, 9713, 4167, 3252, 1065], 43, [24, 10, 4, 4, 1]),
        ([47000, 16000, 15800, 12000, 6100, 3100], 10, [5, 2, 1, 1, 1, 0]),
    ],
)
def test_postage_is_shared_by_the_largest_remainder(weights: list[int], total: int, shares: list[int]) -> None:
    books = books_from(
        {
            "Suppliers": [{"supplier": "Supplier North", "currency": "JPY", "postage": str(total)}],
            "Orders": [
                {
                    "order": f"O-{n:04d}",
                    "supplier": "Supplier North",
                    "item": "x",
                    "qty": 1,
                    "price": w,
                    "state": "planned",
                }
                for n, w in enumerate(weights, 1)
            ],
        },
        currency="GBP",
    )
    (parcel,) = parcels_of(books, books.orders)
    found = postage_shares(books, parcel)
    assert [found[line.order].minor for line in books.orders] == shares


@given(st.decimals(-9999, 9999, places=4), st.sampled_from(sorted(DIGITS)))
def test_rounding_is_half_away_from_zero(amount: Decimal, currency: str) -> None:
    expected = amount.quantize(Decimal(1).scaleb(-DIGITS[currency]), ROUND_HALF_UP)
    assert Decimal(in_minor(amount, currency).text) == expected
