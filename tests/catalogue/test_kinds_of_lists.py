"""Thousands of lists of all kinds: no spring is misread, no row lost, and what a careful person could read is read."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.catalogue.counted_lists import count_of

LISTS = 3_000
SHARES = 6


@pytest.mark.parametrize("share", range(SHARES))
def test_no_spring_is_misread_and_no_row_is_lost(share: int, tmp_path: Path) -> None:
    each = LISTS // SHARES
    count = count_of(range(share * each, (share + 1) * each), tmp_path)
    assert not count.misread, count.misread[:3]
    assert not count.lost, count.lost[:3]
    assert count.read >= 0.97 * count.readable, (count.read, count.readable, count.unread.most_common(8))
    assert count.prices_read >= 0.97 * count.priced, (count.prices_read, count.priced)
    assert count.rows > 2_000
    assert count.refused > 20, "lists that nobody could read are among them"
