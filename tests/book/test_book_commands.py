"""The commands on a book, kept as a folder of CSV files or as a workbook."""

import json
from collections.abc import Callable
from pathlib import Path

from orderbook.book.opened import opened
from orderbook.records.books import plain

Say = Callable[..., tuple[int, str, str]]


def walk(book: Path, orderbook: Say) -> None:
    steps = (
        ("order", book, "R-007", "--mark", "ordered", "--on", "2026-03-03"),
        ("order", book, "R-007", "O-0001", "--mark", "received", "--on", "2026-03-09"),
        ("trial", book, "O-0001", "too weak", "--clicks", 7, "--note", "slowed after 5 days", "--on", "2026-03-12"),
        ("order", book, "r-007", "--mark", "ordered", "--on", "2026-03-13"),
        ("order", book, "R-007", "o-0002", "--mark", "received", "--on", "2026-03-17"),
        ("trial", book, "O-0002", "Ran well", "--clicks", 7, "--on", "2026-03-25"),
        ("order", book, "R-007", "O-0001", "--mark", "returned", "--on", "2026-03-26"),
    )
    for step in steps:
        status, _, err = orderbook(*step)
        assert (status, err) == (0, "")


def _files(book: Path) -> list[Path]:
    return sorted(book.iterdir()) if book.is_dir() else [book]


def test_a_due_stage_is_on_the_sheet_and_a_later_one_is_not(book: Path, orderbook: Say) -> None:
    status, out, _ = orderbook("order", book, "R-007", "--on", "2026-03-03")
    assert status == 0
    sheet, _, rest = out.partition("Not on a sheet")
    assert "N 37/43" in sheet
    assert "N 37/45" not in sheet
    assert "O-0002" in rest
    assert "A wound spring can injure" in out


def test_the_walk_by_commands(book: Path, orderbook: Say) -> None:
    walk(book, orderbook)
    states = {line.order: line.state for line in opened(book).books.orders}
    assert states == {"O-0001": "returned", "O-0002": "fitted", "O-0003": "cancelled"}
    status, out, _ = orderbook("ledger", book, "R-007", "--json", "--on", "2026-03-26")
    assert status == 0
    spring = json.loads(out)["categories"]["spring"]
    assert (spring["paid"], spring["credit"], spring["committed"]) == ("13.00", "6.40", "0.00")
    status, out, _ = orderbook("check", book, "--on", "2026-03-26")
    assert (status, out) == (0, "The book is in order.\n")


def test_an_impossible_mark_changes_nothing(book: Path, orderbook: Say) -> None:
    before = {path.name: path.read_bytes() for path in _files(book)}
    status, _, err = orderbook("order", book, "R-007", "O-0001", "O-0002", "--mark", "received")
    assert status == 2
    assert "O-0001 is planned and cannot be received next" in err
    assert {path.name: path.read_bytes() for path in _files(book)} == before


def test_export_is_a_book_again(book: Path, tmp_path: Path, orderbook: Say) -> None:
    walk(book, orderbook)
    assert orderbook("export", book, tmp_path / "out")[0] == 0
    assert plain(opened(tmp_path / "out").books) == plain(opened(book).books)


def test_order_sheets_as_files(book: Path, tmp_path: Path, orderbook: Say) -> None:
    orderbook("order", book, "R-007", "--into", tmp_path / "sheets", "--on", "2026-03-03")
    text = (tmp_path / "sheets" / "order-r-007-supplier-north-gbp.txt").read_text(encoding="utf-8")
    assert "Goods 6.40 GBP, postage 4.50 GBP; in all 10.90 GBP." in text
    assert (tmp_path / "sheets" / "order-r-007-supplier-north-gbp.csv").exists()
    page = (tmp_path / "sheets" / "order-r-007-supplier-north-gbp.html").read_text(encoding="utf-8")
    assert "<td>N 37/43</td>" in page
    assert "10.90" in page
    assert "N 37/45" not in page


def test_graded_order_from_a_file_becomes_planned_stages(book: Path, tmp_path: Path, orderbook: Say) -> None:
    stages = {
        "stages": [
            {"stage": 1, "supplier": "drawer", "item": "D-0004", "width_mm": 37.6, "strength_mm": 0.419,
             "length_mm": 2480, "price": None, "currency": ""},
            {"stage": 2, "supplier": "Supplier East", "item": "E-3645", "width_mm": 36.0, "strength_mm": 0.45,
             "length_mm": 2300, "price": "7.90", "currency": "EUR"},
            {"stage": 3, "supplier": "Supplier North", "item": "N 36/47", "width_mm": 36.0, "strength_mm": 0.47,
             "length_mm": 2300, "price": "6.55", "currency": "GBP"},
        ]
    }  # fmt: skip
    graded = tmp_path / "graded.json"
    graded.write_text(json.dumps(stages), encoding="utf-8")
    for _ in range(2):  # a second time nothing is planned twice
        assert orderbook("order", book, "R-007", "--stages", graded, "--barrel", "r-007-b2")[0] == 0
    planned = [o for o in opened(book).books.orders if o.barrel == "R-007-B2"]
    assert [(o.order, o.trigger) for o in planned] == [
        ("O-0004", "if D-0004 is too weak"),
        ("O-0005", "if stage 2 is too weak"),
    ]
    orderbook("trial", book, "D-0004", "too weak", "--barrel", "R-007-B2")
    _, out, _ = orderbook("next", book, "R-007", "--json")
    assert ("order", "O-0004") in {(step["kind"], step["about"]) for step in json.loads(out)["next"]}


def test_ledger_export_is_accepted_by_beancount(book: Path, tmp_path: Path, orderbook: Say) -> None:
    from beancount import loader

    walk(book, orderbook)
    target = tmp_path / "r7.beancount"
    assert orderbook("ledger", book, "R-007", "--export", target)[0] == 0
    _, errors, _ = loader.load_file(str(target))
    assert errors == []
    assert orderbook("ledger", book, "R-007", "--export", target)[0] == 2  # never written over
    assert orderbook("ledger", book, "R-007", "--export", tmp_path / "r7.csv")[0] == 0


def test_errors_are_one_line(book: Path, tmp_path: Path, orderbook: Say) -> None:
    for call in (
        ("ledger", book, "R-999"),
        ("ledger", tmp_path / "none", "R-007"),
        ("trial", book, "O-0001", "too weak"),
        ("trial", book, "O-0001", "good"),
        ("order", book, "R-007", "--mark", "received"),
        ("order", book, "R-008", "O-0001", "--mark", "ordered"),
        ("next", book, "R-999"),
        ("import", book, tmp_path / "none.csv", "--table", "Ledger"),
        ("import", book, tmp_path / "none.csv", "--table", "Ledgers"),
    ):
        status, out, err = orderbook(*call)
        assert (status, out, err.count("\n")) == (2, "", 1)
        assert err.startswith("orderbook: ")
