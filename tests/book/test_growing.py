"""A book that grows: what is printed, rows that a hand inserted, totals of the program's own, what stands below."""

import io
import re
import zipfile
from datetime import date
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from orderbook.book.check import check
from orderbook.book.opened import opened
from orderbook.book.refresh import refresh
from orderbook.records.definition import book_definition
from orderbook.records.rows import Append
from orderbook.xlsx.changes import Changes, commit
from orderbook.xlsx.page import letters
from orderbook.xlsx.reading import OpenBook, columns_of, open_book
from tests.office import Office


@pytest.fixture
def demo(tmp_path: Path, demo_bytes: bytes) -> Path:
    path = tmp_path / "demo.xlsx"
    path.write_bytes(demo_bytes)
    return path


def changed(path: Path, part: str, pattern: str, new: str) -> None:
    """Change one part of the file itself, as another program would."""
    with zipfile.ZipFile(path) as book:
        parts = {name: book.read(name) for name in book.namelist()}
    text, found = re.subn(pattern, new, parts[part].decode(), flags=re.S)
    assert found == 1
    parts[part] = text.encode()
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as book:
        for name, data in parts.items():
            book.writestr(name, data)
    path.write_bytes(buffer.getvalue())


def printed_rows(path: Path, sheet: str) -> int:
    with zipfile.ZipFile(path) as book:
        workbook = book.read("xl/workbook.xml").decode()
    found = re.search(rf"_xlnm\.Print_Area[^>]*>'?{sheet}'?!\$A\$1:\$[A-Z]+\$(\d+)<", workbook)
    assert found
    return int(found[1])


def place_of(book: OpenBook, table: str, key: str) -> int:
    return columns_of(book.anatomy.tables[table], book_definition().tables[table])[key]


def cost(number: int) -> Append:
    return Append("Ledger", {"restoration": "R-007", "category": "part", "kind": "paid", "amount": number,
                             "currency": "GBP"})  # fmt: skip


def test_what_is_printed_grows_with_the_rows_inside_the_table_and_beyond_it(demo: Path) -> None:
    for count in (40, 300):
        opened(demo).save([cost(1 + n) for n in range(count)])
        last = max(row.number for row in open_book(demo).rows("Ledger")) + 1
        assert last <= printed_rows(demo, "Ledger") <= last + 6


def test_a_part_of_a_table_that_somebody_chose_to_print_stays(demo: Path) -> None:
    changed(demo, "xl/workbook.xml", r"(>Ledger!)\$A\$1:\$[A-Z]+\$\d+<", r"\1$A$1:$C$9<")
    opened(demo).save([cost(1 + n) for n in range(40)])
    assert printed_rows(demo, "Ledger") == 9


def lost(demo: Path, table: str, key: str) -> tuple[Any, ...]:
    """Take the formula and its value out of the first row of a table, as a program does that inserts a row."""
    book = open_book(demo)
    place = (book.rows(table)[0].number, place_of(book, table, key))
    cell = f"{letters(place[1])}{place[0] + 1}"
    there = book.cells[book.anatomy.tables[table].sheet][place]
    part = book.anatomy.sheets[book.anatomy.tables[table].sheet]
    changed(demo, part, rf'<c r="{cell}"( s="\d+")?[^>]*>.*?</c>', rf'<c r="{cell}"\1/>')
    return place, there.formula, there.value


def test_a_row_without_its_formulas_gets_them_at_the_next_save(demo: Path) -> None:
    place, formula, value = lost(demo, "Ledger", "in_book")
    assert place not in open_book(demo).cells["Ledger"]
    opened(demo).save([cost(3)])
    cell = open_book(demo).cells["Ledger"][place]
    assert (cell.formula, cell.value) == (formula, value)


