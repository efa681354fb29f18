"""Every published number, and the page that shows them."""

from pathlib import Path

import pytest

from orderbook.mechanics.published import CHECKS, Check, published_page

PAGE = Path(__file__).resolve().parents[2] / "docs/reference/published_checks.md"


@pytest.mark.parametrize("check", CHECKS, ids=[f"{c.source[:24]}: {c.what[:40]}" for c in CHECKS])
def test_printed_and_ours_agree(check: Check) -> None:
    assert check.holds, f"{check.source}, {check.what}: printed {check.printed}, ours {check.ours()}"


def test_a_check_can_fail() -> None:
    # a printed slip: 156 × 7.5 as 1,070
    slip = Check("a slip", "blows in 7½ days", 1070.0, 1.0, lambda: 156 * 7.5, "print seen")
    assert not slip.holds


def test_the_page_is_in_step() -> None:
    assert PAGE.read_text(encoding="utf-8") == published_page()
