"""Lists written by hand: what a person reads in them is read, and nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest

from orderbook.errors import OrderbookError
from tests.catalogue.invented import listed, refusal_or_reading
from tests.catalogue.lists_by_hand import LISTS, Spring

NAMES = [" ".join(text.split("\n")[0].split())[:50] for text, _ in LISTS]


@pytest.mark.parametrize(("text", "true"), LISTS, ids=NAMES)
def test_a_list_says_what_a_person_reads(text: str, true: dict[str, Spring] | None, tmp_path: Path) -> None:
    found = refusal_or_reading(listed(tmp_path, text), supplier="Supplier North")
    if true is None:
        assert isinstance(found, OrderbookError) or not len(found.catalogue)
        return
    assert not isinstance(found, OrderbookError), found
    springs = {row["item"]: row for row in map(found.catalogue.row, range(len(found.catalogue)))}
    assert set(springs) == set(true)
    for item, (width, strength, length, *price) in true.items():
        row = springs[item]
        sizes = (row["width_mm"], row["strength_mm"], row["length_mm"])
        assert sizes == pytest.approx((width, strength, length), rel=1e-3)
        if price and row["price_each_minor"] >= 0:
            assert row["price_each_minor"] == price[0]
            assert row["currency"] == price[1]