def test_a_totals_row_of_the_programs_own_is_no_row_of_the_table(demo: Path) -> None:
    book = open_book(demo)
    table = book.anatomy.tables["Ledger"]
    here = (table.bottom, place_of(book, "Ledger", "restoration"))
    changes = Changes()
    changes.put(table.sheet, here, "Total")
    commit(book, changes)
    changed(demo, table.part, r' totalsRowShown="0"', ' totalsRowCount="1"')
    book = open_book(demo)
    assert book.anatomy.tables["Ledger"].totals == 1
    assert [row for row in book.tables["Ledger"] if row.number >= table.bottom] == []
    opened(demo).save([cost(3)])
    assert open_book(demo).cells[table.sheet][here].value == "Total"


def test_refresh_names_what_stands_below_a_table(demo: Path) -> None:
    book = open_book(demo)
    table = book.anatomy.tables["Readings"]
    changes = Changes()
    for key, value in (("barrel", "R-007-B1"), ("what", "bore"), ("value", 56.2)):
        changes.put(table.sheet, (table.bottom + 1, place_of(book, "Readings", key)), value)
    commit(book, changes)
    told = refresh(demo, ["R-007-B1"], write=False).findings
    assert [f.code for f in told if f"{table.bottom + 2}" in f.where] == ["row_below_table"]


def test_a_book_without_stored_values_is_one_finding_until_it_is_refreshed(demo: Path) -> None:
    with zipfile.ZipFile(demo) as book:
        parts = {name: book.read(name) for name in book.namelist()}
    with zipfile.ZipFile(demo, "w", zipfile.ZIP_DEFLATED) as book:
        for name, data in parts.items():
            if name.startswith("xl/worksheets/sheet"):
                data = re.sub(rb"(<c [^>]*?)( t=\"\w+\")?>(<f[^>]*>[^<]*</f>)<v>[^<]*</v></c>", rb"\1>\3</c>", data)
            book.writestr(name, data)
    assert [f.code for f in opened(demo).look()] == ["book_without_values"]
    refresh(demo, ["R-006-B1"])
    assert "book_without_values" not in {f.code for f in opened(demo).look()}


def paid_for_parts(path: Path) -> float:
    """Read what the sheet Account shows as paid for parts."""
    cells = open_book(path).cells["Account"]
    (row,) = (row for (row, col), cell in cells.items() if col == 1 and cell.value == "part")
    (col,) = (col for (_, col), cell in cells.items() if str(cell.value).startswith("Paid"))
    value = cells[row, col].value
    assert isinstance(value, float)
    return value


@pytest.mark.libreoffice
@pytest.mark.slow
def test_after_ods_and_back_the_sums_take_in_every_row_that_is_added(
    office: Office, demo: Path, tmp_path: Path
) -> None:
    """The other format knows no columns by name: fixed ranges stand in their place, and grow with their table."""
    with office.open(demo, relink=False) as document:
        ods = document.save(tmp_path / "book.ods")
    with office.open(ods, relink=False) as document:
        back = document.save(tmp_path / "back.xlsx")
    assert "Ledger[" not in "".join(cell.formula or "" for cell in open_book(back).cells["Account"].values())
    many = open_book(back).anatomy.tables["Ledger"].bottom
    opened(back).save([cost(1 + n) for n in range(many)])
    assert open_book(back).anatomy.tables["Ledger"].bottom > many
    assert [f.code for f in opened(back).look() if f.code == "native_sum_differs"] == []
    assert paid_for_parts(back) == pytest.approx(paid_for_parts(demo) + sum(range(1, many + 1)))


GROWING = ("Restorations", "Barrels", "Readings", "Drawer", "Orders", "Trials", "Ledger", "Suppliers", "Work", "Notes")
NUMBERED = {"Restorations": "R-9{0:03}", "Barrels": "R-9{0:03}-B1", "Drawer": "D-9{0:03}", "Orders": "O-9{0:03}",
            "Suppliers": "Supplier {0}"}  # fmt: skip
SEEN = "A1:CZ400"


def filled_beyond(path: Path) -> list[Append]:
    """Return rows like those of a book, so many that each table must grow."""
    book, found = open_book(path), []
    for name in GROWING:
        definition, table, rows = book_definition().tables[name], book.anatomy.tables[name], list(book.counting(name))
        typed = [column.key for column in definition.columns if column.kind == "input"]
        for number in range(table.bottom - rows[-1].number + 3):
            row = rows[number % len(rows)]
            values = {key: row[key] for key in typed if row[key] not in (None, "")}
            if name in NUMBERED:
                values[definition.counts_when] = NUMBERED[name].format(number)
            found.append(Append(name, values))
    return found


