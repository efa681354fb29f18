"""Tables and lists that another program saved in its own way, and cells that a person typed as text."""

from collections.abc import Callable
from datetime import date
from pathlib import Path

import numpy as np
import pytest

from orderbook.answers.answer import Answer
from orderbook.answers.record_data import story
from orderbook.barrel.sizing import size
from orderbook.book.answer_rows import window
from orderbook.book.csv_folder import save, tables_in
from orderbook.book.opened import opened
from orderbook.choosing.grading import grade
from orderbook.choosing.ranking import rank
from orderbook.errors import OrderbookError
from orderbook.mechanics import spring_torque
from orderbook.records.rows import Append
from tests.choosing.choice_lists import steps, watch

Say = Callable[..., tuple[int, str, str]]


def resave(path: Path, mark: str, encoding: str) -> None:
    import csv

    with path.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.reader(file))
    with path.open("w", encoding=encoding, newline="") as file:
        csv.writer(file, delimiter=mark).writerows(rows)


@pytest.mark.parametrize(("mark", "encoding"), [(";", "utf-8"), (";", "cp1252"), (",", "latin-1"), ("\t", "utf-8-sig")])
def test_a_table_saved_by_another_program_reads_the_same(folder: Path, mark: str, encoding: str) -> None:
    path = folder / "Ledger.csv"
    with path.open("a", encoding="utf-8", newline="") as file:
        file.write("L-É,,,,Würth\r\n")
    before = opened(folder).books.ledger
    resave(path, mark, encoding)
    assert opened(folder).books.ledger == before


def test_what_is_added_keeps_the_mark_between_cells(folder: Path) -> None:
    path = folder / "Ledger.csv"
    resave(path, ";", "utf-8")
    rows = len(tables_in(folder)["Ledger"])
    save(folder, tables_in(folder), [Append("Ledger", {"category": "spring"})])
    assert ";" in path.read_text(encoding="utf-8-sig").splitlines()[0]
    assert len(tables_in(folder)["Ledger"]) == rows + 1


def test_a_table_without_a_known_header_is_an_error_and_not_an_empty_table(folder: Path) -> None:
    (folder / "Ledger.csv").write_text("12;13\n14;15\n", encoding="utf-8")
    with pytest.raises(OrderbookError) as caught:
        opened(folder)
    assert caught.value.code == "no_column_known"


def test_two_columns_of_one_name_are_not_taken_one_for_the_other(folder: Path, tmp_path: Path, orderbook: Say) -> None:
    twice = tmp_path / "twice.csv"
    twice.write_text("Note,Amount,Amount\nfile,1,2\n", encoding="utf-8")
    status, _, said = orderbook("import", folder, twice, "--table", "Ledger")
    assert status == 2
    assert "two columns are called “amount”" in said


def test_an_instrument_that_cannot_be_read_is_said(folder: Path) -> None:
    readings = "barrel,what,value,unit,instrument\r\nB1,bore,34.02,mm,screw\r\n"
    for table, cells in {
        "Barrels": "barrel,restoration\r\nB1,R-900\r\n",
        "Restorations": "restoration\r\nR-900\r\n",
        "Readings": readings,
        "Instruments": "instrument,half_width_mm\r\nscrew,fine\r\n",
    }.items():
        (folder / f"{table}.csv").write_text(cells, encoding="utf-8")
    told = story(opened(folder).books, "R-900", on=date(2026, 3, 27))
    assert any("fine" in f.saw for f in told.findings)
    assert [q.measured.value for q in told.barrels[0].quantities] == [34.02]
    assert [f.code for f in told.findings] == ["reading_not_used"]


@pytest.mark.parametrize("more", [{}, {"stop_work": "yes"}, {"set_up": "0.4"}], ids=["going", "stop-work", "set-up"])
def test_the_window_drawn_is_that_of_the_reference(more: dict[str, str]) -> None:
    barrel, springs = watch(strength="0.12", **more), steps(np.arange(0.13, 0.22, 0.02))
    answered = Answer("B1", size(barrel), rank(barrel, springs), grade(barrel, springs))
    begin, end = window(answered)
    bench, best = answered.grading.considered.bench, answered.grading.considered.reference
    sizes = (bench.bore_mm, bench.arbor_mm, best.width_mm, best.strength_mm, best.length_mm)
    torque = spring_torque(*sizes, np.array([begin, end]), bench.flow_stress_mpa, bench.modulus_mpa)
    assert torque == pytest.approx([best.drive_nmm, best.load_nmm], rel=1e-4)
