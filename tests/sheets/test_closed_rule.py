"""The strength that stands on the Bench before any refresh, against the model over barrels it was not fitted to."""

from pathlib import Path

import numpy as np
import pytest

from orderbook.mechanics.barrel import spring_strength
from orderbook.mechanics.closed_rule import FITTED_DRIVE, WITHIN, Kept, fitted_by_rule, strongest_by_rule
from orderbook.records.definition import book_definition
from orderbook.sheets.new_book import write_new_book
from orderbook.xlsx.reading import open_book
from tests.sheets.closed_rule_fit import PARTS, barrels


@pytest.mark.parametrize(("kept", "count"), [("going", 120), ("stop work", 60), ("fusee", 20)])
def test_the_closed_rule_follows_the_model(kept: Kept, count: int) -> None:
    off, drives = [], []
    for one in barrels(kept, count, seed=7):
        sizes = (one.bore_mm, one.arbor_mm, one.turns, one.fill, kept)
        strongest, fitted = strongest_by_rule(*sizes), fitted_by_rule(*sizes)
        off.append(abs(strongest / one.strongest_mm - 1))
        assert fitted < one.strongest_mm
        drives.append(float(np.interp(fitted / one.strongest_mm, PARTS, one.drives)))
    assert np.percentile(off, 95) <= WITHIN
    assert max(off) <= 2 * WITHIN
    assert np.percentile(np.abs(np.array(drives) - FITTED_DRIVE), 90) <= 0.07


def test_the_sheet_shows_it_by_its_own_formulas(tmp_path: Path) -> None:
    path = tmp_path / "book.xlsx"
    rows = [{"barrel": "R-001-B1", "restoration": "R-001", "drive": "going", "turns_used": 3.5}]
    sizes = (("bore", 15.6), ("arbor", 5.2), ("depth", 3.1))
    readings = [{"barrel": "R-001-B1", "what": what, "value": size, "unit": "mm"} for what, size in sizes]
    write_new_book(path, {"Restorations": [{"restoration": "R-001"}], "Barrels": rows, "Readings": readings})
    book = open_book(path)
    cells = {(row, col): cell.value for (row, col), cell in book.cells["Bench"].items() if col in (7, 9)}
    shown = {cells[row, 7]: cells.get((row, 9)) for row, col in cells if col == 7}
    labels = list(shown)
    assert labels.index("strength") < labels.index("strongest useful") < labels.index("limit of turns")
    assert shown["strongest useful"] == pytest.approx(0.213, rel=WITHIN)  # what the model finds: docs of `across`
    assert shown["strength"] < shown["strongest useful"] < shown["limit of turns"]
    assert shown["limit of turns"] == pytest.approx(spring_strength(15.6, 5.2, 5.0))
    assert "strength_most_mm" in {c.key for c in book_definition().tables["Barrels"].columns}
