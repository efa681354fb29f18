"""The Bench in a real LibreOffice says "up to date" only while nothing that its answers were made from has changed."""

from datetime import date
from pathlib import Path

import pytest

from orderbook.answers.fingerprint import fingerprints
from orderbook.book.refresh import refresh
from orderbook.records.books import books_from
from orderbook.records.definition import book_definition
from orderbook.sheets import bench_page, plots
from orderbook.sheets.new_book import write_new_book
from orderbook.xlsx.page import address, letters
from orderbook.xlsx.reading import columns_of, open_book
from tests.answers.one_bench import FIRST, SECOND, bench, changed, changes
from tests.office import Office

pytestmark = [pytest.mark.libreoffice, pytest.mark.slow]
DAY_0 = date(1899, 12, 30)
FLAG = address(bench_page.ORDER, bench_page.RIGHT, fixed=False)


def test_each_column_in_turn_is_seen_by_the_sheet_as_by_python(office: Office, tmp_path: Path) -> None:
    path = tmp_path / "bench.xlsx"
    write_new_book(path, bench(), barrel=FIRST, restoration="R-001")
    refresh(path)
    book, fresh = open_book(path), fingerprints(books_from(bench()))
    tables = book_definition().tables
    where = {n: (t.sheet, t.top, columns_of(t, tables[n])) for n, t in book.anatomy.tables.items() if n in tables}
    with office.open(path, relink=False) as document:
        assert document.cell("Bench", FLAG).endswith("up to date")
        for name, number, column in changes():
            if not column.answers and column.key not in ("movement", "mm", "half_width_mm", "note"):
                continue
            sheet, top, columns = where[name]
            cell = f"{letters(columns[column.key])}{top + 2 + number}"
            old, new = document.cell(sheet, cell), changed(name, number, column)
            value = new[name][number][column.key]
            document.put(sheet, cell, [[(value - DAY_0).days if isinstance(value, date) else value]])
            now = fingerprints(books_from(new))
            barrels, _, keys = where["Barrels"]
            shown = [
                row[0]
                for row in document.cells(barrels, f"{letters(keys['inputs_now'])}4:{letters(keys['inputs_now'])}5")
            ]
            assert shown == [now.inputs[b] for b in (FIRST, SECOND)], (name, column.key)
            assert document.cell("Plots", address(*plots.LISTS_PLACE)) == now.lists, (name, column.key)
            is_old = now.inputs[FIRST] != fresh.inputs[FIRST] or now.lists != fresh.lists
            assert document.cell("Bench", FLAG).endswith("refresh") is is_old, (name, column.key)
            document.put(sheet, cell, [["" if old is None else old]])
        assert document.cell("Bench", FLAG).endswith("up to date")
