"""An invented book: a two-train fusee bracket clock of about 1820 and a going-barrel lever watch."""

from datetime import date
from typing import Any

import pytest

from orderbook.records.books import Books, books_from


def invented_rows() -> dict[str, list[dict[str, Any]]]:
    return {
        "Settings": [{"setting": "book currency", "value": "GBP"}],
        "Restorations": [
            {"restoration": "R-007", "piece": "Two-train fusee bracket clock, about 1820 (invented)", "state": "open",
             "opened": date(2026, 2, 20), "estimate": 600, "not_above": 900},
            {"restoration": "R-008", "piece": "Going-barrel lever watch (invented)", "state": "closed",
             "opened": date(2026, 1, 5), "closed": date(2026, 2, 1)},
        ],
        "Barrels": [
            {"barrel": "R-007-B1", "restoration": "R-007", "train": "going", "drive": "fusee"},
            {"barrel": "R-007-B2", "restoration": "R-007", "train": "striking", "drive": "fusee"},
            {"barrel": "R-008-B1", "restoration": "R-008", "train": "going", "drive": "going"},
        ],
        "Needs": [
            {"need": "N-0001", "restoration": "R-007", "barrel": "R-007-B1", "part": "mainspring", "decision": "buy",
             "reason": "set, 3 turns lost", "evidence": "later replacement", "state": "decided"},
            {"need": "N-0002", "restoration": "R-007", "part": "strip the hands", "decision": "repair",
             "state": "decided"},
            {"need": "N-0003", "restoration": "R-007", "part": "re-gild the hands", "decision": "buy",
             "state": "decided", "depends_on": "N-0002"},
            {"need": "N-0004", "restoration": "R-007", "part": "alarm disc", "evidence": "never required",
             "reason": "found not to be required", "state": "withdrawn"},
        ],
        "Suppliers": [
            {"supplier": "Supplier North", "currency": "GBP", "postage": 4.5, "free_above": 75, "lead_days": 4},
            {"supplier": "Supplier East", "currency": "EUR", "postage": "9.90", "lead_days": 12},
        ],
        "Rates": [{"date": date(2026, 2, 2), "currency": "EUR", "rate": 0.865, "source": "invented"}],
        "Drawer": [
            {"drawer": "D-0004", "label": "old spring", "width_mm": 37.6, "strength_mm": 0.419, "length_mm": 2480,
             "whose": "owner's", "origin": "original", "state": "in drawer"},
        ],
        "Orders": [
            {"order": "O-0001", "restoration": "R-007", "barrel": "R-007-B1", "need": "N-0001",
             "supplier": "Supplier North", "item": "N 37/43", "width_mm": 37.5, "strength_mm": 0.43, "length_mm": 2400,
             "stage": 1, "trigger": "now", "qty": 1, "price": 6.4, "currency": "GBP", "state": "planned"},
            {"order": "O-0002", "restoration": "R-007", "barrel": "R-007-B1", "need": "N-0001",
             "supplier": "Supplier North", "item": "N 37/45", "width_mm": 37.5, "strength_mm": 0.45, "length_mm": 2400,
             "stage": 2, "trigger": "if stage 1 is too weak", "qty": 1, "price": 6.6, "currency": "GBP",
             "state": "planned"},
            {"order": "O-0003", "restoration": "R-007", "barrel": "R-007-B1", "need": "N-0001",
             "supplier": "Supplier East", "item": "E-3846", "width_mm": 38, "strength_mm": 0.465, "length_mm": 2350,
             "stage": 3, "trigger": "if stage 2 is too weak", "qty": 1, "price": 8.1, "currency": "EUR",
             "state": "planned"},
        ],
        "Ledger": [
            {"date": date(2026, 2, 20), "restoration": "R-007", "category": "spring", "kind": "estimate", "amount": 120,
             "currency": "GBP"},
            {"date": date(2026, 2, 20), "restoration": "R-007", "category": "labour", "kind": "estimate", "amount": 480,
             "currency": "GBP"},
        ],
        "Work": [
            {"date": date(2026, 3, 2), "need": "N-0002", "hours": 1.5, "rate": 38, "done": "stripped the hands"},
        ],
        "Readings": [],
        "Trials": [],
        "Catalogue": [],
    }  # fmt: skip


@pytest.fixture
def rows() -> dict[str, list[dict[str, Any]]]:
    return invented_rows()


@pytest.fixture
def books() -> Books:
    return books_from(invented_rows())
