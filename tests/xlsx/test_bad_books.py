"""Books we cannot keep, and books that are held elsewhere: one clear error, and the book as it was."""

import os
import random
import subprocess
import sys
import time
import zipfile
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parent))
from foreign_books import by_xlsxwriter

from orderbook.book.refresh import refresh
from orderbook.errors import OrderbookError
from orderbook.sheets.blank_book import copy_template
from orderbook.xlsx.changes import Changes, append_by_header, append_rows, commit
from orderbook.xlsx.reading import open_book, table_in
from orderbook.xlsx.saving import backup_of

KILLS = int(os.environ.get("ORDERBOOK_KILLS", "100"))


def rewritten(path: Path, part: str, old: bytes, new: bytes) -> None:
    with zipfile.ZipFile(path) as source:
        parts = {i.filename: source.read(i) for i in source.infolist()}
    assert old in parts[part]
    parts[part] = parts[part].replace(old, new, 1)
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as target:
        for name, data in parts.items():
            target.writestr(name, data)


def touch(path: Path) -> None:
    book, changes = open_book(path), Changes()
    changes.put("Work bench", (1, 1), 35.5)
    commit(book, changes)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "book.xlsx"
    by_xlsxwriter(path)
    return path


def refused(path: Path) -> str:
    before = path.read_bytes() if path.is_file() else b""
    with pytest.raises(OrderbookError) as caught:
        touch(path)
    assert (path.read_bytes() if path.is_file() else b"") == before
    assert not [p for p in path.parent.iterdir() if p.name.endswith(("part", "orderbook-lock"))]
    assert "Traceback" not in str(caught.value)
    return caught.value.code


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"what,mm\nbore,34.02\n", "book_kind"),
        (b"a,b\r\n1,2\r\n", "book_kind"),
        (b"", "book_damaged"),
        (b"%PDF-1.7 ...", "book_kind"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "book_kind"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600 + "EncryptedPackage".encode("utf-16-le"), "book_encrypted"),
        (b"PK\x03\x04 and nothing else", "book_damaged"),
    ],
)
def test_what_is_not_a_book(tmp_path: Path, data: bytes, code: str) -> None:
    path = tmp_path / "list.xlsx"
    path.write_bytes(data)
    assert refused(path) == code


@pytest.mark.parametrize(
    ("part", "code"),
    [
        ("mimetype", "book_kind"),
        ("xl/workbook.bin", "book_kind"),
        ("_xmlsignatures/sig1.xml", "book_signed"),
    ],
)
def test_packages_of_another_kind(book: Path, part: str, code: str) -> None:
    with zipfile.ZipFile(book, "a") as package:
        package.writestr(part, b"application/vnd.oasis.opendocument.spreadsheet")
    assert refused(book) == code


def test_a_folder_and_a_zip_bomb(tmp_path: Path, book: Path) -> None:
    assert refused(tmp_path) == "book_kind"
    with zipfile.ZipFile(book, "a", zipfile.ZIP_DEFLATED) as package:
        package.writestr("xl/media/image9.bin", b"\0" * (40 << 20))
    assert refused(book) == "book_too_large"


def test_entities_and_strict_books(book: Path, tmp_path: Path) -> None:
    strict = tmp_path / "strict.xlsx"
    by_xlsxwriter(strict)
    main = b"http://schemas.openxmlformats.org/spreadsheetml/2006/main"
    rewritten(strict, "xl/workbook.xml", main, b"http://purl.oclc.org/ooxml/spreadsheetml/main")
    assert refused(strict) == "book_strict"
    rewritten(book, "xl/worksheets/sheet1.xml", b"<worksheet", b'<!DOCTYPE x [<!ENTITY a "b">]><worksheet')
    assert refused(book) == "book_entities"


def test_a_book_open_in_either_program(book: Path) -> None:
    calc, excel = book.with_name(".~lock.book.xlsx#"), book.with_name("~$book.xlsx")
    calc.write_text("A. Restorer,bench,host,12.03.2026 10:00,file:///profile;")
    before = book.read_bytes()
    with pytest.raises(OrderbookError, match=r"LibreOffice \(A. Restorer\)"):
        touch(book)
    calc.unlink()
    excel.write_bytes(b"\x06Bench1" + b" " * 158)
    with pytest.raises(OrderbookError, match=r"Excel \(Bench1\)"):
        touch(book)
    assert book.read_bytes() == before


def test_saved_by_somebody_meanwhile(book: Path) -> None:
    opened, changes = open_book(book), Changes()
    changes.put("Work bench", (1, 1), 35.5)
    time.sleep(0.01)
    book.write_bytes(book.read_bytes())
    with pytest.raises(OrderbookError) as caught:
        commit(opened, changes)
    assert caught.value.code == "book_changed"


