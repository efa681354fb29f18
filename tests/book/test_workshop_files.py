"""Files a command writes: nothing of others is touched, no name leads elsewhere, no cell runs, days are a calendar."""

import csv
import re
from collections.abc import Callable
from datetime import date
from io import BytesIO
from pathlib import Path

import pytest

from orderbook.book.csv_folder import put_whole, tables_in, text_of
from orderbook.book.export import export
from orderbook.book.own_folder import MARK, file_name, put_beside
from orderbook.book.photographs import folder_beside, photographs
from orderbook.book.record import record
from orderbook.errors import OrderbookError
from orderbook.records.csv_cells import as_typed, harmless
from orderbook.records.rows import rows_from

Say = Callable[..., tuple[int, str, str]]
ON = date(2026, 3, 3)


# ---- folders --------------------------------------------------------------------------------------------------------


def test_all_else_in_a_folder_stays(tmp_path: Path) -> None:
    (tmp_path / "mine.txt").write_text("mine")
    put_beside(tmp_path, {"R-007.html": b"1"}, whose="record R-007")
    put_beside(tmp_path, {"R-008.html": b"2"}, whose="record R-008")
    put_beside(tmp_path, {"R-007.html": b"3"}, whose="record R-007")
    assert {p.name for p in tmp_path.iterdir()} == {"mine.txt", "R-007.html", "R-008.html", MARK}
    assert (tmp_path / "R-008.html").read_bytes() == b"2"
    assert (tmp_path / "R-007.html").read_bytes() == b"3"


@pytest.mark.parametrize("how", ["there before", "changed", "of another", "a link"])
def test_a_file_that_is_not_ours_is_never_written_over(tmp_path: Path, how: str) -> None:
    folder, outside = tmp_path / "out", tmp_path / "outside.html"
    folder.mkdir()
    outside.write_bytes(b"outside")
    if how == "there before":
        (folder / "R-007.html").write_bytes(b"mine")
    elif how == "a link":
        (folder / "R-007.html").symlink_to(outside)
    else:
        put_beside(folder, {"R-007.html": b"1"}, whose="record R-008" if how == "of another" else "record R-007")
        if how == "changed":
            (folder / "R-007.html").write_bytes(b"mine")
    before = {p.name: p.read_bytes() for p in folder.iterdir()}
    with pytest.raises(OrderbookError) as raised:
        put_beside(folder, {"new.txt": b"n", "R-007.html": b"2"}, whose="record R-007")
    assert raised.value.code == "file_not_ours"
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == before  # all or none
    assert outside.read_bytes() == b"outside"


def test_an_earlier_sheet_of_the_same_piece_goes_and_one_of_another_stays(tmp_path: Path) -> None:
    put_beside(tmp_path, {"north.txt": b"1", "east.txt": b"1"}, whose="orders of R-007")
    put_beside(tmp_path, {"west.txt": b"1"}, whose="orders of R-008")
    (tmp_path / "east.txt").write_bytes(b"with my notes")
    put_beside(tmp_path, {"new.txt": b"1"}, whose="orders of R-007")
    assert {p.name for p in tmp_path.iterdir()} == {"east.txt", "west.txt", "new.txt", MARK}


def test_a_mark_that_was_tampered_with_costs_nothing(tmp_path: Path) -> None:
    for mark in ("[]", "{", '{"R-007.html": 7}', '{"../../x": {"sha256": "", "for": "record R-007"}}'):
        (tmp_path / MARK).write_text(mark)
        (tmp_path / "R-007.html").write_bytes(b"mine")
        with pytest.raises(OrderbookError):
            put_beside(tmp_path, {"R-007.html": b"2"}, whose="record R-007")
        assert (tmp_path / "R-007.html").read_bytes() == b"mine"


NAMES = (
    "../x",
    "2026/14",
    "/etc/passwd",
    "..",
    ".",
    "a\\b",
    "C:\\x",
    "NUL",
    "com1.txt",
    "x" * 300,
    "\x00",
    "",
    "R-007 ",
    "..\\..\\x",
    "-rf",
    "~",
    "$HOME",
    "R\n007",
    "‮R-007",
)


@pytest.mark.parametrize("name", NAMES)
def test_a_name_never_leads_elsewhere(name: str, tmp_path: Path) -> None:
    safe = file_name(name)
    assert safe not in ("", ".", "..")
    assert not re.search(r'[/\\:\x00\n"<>|?*]', safe)
    assert len(safe) < 100
    assert (tmp_path / f"{safe}.html").resolve().parent == tmp_path.resolve()


