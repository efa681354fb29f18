"""Parcels, totals, the two copies and the calendar as methods of a book, and as commands that say the same."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from orderbook import Book, OrderbookError
from orderbook.book.opened import opened
from orderbook.cli.spelling import in_flags
from orderbook.errors import speaking
from orderbook.records.accounts import account
from orderbook.records.rows import Append

Say = Callable[..., tuple[int, str, str]]
ON = "2026-03-03"
VERBS: dict[str, tuple[list[object], Callable[[Book, Path], Any]]] = {
    "order of a supplier": (["order", "--to", "supplier north"], lambda b, _: b.order(to="Supplier North", on=ON)),
    "ledger of all": (["ledger"], lambda b, _: b.ledger(on=ON)),
    "ledger of days": (
        ["ledger", "--since", "2026-01-01", "--until", "2026-12-31"],
        lambda b, _: b.ledger(since="2026-01-01", until="2026-12-31", on=ON),
    ),
    "estimate": (["record", "R-007", "--estimate", "--into", "papers"],
                 lambda b, p: b.record("R-007", estimate=True, into=p, on=ON)),
    "owner's copy": (["record", "R-007", "--only", "owner", "--into", "papers"],
                     lambda b, p: b.record("R-007", only="owner", into=p, on=ON)),
    "calendar": (["export", "--calendar", "days.ics"], lambda b, p: b.export(calendar=p.with_name("days.ics"), on=ON)),
}  # fmt: skip


@pytest.mark.parametrize("verb", VERBS)
def test_the_command_says_what_the_method_answers(
    verb: str, folder: Path, tmp_path: Path, orderbook: Say, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (name, *words), call = VERBS[verb]
    for as_json in (False, True):
        status, out, err = orderbook(name, folder, *words, "--on", ON, *(["--json"] if as_json else []))
        with speaking(in_flags):
            answer = call(Book(folder), Path("papers"))
            told = json.loads(json.dumps(answer.as_dict())) if as_json else f"{answer}\n"
        assert (err, json.loads(out) if as_json else out) == ("", told)
        assert status == int(any(f.severity == "error" for f in getattr(answer, "findings", ())))
        assert len(answer.to_frame()) == len(answer.shown_rows())


def test_a_parcel_is_ordered_and_comes_by_its_supplier_and_by_its_number(folder: Path) -> None:
    book = Book(folder)
    line = {"restoration": "R-007", "supplier": "Supplier North", "qty": 1, "price": 3, "currency": "GBP",
            "trigger": "now", "state": "planned"}  # fmt: skip
    book.append("Orders", line | {"order": "O-0091", "item": "pins"}, line | {"order": "O-0092", "item": "washers"})
    shown = book.order(to="Supplier North", on=ON)
    due = [x.line.order for sheet in shown.sheets for x in sheet.lines]
    assert {"O-0091", "O-0092"} <= set(due)
    assert shown.changes == ()
    with speaking(in_flags):
        assert 'When it has gone out: orderbook order BOOK --to "Supplier North" --mark ordered' in str(shown)
    assert "When it has gone out: Book.order(to='Supplier North', mark='ordered')" in str(shown)
    assert book.order(to="Supplier North", mark="ordered", on=ON).marked == "ordered"
    number = str(book.row("Orders", due[0])["parcel"])
    sent = book.order(number, on=ON)
    assert [x.line.order for sheet in sent.sheets for x in sheet.lines] == due
    assert "When it has gone out" not in str(sent)
    book.order(number, mark="received", on="2026-03-09")
    assert {book.row("Orders", line)["state"] for line in due} == {"received"}


@pytest.mark.parametrize(
    ("call", "code"),
    [
        (lambda b: b.order(), "order_of_what"),
        (lambda b: b.order(to="Supplier Nowhere"), "not_in_the_book"),
        (lambda b: b.order("P-0099"), "not_in_the_book"),
        (lambda b: b.order("R-007", again=True), "order_lines_missing"),
        (lambda b: b.order("R-007", pieces=2), "pieces_not_possible"),
        (lambda b: b.ledger("R-007", since=ON), "span_of_one_piece"),
        (lambda b: b.ledger(since="2026-03-04", until=ON), "span_backwards"),
        (lambda b: b.ledger(until="soon"), "date_not_read"),
        (lambda b: b.record("R-007", only="museum"), "edition_not_known"),
        (lambda b: b.export(), "export_of_what"),
    ],
)
def test_what_does_not_go_together_is_said(call: Callable[[Book], Any], code: str, folder: Path) -> None:
    before = {path: path.read_bytes() for path in folder.iterdir()}
    with pytest.raises(OrderbookError) as stopped:
        call(Book(folder))
    assert stopped.value.code == code
    assert {path: path.read_bytes() for path in folder.iterdir()} == before


def test_a_stray_blank_or_dash_is_left_out_by_sheet_and_command_alike_until_it_is_mended(
    workbook: Path, orderbook: Say
) -> None:
    before = account(opened(workbook).books, "R-007", on=opened(workbook).books.ledger[0].date)  # type: ignore[arg-type]
    row = {"category": "part", "kind": "paid", "amount": 10, "currency": "GBP"}
    strays = ("R–007", " R-007", "R-007 ")
    opened(workbook).save([Append("Ledger", row | {"restoration": stray}) for stray in strays])
    _, out, _ = orderbook("check", workbook, "--on", ON)
    assert "the sheet says" not in out  # the sheet's own sums leave them out too
    found = Book(workbook).ledger("R-007", on=ON)
    named = [f for f in found.findings if "letter by letter" in f.saw]
    assert len(named) == len(strays)
    assert found.total == before.total
    orderbook("check", workbook, "--fix", "--on", ON)
    mended = Book(workbook).ledger("R-007", on=ON)
    assert mended.as_dict()["total"]["paid"] == f"{before.total.paid / 100 + 30:.2f}"
    _, out, _ = orderbook("check", workbook, "--on", ON)
    assert "the sheet says" not in out
