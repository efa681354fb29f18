"""The invented book after its walk, as records."""

import importlib.util
from datetime import date
from pathlib import Path
from types import ModuleType

import pytest

from orderbook.records.books import Books, books_from
from orderbook.records.marking import marked, tried

READINGS = (
    ("bore", 56.04, "mm", "caliper"), ("bore", 56.02, "mm", "caliper"), ("bore", 56.06, "mm", "caliper"),
    ("arbor", 18.90, "mm", "caliper"), ("arbor", 18.96, "mm", "caliper"), ("depth", 38.60, "mm", "depth gauge"),
    ("turns used", 5.6, "turns", "counted"), ("fitted strength", "0,0165", "in", "micrometer"),
)  # fmt: skip


def invented() -> ModuleType:
    path = Path(__file__).parents[1] / "records" / "conftest.py"
    spec = importlib.util.spec_from_file_location("invented_book", path)
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture
def walked() -> Books:
    rows = invented().invented_rows()
    rows["Readings"] = [
        {"barrel": "R-007-B1", "what": what, "value": value, "unit": unit, "instrument": tool}
        for what, value, unit, tool in READINGS
    ]
    rows["Instruments"] = [
        {"instrument": "caliper", "half_width_mm": 0.03},
        {"instrument": "counted", "half_width_mm": 0},
    ]
    rows["Restorations"][0] |= {"condition": "stopped; <dust> & dry oil", "came_with": "key, pendulum"}
    books = books_from(rows)
    books = marked(books, "ordered", ["O-0001"], on=date(2026, 3, 3)).books
    books = marked(books, "received", ["O-0001"], on=date(2026, 3, 9)).books
    books = tried(books, "O-0001", "stopped", on=date(2026, 3, 12), clicks=7, stopped_turns=4.2).books
    books = marked(books, "ordered", ["O-0002"], on=date(2026, 3, 13)).books
    books = marked(books, "received", ["O-0002"], on=date(2026, 3, 17)).books
    books = tried(books, "O-0002", "ran well", on=date(2026, 3, 25), clicks=7, ran_days=8).books
    return marked(books, "returned", ["O-0001"], on=date(2026, 3, 26)).books