def test_two_names_never_meet() -> None:
    names = [*NAMES, "x", "2026-14", "2026 14", "2026:14"]
    assert len({file_name(name).casefold() for name in names}) == len(names)


@pytest.mark.parametrize("name", ["../x", "2026/14", "/abs"])
def test_a_record_stays_in_its_folder(name: str, tmp_path: Path) -> None:
    home = tmp_path / "deep" / "book"
    home.mkdir(parents=True)
    for table, rows in {
        "Settings": [{"setting": "book currency", "value": "GBP"}],
        "Restorations": [{"restoration": name, "piece": "x", "state": "open"}],
    }.items():
        put_whole(home / f"{table}.csv", text_of(table, rows_from(table, rows)))
    files = record(home, name.upper(), on=ON).files
    for file in files:
        assert file.resolve().is_relative_to((tmp_path / "deep" / "book-records").resolve())
    assert {p.name for p in tmp_path.iterdir()} == {"deep"}


def test_records_and_sheets_go_into_a_folder_of_other_things(folder: Path, tmp_path: Path, orderbook: Say) -> None:
    out = tmp_path / "papers"
    out.mkdir()
    (out / "letter.txt").write_text("mine")
    for call in (("record", folder, "R-007"), ("record", folder, "R-008"), ("order", folder, "R-007"),
                 ("order", folder, "--to", "Supplier North"), ("record", folder, "R-007", "--estimate")):  # fmt: skip
        status, said, err = orderbook(*call, "--into", out, "--on", "2026-03-03")
        assert status in (0, 1), (said, err)
        assert err == ""
    names = {p.name for p in out.iterdir()}
    assert {"letter.txt", "R-007.html", "R-007-owner.html", "R-008.html", "R-007-estimate.html",
            "order-r-007-supplier-north-gbp.txt"} <= names  # fmt: skip
    assert (out / "letter.txt").read_text() == "mine"


# ---- cells that could run -------------------------------------------------------------------------------------------

RISKY = (
    "=1+1",
    "+cmd|' /C calc'!A0",
    "-2+3",
    "@SUM(1)",
    "\t=1",
    "\r=1",
    " =1",
    "'=1",
    "＝1+1",
    '=HYPERLINK("http://x","y")',
)
HARMLESS = ("4.50", "-4.50", "+5", "1e-3", "old spring", "'tis", "", "2026-03-03")


def test_no_cell_of_ours_runs_and_each_is_read_back() -> None:
    for said in (*RISKY, *HARMLESS):
        assert as_typed(harmless(said)) == said
        assert not re.match(r"\s*[=+\-@＝]", harmless(said)) or said in HARMLESS
    assert [harmless(said) for said in HARMLESS] == list(HARMLESS)


def _formulas(text: str) -> list[str]:
    number = re.compile(r"[+-]?\d+([.,]\d*)?")
    cells = [cell for row in csv.reader(text.splitlines()) for cell in row]
    return [cell for cell in cells if re.match(r"\s*[=+\-@]", cell) and not number.fullmatch(cell)]


def test_exported_tables_and_order_sheets_cannot_run(folder: Path, tmp_path: Path, orderbook: Say) -> None:
    rows = [dict(row.values) for row in tables_in(folder)["Orders"]]
    rows[0] |= {"item": "=cmd|' /C calc'!A0", "note": '@SUM(1),"x"'}
    put_whole(folder / "Orders.csv", text_of("Orders", rows_from("Orders", rows)))
    ledger = [dict(row.values) for row in tables_in(folder)["Ledger"]]
    put_whole(folder / "Ledger.csv", text_of("Ledger", rows_from("Ledger", [*ledger, ledger[0] | {"note": "=1+1"}])))
    where = export(folder, tmp_path / "out", on=ON).folder
    assert where
    assert orderbook("order", folder, "R-007", "--into", tmp_path / "sheets", "--on", "2026-03-03")[0] == 0
    assert orderbook("ledger", folder, "R-007", "--export", tmp_path / "r7.csv")[0] == 0
    assert orderbook("ledger", folder, "--export", tmp_path / "all.csv")[0] == 0
    written = [*where.glob("*.csv"), *(tmp_path / "sheets").glob("*.csv"), tmp_path / "r7.csv", tmp_path / "all.csv"]
    assert len(written) > 10
    for path in written:
        assert _formulas(path.read_text(encoding="utf-8-sig")) == [], path.name
    assert tables_in(where)["Orders"][0].get("item") == "=cmd|' /C calc'!A0"  # and comes back as it was


# ---- the calendar ---------------------------------------------------------------------------------------------------


