"""Books made by others lose nothing: parts we do not edit keep their packed bytes, and LibreOffice opens the rest."""

import hashlib
import sys
import zipfile
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from foreign_books import MAKERS
from format_rules import broken

from orderbook.locate import data_folder
from orderbook.sheets.blank_book import TEMPLATE
from orderbook.xlsx.changes import Changes, append_by_header, append_rows, commit
from orderbook.xlsx.reading import open_book
from tests.office import Office


def packed(path: Path) -> dict[str, str]:
    found = {}
    with zipfile.ZipFile(path) as package, path.open("rb") as file:
        for info in package.infolist():
            file.seek(info.header_offset + 26)
            skip = int.from_bytes(file.read(2), "little") + int.from_bytes(file.read(2), "little")
            file.seek(info.header_offset + 30 + skip)
            found[info.filename] = hashlib.sha256(file.read(info.compress_size)).hexdigest()
    return found


def edited(path: Path) -> set[str]:
    """Change a cell, write one below, add two rows to the table if there is one; the parts that differ."""
    before = packed(path)
    book, changes = open_book(path), Changes()
    sheet = next(iter(book.anatomy.sheets))
    changes.put(sheet, (1, 1), 35.5)
    changes.put(sheet, (30, 7), "a note <&> “quoted” é")
    if "Read" in book.anatomy.tables:
        append_by_header(changes, book, "Read", [{"what": "width", "mm": 21.5}, {"what": "again", "mm": 21.6}])
    commit(book, changes)
    after = packed(path)
    assert [n for n in before if n in after] == list(after)
    return {n for n in before if before[n] != after.get(n)}


def check(path: Path) -> None:
    changed = edited(path)
    book = open_book(path)
    sheet = next(iter(book.anatomy.sheets))
    may = {book.anatomy.sheets[sheet], book.anatomy.workbook, *book.anatomy.charts}
    may |= {table.part for table in book.anatomy.tables.values()}
    may |= {"xl/calcChain.xml", "[Content_Types].xml", "xl/_rels/workbook.xml.rels"} if "hand" in path.name else set()
    assert changed <= may, changed - may
    assert book.cells[sheet][30, 7].value == "a note <&> “quoted” é"
    assert broken(path) == []
    if "Read" in book.anatomy.tables:
        assert book.anatomy.tables["Read"].bottom == 5
        assert book.cells[sheet][4, 0].value == "width"
        total = next((c.value for c in book.cells[sheet].values() if c.formula and "SUM(Read" in c.formula), None)
        assert total in (None, pytest.approx(35.5 + 11.2 + 22.1 + 21.5 + 21.6))


@pytest.mark.parametrize("name", MAKERS)
def test_books_of_others(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    MAKERS[name](path)
    assert broken(path) == []
    check(path)


@pytest.mark.libreoffice
@pytest.mark.parametrize("name", MAKERS)
def test_books_of_others_after_libreoffice(tmp_path: Path, office: Office, name: str) -> None:
    path, saved = tmp_path / name, tmp_path / f"saved-{name}"
    MAKERS[name](path)
    with office.open(path, relink=False) as document:
        document.save(saved)
    if "pivot" in name:
        with zipfile.ZipFile(saved) as package:
            assert [part for part in package.namelist() if part.startswith("xl/pivotTables/pivotTable")]
    check(saved)
    check_opens(office, saved)
    edited(path)
    check_opens(office, path)


def check_opens(office: Office, path: Path) -> None:
    sheet = next(iter(open_book(path).anatomy.sheets))
    with office.open(path, relink=False) as document:
        document.recalculate()
        assert document.cell(sheet, "B2") == 35.5
        assert document.cell(sheet, "H31") == "a note <&> “quoted” é"
        assert document.errors(sheet) == {}


def test_our_own_books_keep_the_rules_of_the_format(tmp_path: Path, demo_bytes: bytes) -> None:
    assert broken(data_folder("workbook_template") / TEMPLATE) == []
    path = tmp_path / "demo.xlsx"
    path.write_bytes(demo_bytes)
    assert broken(path) == []
    book, changes = open_book(path), Changes()
    append_rows(changes, book, "Suppliers", [{"supplier": f"S {n}"} for n in range(100)])
    append_rows(changes, book, "Instruments", [{"instrument": f"i {n}", "half_width_mm": 0.1} for n in range(40)])
    commit(book, changes)
    assert broken(path) == []
    with zipfile.ZipFile(path) as package:
        names = package.read("xl/workbook.xml").decode()
    bottom = open_book(path).anatomy.tables["Suppliers"].bottom + 1
    assert f"Suppliers!$B$4:$B${bottom}</definedName>" in names
