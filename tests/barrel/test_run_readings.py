"""How far a going barrel runs: days for hours, and runs that are not usual."""

import pytest

from orderbook.barrel.barrel import barrel_from_texts
from orderbook.barrel.sizing import size

BARREL = {"bore": ["34.02"], "arbor": ["11.1"]}


def codes(**texts: str) -> set[str]:
    barrel, found = barrel_from_texts(BARREL | {name: [said] for name, said in texts.items()})
    return {f.code for f in size(barrel).findings}


@pytest.mark.parametrize("said", ["8 days", "8 d", "8d", "192", "192 hours", "192 h", "8 days; 192"])
def test_days_are_hours(said: str) -> None:
    barrel, _ = barrel_from_texts(BARREL | {"hours": [said]})
    assert barrel.hours is not None
    assert barrel.hours.value == 192


def test_a_barrel_of_many_turns_is_asked_about() -> None:
    assert "turns_unusual" in codes(hours="192", wheels="96/8")  # 16 turns: a fusee's, not one going barrel's
    assert "turns_unusual" not in codes(hours="8 days", wheels="80/12 72/9")  # 192 / (20/3 · 8) = 3.6 turns


def test_hours_that_are_perhaps_days_are_asked_about() -> None:
    assert "hours_or_days" in codes(hours="8", wheels="80/12 72/9")
    assert "hours_or_days" not in codes(hours="30", wheels="80/12")