def test_the_days_are_a_calendar_another_program_reads(workbook: Path, tmp_path: Path, orderbook: Say) -> None:
    vobject = pytest.importorskip("vobject")
    orderbook("order", workbook, "R-007", "--mark", "ordered", "--on", "2026-03-03")
    from orderbook.book.book import Book

    Book(workbook).update("Restorations", "R-007", {"review_on": date(2026, 4, 1)})
    Book(workbook).update(
        "Orders",
        "O-0002",
        {
            "state": "received",
            "ordered_on": ON,
            "received_on": ON,
            "return_by": date(2026, 3, 31),
            "note": "ü; ,\\ \n" + "long " * 40,
        },
    )
    target = tmp_path / "days.ics"
    status, said, _ = orderbook("export", workbook, "--calendar", target, "--on", "2026-03-03")
    assert (status, "3 days" in said) == (0, True)
    days = {str(e.summary.value): e.dtstart.value for e in vobject.readOne(target.read_text()).vevent_list}
    assert days == {
        "O-0001 should come": date(2026, 3, 7),
        "Last day to send O-0002 back": date(2026, 3, 31),
        "Look again at R-007": date(2026, 4, 1),
    }
    raw = target.read_bytes()
    assert raw.startswith(b"BEGIN:VCALENDAR\r\n")  # RFC 5545, 3.1: CRLF, lines of at most 75 octets
    assert raw.replace(b"\r\n", b"").count(b"\n") == 0
    assert max(len(line) for line in raw.split(b"\r\n")) <= 75
    uids = re.findall(rb"UID:(.*)\r", raw)
    assert len(set(uids)) == 3
    assert raw.count(b"DTSTAMP:") == 3
    assert orderbook("export", workbook, "--calendar", target, "--on", "2026-03-04")[0] == 0  # written again
    assert re.findall(rb"UID:(.*)\r", target.read_bytes()) == uids
    target.write_text("BEGIN:VCALENDAR of somebody else")
    with pytest.raises(OrderbookError) as raised:
        export(workbook, on=ON, calendar=target)
    assert raised.value.code == "calendar_not_ours"


# ---- photographs ----------------------------------------------------------------------------------------------------


def _jpeg(size: tuple[int, int] = (40, 30)) -> bytes:
    from PIL import Image

    page = BytesIO()
    exif = Image.Exif()
    exif[0x010E] = "taken at home"
    Image.new("RGB", size, (200, 10, 10)).save(page, "JPEG", exif=exif)
    return page.getvalue()


def test_photographs_come_from_the_folder_beside_the_book_and_tell_no_place(tmp_path: Path) -> None:
    book = tmp_path / "clocks.xlsx"
    folder = folder_beside(book)
    (folder / "more").mkdir(parents=True)
    (folder / "a.jpg").write_bytes(_jpeg())
    (folder / "more" / "b.png").write_bytes(_jpeg((3000, 2000)))
    found, told = photographs(book, ["a.jpg", "more/b.png", "missing.jpg"])
    assert set(found) == {"a.jpg", "more/b.png"}
    assert [f.where for f in told] == ["missing.jpg"]
    import base64

    for picture in found.values():
        data = base64.b64decode(picture.data_uri.partition(",")[2])
        assert b"taken at home" not in data
        assert len(data) < 200_000


@pytest.mark.parametrize(
    "name", ["../secret.jpg", "/etc/hostname", "..\\secret.jpg", "link.jpg", "C:\\x.jpg", "a\0b", "."]
)
def test_a_photograph_never_comes_from_elsewhere(name: str, tmp_path: Path) -> None:
    book = tmp_path / "clocks.xlsx"
    folder_beside(book).mkdir()
    (tmp_path / "secret.jpg").write_bytes(_jpeg())
    (folder_beside(book) / "link.jpg").symlink_to(tmp_path / "secret.jpg")
    found, told = photographs(book, [name])
    assert found == {}
    assert [f.code for f in told] == ["photograph_not_shown"]


def test_what_is_no_picture_or_unpacks_into_far_more_is_not_shown(tmp_path: Path) -> None:
    import struct
    import zlib

    book = tmp_path / "clocks.xlsx"
    folder = folder_beside(book)
    folder.mkdir()
    (folder / "text.jpg").write_bytes(b"not a picture")
    (folder / "svg.jpg").write_bytes(b"<svg xmlns='http://www.w3.org/2000/svg' onload='alert(1)'/>")
    (folder / "cut.jpg").write_bytes(_jpeg()[:200])

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    (folder / "bomb.png").write_bytes(
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 1000))
    )
    names = ["text.jpg", "svg.jpg", "cut.jpg", "bomb.png"]
    found, told = photographs(book, names)
    assert found == {}
    assert [f.where for f in told] == names