def shown(office: Office, path: Path) -> dict[str, list[list[Any]]]:
    """Give what every sheet shows once all was worked out."""
    with office.open(path, relink=False) as document:
        document.recalculate()
        return {sheet: document.data(sheet, SEEN) for sheet in document.sheets}


def same_cell(one: Any, other: Any) -> bool:
    if isinstance(one, float) and isinstance(other, float):
        return one == pytest.approx(other, rel=1e-9, abs=1e-9)
    return bool(one == other)


def checked_ranges(path: Path) -> dict[str, set[str]]:
    """Give which cells have a drop-down or another check, and what is printed, by sheet."""
    book = openpyxl.load_workbook(path)
    return {
        sheet.title: {str(one) for check in sheet.data_validations.dataValidation for one in check.sqref.ranges}
        | {str(sheet.print_area)}
        for sheet in book
    }


@pytest.mark.libreoffice
@pytest.mark.slow
def test_after_ods_and_back_every_sheet_grows_as_before(office: Office, demo: Path, tmp_path: Path) -> None:
    """Ten tables grow beyond their last row: pages, drop-downs and print areas are those of the book that stayed."""
    refresh(demo)
    with office.open(demo, relink=False) as document:
        ods = document.save(tmp_path / "book.ods")
    with office.open(ods, relink=False) as document:
        back = document.save(tmp_path / "back.xlsx")
    rows = filled_beyond(demo)
    for path in (demo, back):
        bottoms = {name: open_book(path).anatomy.tables[name].bottom for name in GROWING}
        opened(path).save(rows)
        after = open_book(path).anatomy.tables
        assert all(after[name].bottom > bottoms[name] for name in GROWING)
    assert checked_ranges(back) == checked_ranges(demo)
    stayed, travelled = shown(office, demo), shown(office, back)
    assert stayed.keys() == travelled.keys()
    differ = [
        (sheet, row, column, one, other)
        for sheet in stayed
        for row, (own, theirs) in enumerate(zip(stayed[sheet], travelled[sheet], strict=True))
        for column, (one, other) in enumerate(zip(own, theirs, strict=True))
        if not same_cell(one, other)
    ]
    assert differ == []


def renamed(path: Path, table: str, old: str, new: str) -> None:
    """Change a word in the part of a table, wherever that part is kept."""
    with zipfile.ZipFile(path) as book:
        tables = {name: book.read(name).decode() for name in book.namelist() if name.startswith("xl/tables/")}
    (part,) = (name for name, text in tables.items() if f'displayName="{table}"' in text)
    changed(path, part, re.escape(old), new)


def test_a_book_made_before_a_table_and_columns_came_is_one_note_and_refreshed(demo: Path) -> None:
    """A table and two columns under names that nobody knows are as good as not there; nothing typed is lost."""
    renamed(demo, "Notes", 'displayName="Notes"', 'displayName="Jottings"')
    renamed(demo, "Orders", 'name="Cut to mm"', 'name="Column of another"')
    renamed(demo, "Barrels", 'name="Made of"', 'name="Column of another"')
    (told,) = (f for f in check(demo, on=date(2026, 3, 26)).findings if f.code == "book_older")
    assert all(words in told.saw for words in ("the whole of Notes", "Orders: Cut to mm", "Barrels: Made of")), told.saw
    assert told.severity == "note"

    def typed() -> dict[str, Any]:
        sheets = open_book(demo).cells
        return {name: {p: c.value for p, c in cells.items() if c.formula is None and c.value not in (None, "")}
                for name, cells in sheets.items() if name != "Answers"}  # fmt: skip

    before = typed()
    done = refresh(demo)
    assert [a.barrel for a in done.answers if a.answer is not None]
    assert typed() == before
