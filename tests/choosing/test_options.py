"""Side files that cannot be right are refused, and the rows are named."""

import pytest

from orderbook.choosing.options import suppliers_from_rows
from orderbook.errors import OrderbookError

NORTH = {"supplier": "Supplier North", "currency": "GBP", "postage": "4.50", "lead_days": "4"}


def test_a_supplier_in_two_rows_names_both():
    with pytest.raises(OrderbookError) as refused:
        suppliers_from_rows([NORTH, NORTH | {"supplier": "supplier north"}], where="suppliers.csv")
    assert refused.value.code == "supplier_twice"
    assert "row 1 and in row 2" in str(refused.value)


@pytest.mark.parametrize("days", ["-1", "-0,5"])
def test_days_below_zero_name_the_row(days):
    with pytest.raises(OrderbookError) as refused:
        suppliers_from_rows([NORTH | {"lead_days": days}], where="suppliers.csv")
    assert refused.value.code == "lead_days_negative"
    assert "suppliers.csv, row 1" in str(refused.value)