def test_a_full_disk(book: Path) -> None:
    code = (
        "import resource, sys; from pathlib import Path; sys.path.insert(0, 'tests/xlsx')\n"
        "from test_bad_books import touch\n"
        f"resource.setrlimit(resource.RLIMIT_FSIZE, ({book.stat().st_size // 2}, {book.stat().st_size // 2}))\n"
        "from orderbook.errors import OrderbookError\n"
        "try: touch(Path(sys.argv[1]))\n"
        "except OrderbookError as problem: print(problem.code)\n"
    )
    before = book.read_bytes()
    root = Path(__file__).parents[2]
    done = subprocess.run(
        [sys.executable, "-c", code, str(book)], cwd=root, capture_output=True, text=True, check=False
    )
    assert done.stdout.strip() == "book_not_saved", done.stderr
    assert book.read_bytes() == before
    assert [p.name for p in book.parent.iterdir()] == ["book.xlsx"]


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="root may write everywhere")
def test_a_folder_that_may_only_be_read(book: Path) -> None:
    book.parent.chmod(0o555)
    try:
        with pytest.raises(OrderbookError) as caught:
            touch(book)
        assert caught.value.code == "book_not_saved"
    finally:
        book.parent.chmod(0o755)


def test_merged_cells_and_cells_below_a_table(book: Path) -> None:
    opened, changes = open_book(book), Changes()
    changes.put("Work bench", (4, 1), "in the way")
    commit(opened, changes)
    opened, changes = open_book(book), Changes()
    with pytest.raises(OrderbookError) as caught:
        append_by_header(changes, opened, "Read", [{"what": "x", "mm": 1}])
    assert caught.value.code == "book_below_table"
    rewritten(book, "xl/worksheets/sheet1.xml", b"</sheetData>", b'</sheetData><mergeCells count="1"><mergeCell ref="A2:A3"/></mergeCells>')  # fmt: skip # noqa: E501
    opened = open_book(book)
    with pytest.raises(OrderbookError) as caught:
        append_by_header(Changes(), opened, "Read", [{"what": "x", "mm": 1}])
    assert caught.value.code == "book_merged_cells"


def test_a_table_or_a_column_that_is_gone(tmp_path: Path) -> None:
    path = tmp_path / "b.xlsx"
    copy_template(path)
    table = open_book(path).anatomy.tables["Suppliers"].part
    rewritten(path, table, b'name="Supplier"', b'name="Who"')
    with pytest.raises(OrderbookError, match='no column headed "Supplier"') as caught:
        append_rows(Changes(), open_book(path), "Suppliers", [{"lead_days": 3}])
    assert caught.value.code == "book_column_missing"
    before = path.read_bytes()
    with pytest.raises(OrderbookError, match='no column headed "Supplier"'):
        refresh(path)
    assert path.read_bytes() == before
    rewritten(path, table, b'displayName="Suppliers"', b'displayName="Shops"')
    with pytest.raises(OrderbookError) as caught:
        table_in(open_book(path), "Suppliers")
    assert caught.value.code == "book_table_missing"


SAVES_FOR_EVER = """
import sys; from pathlib import Path
from orderbook.xlsx.changes import Changes, commit
from orderbook.xlsx.reading import open_book
path = Path(sys.argv[1])
print("ready", flush=True)
while True:
    book, changes = open_book(path), Changes()
    changes.put("Work bench", (1, 1), book.cells["Work bench"][1, 1].value + 1)
    commit(book, changes)
    print("saved", flush=True)
"""


@pytest.mark.slow
def test_killed_at_any_instant_the_book_is_the_old_or_the_new_one(book: Path) -> None:
    """Kills at random points of saving over and over: whole books only, and the backup can be read.

    A kill costs over half a second, the start of Python; ORDERBOOK_KILLS=200 makes more of them than a usual run.
    """
    touch(book)
    dice, last, saved = random.Random(7), 35.5, 0
    root = Path(__file__).parents[2]
    for _ in range(KILLS):
        child = subprocess.Popen(
            [sys.executable, "-c", SAVES_FOR_EVER, str(book)], cwd=root, stdout=subprocess.PIPE, text=True
        )
        assert child.stdout is not None
        assert child.stdout.readline() == "ready\n"
        begun = time.monotonic()
        assert child.stdout.readline() == "saved\n"
        time.sleep(dice.uniform(0, 2 * (time.monotonic() - begun)))
        child.kill()
        done = 1 + child.stdout.read().count("saved")
        child.wait()
        child.stdout.close()
        found = open_book(book).cells["Work bench"][1, 1].value
        assert found in (last + done, last + done + 1)
        saved += int(found - last)
        last = found
        open_book(backup_of(book))
    assert saved >= KILLS
    touch(book)
    kept = ["book.xlsx", "book.xlsx.bak", "book.xlsx.bak2", "book.xlsx.bak3"]
    assert sorted(p.name for p in book.parent.iterdir()) == kept
