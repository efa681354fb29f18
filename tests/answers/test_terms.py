"""Side files and tables that cannot be right are refused, and the rows are named."""

from decimal import Decimal

import pytest

from orderbook.answers.terms import labelled, options_of, rates_of, readable, suppliers_of
from orderbook.errors import OrderbookError
from orderbook.measures.money import Money
from orderbook.records.books import Books, books_from
from orderbook.records.rows import rows_from

NORTH = {"supplier": "Supplier North", "currency": "GBP", "postage": "4.50", "lead_days": "4"}


def suppliers(*rows: dict[str, str]) -> Books:
    return books_from({"Suppliers": rows_from("Suppliers", rows, sheet="suppliers.csv")}, currency="GBP")


def drawer(*rows: dict[str, str]) -> Books:
    return books_from({"Drawer": rows_from("Drawer", labelled(rows), sheet="drawer.csv")}, currency="GBP")


def test_terms_are_read_once_for_all_who_ask():
    found = suppliers_of(suppliers(NORTH | {"free_above": "75", "postage": "0: 3,20; 20: 4.50"}))["supplier north"]
    assert found.postage.free_above == Money(7500, "GBP")
    assert found.postage.charge(Money(1999, "GBP")) == Money(320, "GBP")
    assert found.lead_days == 4


def test_a_supplier_in_two_rows_names_both():
    with pytest.raises(OrderbookError) as refused:
        suppliers_of(suppliers(NORTH, NORTH | {"supplier": "supplier north"}))
    assert refused.value.code == "supplier_twice"
    assert "row 2" in str(refused.value)
    assert "row 3" in str(refused.value)


def test_days_below_zero_name_the_row():
    with pytest.raises(OrderbookError) as refused:
        suppliers_of(suppliers(NORTH | {"lead_days": "-1"}))
    assert refused.value.code == "lead_days_negative"
    assert "suppliers.csv row 2" in str(refused.value)


@pytest.mark.parametrize(
    "bad",
    [{"date": "11.2026"}, {"rate": "0"}, {"rate": "nan"}, {"rate": ""}, {"currency": "XQX"}],
)
def test_a_rate_that_is_not_whole_names_its_row(bad):
    row = {"date": "2026-11-02", "currency": "EUR", "rate": "0,87", "source": "invented"}
    whole = books_from({"Rates": rows_from("Rates", [row], sheet="rates.csv")}, currency="GBP")
    assert rates_of(readable(whole)).on("EUR") == Decimal("0.87")
    with pytest.raises(OrderbookError, match=r"rates.csv row 2"):
        readable(books_from({"Rates": rows_from("Rates", [row | bad], sheet="rates.csv")}, currency="GBP"))


def test_a_spring_of_the_drawer_may_have_no_price_but_no_price_without_a_currency():
    row = {"label": "D-0004", "width_mm": "2.9", "strength_mm": "0.17", "length_mm": "500"}
    (own,) = options_of(drawer(row)).drawer
    assert (own.label, own.price, own.is_new) == ("D-0004", None, False)
    (priced,) = options_of(readable(drawer(row | {"price": "9.50", "currency": "gbp"}))).drawer
    assert priced.price == Money(950, "GBP")
    with pytest.raises(OrderbookError) as refused:
        readable(drawer(row | {"price": "9.50"}))
    assert refused.value.code == "drawer_price_without_currency"
