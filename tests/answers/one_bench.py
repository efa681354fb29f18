"""Two watches on one bench, invented, in which every column that can change an answer does so somewhere."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from orderbook.records.definition import Column, book_definition
from orderbook.records.tables import RECORDS

FIRST, SECOND = "R-001-B1", "R-002-B1"
Tables = dict[str, list[dict[str, Any]]]
DAY = date(2026, 3, 12)
OTHER_WORDS = {
    "what": "depth", "unit": "half-mm", "instrument": "rule", "train": "striking", "drive": "fusee", "end": "loop",
    "stop_work": "yes", "movement": "clock", "currency": "EUR", "verdict": "never ran", "origin": "used",
    "state": "fitted", "fitted_origin": "later", "wheels": "80/12", "fusee": "4 x 8 x 4", "material": "nivaflex",
    "rod_test": "25 g x 100 mm: gives, falling", "rod": "25 x 100: gives; falling", "free_shape": "5 x 30",
    "postage": 9.5, "leave_out": "yes", "wrong": "bent", "weight": "give_up", "barrel": SECOND, "restoration": "R-002",
    "need": "N-0009", "order": "O-0099", "drawer": "D-0099", "supplier": "Supplier West", "setting": "your name",
    "evidence": "later replacement",
}  # fmt: skip


def bench() -> Tables:
    """Return the tables of the book; the first watch has a spring at hand by its need, and a trial of two others."""
    return {
        "Settings": [{"setting": "book currency", "value": "GBP"}, {"setting": "decimals of money", "value": 2}],
        "Restorations": [
            {"restoration": "R-001", "piece": "lever watch (invented)", "movement": "watch", "state": "open"},
            {"restoration": "R-002", "piece": "another (invented)", "movement": "watch", "state": "open"},
        ],
        "Barrels": [
            {"barrel": FIRST, "restoration": "R-001", "train": "going", "drive": "going", "stop_work": "no",
             "end": "hole", "ratchet_teeth": 24, "set_up_clicks": None, "turns_asked": None, "turns_used": 3.5,
             "run_hours": 30, "wheels": "72/12", "clearance_mm": 0.12, "fill": 0.5, "set_up_turns": None,
             "fusee": None, "material": "carbon", "rod_test": None, "free_shape": None,
             "fitted_origin": "original"},
            {"barrel": SECOND, "restoration": "R-002", "train": "going", "drive": "going", "turns_used": 3.6},
        ],
        "Readings": [
            *({"barrel": name, "what": what, "value": value, "unit": "mm", "instrument": "caliper"}
              for name in (FIRST, SECOND)
              for what, value in (("bore", 15.6), ("bore", 15.62), ("arbor", 5.2), ("depth", 3.1))),
            {"barrel": FIRST, "what": "fitted strength", "value": 0.17, "unit": "mm", "instrument": "micrometer"},
            {"barrel": FIRST, "what": "fitted width", "value": 2.9, "unit": "mm", "instrument": "caliper"},
            {"barrel": FIRST, "what": "fitted length", "value": 500, "unit": "mm", "instrument": "rule"},
        ],
        "Units": [{"unit": "mm", "mm": 1}, {"unit": "half-mm", "mm": 0.5}],
        "Instruments": [
            {"instrument": "caliper", "half_width_mm": 0.03}, {"instrument": "micrometer", "half_width_mm": 0.004},
            {"instrument": "rule", "half_width_mm": 0.5},
        ],
        "Needs": [
            {"need": "N-0001", "restoration": "R-001", "barrel": FIRST, "part": "mainspring", "decision": "buy",
             "evidence": "original", "state": "decided"},
        ],
        "Catalogue": [
            {"supplier": supplier, "item": f"{supplier[9]}-{n}", "width_mm": 2.9, "strength_mm": strength,
             "length_mm": length, "end": "hole", "material": "carbon", "price": price, "currency": currency,
             "pack": 1, "stock": 5}
            for supplier, currency, price in (("Supplier North", "GBP", 6.4), ("Supplier East", "EUR", 5.2))
            for n, (strength, length) in enumerate(((0.16, 530), (0.175, 486), (0.19, 450), (0.205, 418)), 1)
        ],
        "Drawer": [
            {"drawer": "D-0001", "label": "old one", "width_mm": 2.9, "strength_mm": 0.15, "length_mm": 560,
             "end": "hole", "origin": "used", "state": "fitted"},
            {"drawer": "D-0002", "label": "over from a pack", "width_mm": 2.9, "strength_mm": 0.185,
             "length_mm": 470, "end": "hole", "origin": "new", "price": 5.2, "currency": "GBP", "state": "in drawer"},
        ],
        "Suppliers": [
            {"supplier": "Supplier North", "currency": "GBP", "postage": 4.5, "free_above": 75, "lead_days": 4},
            {"supplier": "Supplier East", "currency": "EUR", "postage": "0: 3.20; 20: 4.50", "minimum_order": 3,
             "lead_days": 12},
        ],
        "Rates": [{"date": date(2026, 3, 2), "currency": "EUR", "rate": 0.865, "source": "invented"}],
        "Weights": [
            {"weight": "trial", "value": 0.8, "unit": "median prices"},
            {"weight": "delay", "value": 3.3, "unit": "median prices"},
        ],
        "Orders": [
            {"order": "O-0001", "restoration": "R-001", "need": "N-0001", "supplier": "Supplier North",
             "item": "N-9", "width_mm": 2.9, "strength_mm": 0.195, "length_mm": 440, "trim_to_mm": 430, "qty": 1,
             "pack": 2, "price": 6.1, "currency": "GBP", "qty_received": 1, "state": "received"},
            {"order": "O-0002", "restoration": "R-001", "barrel": FIRST, "need": "N-0001",
             "supplier": "Supplier North", "item": "N-0", "width_mm": 2.9, "strength_mm": 0.145, "length_mm": 580,
             "qty": 1, "price": 6, "currency": "GBP", "state": "returned"},
        ],
        "Trials": [
            {"order": "D-0001", "barrel": FIRST, "date": date(2026, 3, 3), "clicks": 2, "verdict": "too weak"},
            {"order": "O-0002", "barrel": FIRST, "date": date(2026, 3, 9), "clicks": 2, "length_fitted_mm": 575,
             "verdict": "too weak", "stopped_turns": 1.5, "stopped_hours": 12},
        ],
        "Work": [{"date": date(2026, 3, 2), "need": "N-0001", "hours": 1.5, "rate": 38, "done": "opened"}],
        "Ledger": [
            {"date": date(2026, 3, 2), "restoration": "R-001", "category": "part", "kind": "paid", "amount": 4,
             "currency": "GBP"},
        ],
    }  # fmt: skip


def other(column: Column, value: Any) -> Any:
    """Return another value that a hand may well type into a column."""
    if isinstance(value, date):
        return value + timedelta(days=40)
    if isinstance(value, (int, float, Decimal)) and not isinstance(value, bool) and value:
        return value + 1 if column.format in ("whole", "clicks") else float(value) * 1.04
    word = OTHER_WORDS.get(column.key)
    if column.key == "value":
        return "EUR"
    if word is not None and value != word:
        return word
    return {"date": DAY, "": "another"}.get(column.format, 2)


def changes() -> Iterator[tuple[str, int, Column]]:
    tables = bench()
    for name in RECORDS:
        for number in range(len(tables.get(name, ()))):
            if name in ("Readings", "Catalogue") and number not in (0, 4, 8, 10):
                continue
            for column in book_definition().tables[name].columns:
                if column.kind in ("input", "brought"):
                    yield name, number, column


def changed(name: str, number: int, column: Column) -> Tables:
    tables = copy.deepcopy(bench())
    row = tables[name][number]
    row[column.key] = other(column, row.get(column.key))
    return tables
