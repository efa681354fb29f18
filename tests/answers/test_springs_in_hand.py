"""Springs that came and were not tried are at hand for the choice, at their price; what cannot be fitted is not."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from orderbook.answers.terms import options_of, received_for
from orderbook.records.books import Books, books_from

BARREL = "R-001-B1"


def book(line: dict[str, Any], **tables: list[dict[str, Any]]) -> Books:
    came = {
        "order": "O-0001", "restoration": "R-001", "barrel": BARREL, "supplier": "Supplier North", "item": "S-1",
        "width_mm": "2.0", "strength_mm": "0.13", "length_mm": 400, "qty": 1, "price": "6.50", "currency": "GBP",
        "state": "received", "received_on": date(2026, 3, 3),
    }  # fmt: skip
    return books_from(
        {
            "Settings": [{"setting": "book currency", "value": "GBP"}],
            "Restorations": [{"restoration": "R-001", "state": "open"}],
            "Barrels": [{"barrel": BARREL, "restoration": "R-001"}],
            "Orders": [came | line],
            **tables,
        }
    )


@pytest.mark.parametrize(
    ("line", "price"),
    [
        ({}, "6.50"),
        ({"price": "18.00", "pack": 12}, "1.50"),
        ({"qty": 3, "wrong": "hook torn", "qty_wrong": 1}, "6.50"),  # two of the three can be fitted
    ],
)
def test_a_spring_that_came_is_at_hand_at_its_price(line: dict[str, Any], price: str) -> None:
    (spring,) = received_for(book(line), BARREL)
    assert spring.price
    assert Decimal(spring.price.text) == Decimal(price)
    assert spring in options_of(book(line), BARREL).drawer


@pytest.mark.parametrize(
    "line",
    [{"wrong": "broken"}, {"state": "ordered"}, {"state": "returned"}, {"strength_mm": "thin"}, {"qty_received": 0},
     {"barrel": "R-001-B2"}],
)  # fmt: skip
def test_what_cannot_be_fitted_is_not_at_hand(line: dict[str, Any]) -> None:
    assert received_for(book(line), BARREL) == ()


def test_a_spring_that_was_tried_is_not_to_be_tried_again() -> None:
    trial = {"order": "O-0001", "barrel": BARREL, "verdict": "too weak", "date": date(2026, 3, 4)}
    assert received_for(book({}, Trials=[trial]), BARREL) == ()
