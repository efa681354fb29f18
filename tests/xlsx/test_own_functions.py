"""A book whose table has a column of the user's own that calls our functions, in its blank rows too."""

from __future__ import annotations

import re
import sys
import zipfile
from pathlib import Path
from typing import Any

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from format_rules import broken

from orderbook.book.refresh import refresh
from orderbook.mechanics import spring_turns
from orderbook.sheets.blank_book import copy_template
from orderbook.xlsx.changes import Changes, append_rows, commit, update_row
from orderbook.xlsx.page import Formula, address
from orderbook.xlsx.reading import open_book

OWN = "=SPRING_TURNS(34,11,Drawer[[#This Row],[Strength mm]],Drawer[[#This Row],[Length mm]])"
SPRING = {"drawer": "D-001", "width_mm": 21.0, "strength_mm": 0.35, "length_mm": 1100.0}


@pytest.fixture(scope="module")
def own_column_bytes(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """A new book with a column "Turns in my barrel" at the right of Drawer, filled down to its last blank row."""
    path = tmp_path_factory.mktemp("own") / "book.xlsx"
    copy_template(path)
    opened, changes = open_book(path), Changes()
    table = opened.anatomy.tables["Drawer"]
    right = table.right + 1
    changes.put(table.sheet, (table.top, right), "Turns in my barrel")
    for row in range(table.top + 1, table.bottom + 1):
        changes.put(table.sheet, (row, right), Formula(OWN))
    commit(opened, changes)
    column = f'<tableColumn id="{right}99" name="Turns in my barrel"><calculatedColumnFormula>{OWN[1:]}'
    old = f"{address(table.top, table.left, fixed=False)}:{address(table.bottom, table.right, fixed=False)}"
    new = f"{address(table.top, table.left, fixed=False)}:{address(table.bottom, right, fixed=False)}"
    with zipfile.ZipFile(path) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    text = parts[table.part].decode().replace(old, new)
    text = re.sub(r'tableColumns count="(\d+)"', lambda m: f'tableColumns count="{int(m[1]) + 1}"', text)
    text = text.replace("</tableColumns>", f"{column}</calculatedColumnFormula></tableColumn></tableColumns>")
    parts[table.part] = text.encode()
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as package:
        for name, data in parts.items():
            package.writestr(name, data)
    assert broken(path) == []
    return path.read_bytes()


@pytest.fixture
def book(tmp_path: Path, own_column_bytes: bytes) -> Path:
    path = tmp_path / "book.xlsx"
    path.write_bytes(own_column_bytes)
    return path


def turns(path: Path) -> dict[int, Any]:
    """Row (from 0) → what the user's column holds."""
    opened = open_book(path)
    table = opened.anatomy.tables["Drawer"]
    return {row: opened.cells[table.sheet][row, table.right].value for row in range(table.top + 1, table.bottom + 1)}


def wanted(strength_mm: float, length_mm: float) -> float:
    return float(spring_turns(34, 11, strength_mm, length_mm))


def asks_to_recalculate(path: Path) -> bool:
    with zipfile.ZipFile(path) as package:
        return b"fullCalcOnLoad" in package.read("xl/workbook.xml")


def test_a_row_added_into_a_blank_one_is_worked_out_at_once(book: Path) -> None:
    opened, changes = open_book(book), Changes()
    (row,) = append_rows(changes, opened, "Drawer", [SPRING])
    commit(opened, changes)
    shown = turns(book)
    assert shown[row] == pytest.approx(wanted(0.35, 1100), rel=1e-12)
    assert {str(value).split(".")[0] for number, value in shown.items() if number != row} == {"#strength: empty"}
    assert not asks_to_recalculate(book)
    opened, changes = open_book(book), Changes()
    update_row(changes, opened, "Drawer", row, {"strength_mm": 0.30})
    commit(opened, changes)
    assert turns(book)[row] == pytest.approx(wanted(0.30, 1100), rel=1e-12)


def test_refresh_puts_right_what_a_program_without_our_functions_left(book: Path) -> None:
    opened, changes = open_book(book), Changes()
    (row,) = append_rows(changes, opened, "Drawer", [SPRING])
    commit(opened, changes)
    part = open_book(book).anatomy.sheets["Drawer"]
    with zipfile.ZipFile(book) as package:
        parts = {name: package.read(name) for name in package.namelist()}
    cell = address(row, open_book(book).anatomy.tables["Drawer"].right, fixed=False)
    spoilt = re.sub(rf'(<c r="{cell}"[^>]*?)>(<f>.*?</f>)<v>.*?</v>', r'\1 t="e">\2<v>#NAME?</v>', parts[part].decode())
    assert spoilt.count("#NAME?") == 1
    parts[part] = spoilt.encode()
    with zipfile.ZipFile(book, "w", zipfile.ZIP_DEFLATED) as package:
        for name, data in parts.items():
            package.writestr(name, data)
    refresh(book)
    assert turns(book)[row] == pytest.approx(wanted(0.35, 1100), rel=1e-12)
    assert broken(book) == []


def test_the_column_goes_on_below_where_the_table_grows(book: Path) -> None:
    opened, changes = open_book(book), Changes()
    many = [SPRING | {"drawer": f"D-{n:03d}", "length_mm": 1000.0 + n} for n in range(1, 261)]
    rows = append_rows(changes, opened, "Drawer", many)
    bottom = opened.anatomy.tables["Drawer"].bottom
    commit(opened, changes)
    assert rows[-1] > bottom
    shown = turns(book)
    assert [shown[row] for row in rows] == pytest.approx([wanted(0.35, 1000.0 + n) for n in range(1, 261)], rel=1e-12)
    opened = open_book(book)
    assert opened.cells["Drawer"][rows[-1], opened.anatomy.tables["Drawer"].right].formula == OWN[1:]
    assert broken(book) == []
