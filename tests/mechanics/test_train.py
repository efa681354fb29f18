"""Trains: exact rational arithmetic against printed ones."""

from fractions import Fraction

import pytest

from orderbook.errors import OrderbookError
from orderbook.mechanics.train import (
    blows_in_hours,
    hours_per_turn,
    train,
    turns_for_blows,
    turns_for_hours,
)


def test_a_year_clock_comes_out_exactly() -> None:
    # Beckett, Clocks, Watches and Bells, 8th ed. 1903, p. 138: 380 days, 16 turns, pinions 10 10 12, wheels 100 90 76
    assert train("100/10 90/10 76/12").ratio * 16 / 24 == 380
    assert train("192/8 190/8").ratio * 16 / 24 == 380


def test_a_box_chronometer() -> None:
    # Beckett p. 295: wheels 80 80 90 90, pinions 10 10 12 14; goes "rather more than 2 days"
    assert hours_per_turn(train("90/14")) == Fraction(90, 14)
    assert turns_for_hours(48, train("90/14")) == pytest.approx(7.4666667)
    assert train("90/12 80/10").ratio == 60


def test_blows_of_a_strike() -> None:
    assert blows_in_hours(12) == 78
    assert blows_in_hours(24, halves=True) == 180
    # a printed slip, 156 × 7.5 as 1,070, is not followed: Goodrich p. 297
    assert blows_in_hours(180) == 1170
    assert turns_for_blows(1170, train("84/8"), 13) > 8


@pytest.mark.parametrize("text", ["96", "96/", "0/8", "96/0", "-96/8", "a/b", "", "96/8/7"])
def test_a_train_that_cannot_be_read_is_said(text: str) -> None:
    with pytest.raises(OrderbookError) as problem:
        train(text, where="--wheels")
    assert problem.value.code == "train_not_read"
