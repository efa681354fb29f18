"""Postage goes by what an order is worth in the supplier's own money, whatever money the list prints."""

from datetime import date
from decimal import Decimal

import numpy as np
import pytest

from orderbook.answers.terms import suppliers_of
from orderbook.choosing.grading import grade
from orderbook.choosing.options import Options
from orderbook.measures.exchange import Rate, Rates
from orderbook.records.books import books_from
from tests.choosing.choice_lists import steps, watch

FINE = np.arange(0.14, 0.2001, 0.01)
HALF = Rates("GBP", (Rate(date(2026, 11, 2), "EUR", Decimal("0.5"), "invented"),))


def terms(**more):
    row = {"supplier": "Supplier North", "currency": "EUR", "postage": "9.00", **more}
    return suppliers_of(books_from({"Suppliers": [row]}, currency="GBP"))


def asked(made, *, rates=HALF, **more):
    return grade(watch(), made, Options(currency="GBP", rates=rates, suppliers=terms(**more)))


def codes(answer):
    return {finding.code for finding in answer.findings}


@pytest.mark.parametrize(("free_above", "postage"), [("15.00", 0.0), ("19.99", 0.0), ("20.00", 0.0), ("70.00", 450.0)])
def test_a_threshold_in_euros_is_met_by_pounds_at_the_rate(free_above, postage):
    """One spring of 10.00 GBP is worth 20.00 EUR; three are not worth 70.00."""
    c = asked(steps(FINE, price=1000), free_above=free_above).considered
    one = c.choice.offered.listed
    assert one == pytest.approx(np.full(len(one), 2000.0))
    assert c.choice.terms[0].charge(one[0]) == postage


def test_a_least_order_in_euros_is_not_out_of_reach_of_pounds():
    """Three springs of 10.00 GBP make up 60.00 EUR."""
    answer = asked(steps(FINE, price=1000), minimum_order="45.00")
    assert answer.as_dict()["springs_that_go_in"] == len(FINE)
    too_much = asked(steps(FINE, price=1000), minimum_order="61.00").as_dict()
    assert {one["measure"] for one in too_much["do_not_go_in"]} == {"least order"}


def test_a_price_that_is_assumed_counts_in_the_suppliers_money_too():
    made = steps(FINE, price=[1000] * (len(FINE) - 1) + [-1])
    listed = asked(made, free_above="30.00").considered.choice.offered.listed
    assert listed == pytest.approx(np.full(len(FINE), 2000.0))


def test_terms_in_money_without_a_rate_are_said_and_charge_nothing():
    answer = asked(steps(FINE, price=1000), rates=None, free_above="15.00")
    assert "postage_without_rate" in codes(answer)
    assert answer.fittings
    assert answer.considered.choice.terms[0].charge(1000.0) == 0
