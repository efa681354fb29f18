"""The whole walk of one graded order, by commands and by typing, ending with the same tables."""

from datetime import date
from decimal import Decimal

from orderbook.records.accounts import account
from orderbook.records.books import Books, books_from, plain
from orderbook.records.checks import checked
from orderbook.records.marking import marked, tried
from orderbook.records.nextsteps import next_steps
from orderbook.records.rows import Append, Put
from orderbook.records.stages import standing
from tests.records.conftest import invented_rows

D = date


def by_commands(books: Books) -> Books:
    books = marked(books, "ordered", ["O-0001"], on=D(2026, 3, 3)).books
    books = marked(books, "received", ["O-0001"], on=D(2026, 3, 9)).books
    books = tried(books, "O-0001", "too weak", on=D(2026, 3, 12), clicks=7, seen="slowed after 5 days").books
    books = marked(books, "ordered", ["O-0002"], on=D(2026, 3, 13)).books
    books = marked(books, "received", ["O-0002"], on=D(2026, 3, 17)).books
    books = tried(books, "O-0002", "ran well", on=D(2026, 3, 25), clicks=7).books
    return marked(books, "returned", ["O-0001"], on=D(2026, 3, 26)).books


def by_typing(books: Books) -> Books:
    """Every cell as a person would type it, in every table, with no bookkeeping of ours."""
    row = {line.order: line.row.place.row for line in books.orders}
    spring = {"restoration": "R-007", "currency": "GBP"}
    # the day it was paid: the day it came
    first = {**spring, "date": D(2026, 3, 9), "order": "O-0001", "note": "Supplier North N 37/43"}
    second = {**spring, "date": D(2026, 3, 17), "order": "O-0002", "note": "Supplier North N 37/45"}
    typed = [
        Put("Orders", row["O-0001"], {"state": "returned", "ordered_on": D(2026, 3, 3), "expected": D(2026, 3, 7),
                                      "postage": "4.50", "received_on": D(2026, 3, 9), "qty_received": 1}),
        Put("Orders", row["O-0002"], {"state": "fitted", "ordered_on": D(2026, 3, 13), "expected": D(2026, 3, 17),
                                      "postage": "4,50", "received_on": D(2026, 3, 17), "qty_received": 1}),
        Put("Orders", row["O-0003"], {"state": "cancelled"}),
        Append("Trials", {"order": "O-0001", "barrel": "R-007-B1", "date": D(2026, 3, 12), "verdict": "too weak",
                          "clicks": 7, "seen": "slowed after 5 days"}),
        Append("Trials", {"order": "O-0002", "barrel": "R-007-B1", "date": D(2026, 3, 25), "verdict": "ran well",
                          "clicks": 7}),
        Append("Ledger", {**first, "category": "spring", "kind": "paid", "amount": "6.40"}),
        Append("Ledger", {**first, "category": "postage", "kind": "paid", "amount": "4.50"}),
        Append("Ledger", {**second, "category": "spring", "kind": "paid", "amount": "6.60"}),
        Append("Ledger", {**second, "category": "postage", "kind": "paid", "amount": "4.50"}),
        Append("Ledger", {**first, "date": D(2026, 3, 26), "category": "spring", "kind": "credit", "amount": "6.40",
                          "note": "Supplier North N 37/43 returned"}),
    ]  # fmt: skip
    return books.after(typed)


def test_commands_and_typing_end_with_the_same_tables(books: Books) -> None:
    assert plain(by_commands(books)) == plain(by_typing(books))


def test_typing_states_alone_and_fixing_ends_the_same(books: Books) -> None:
    row = {line.order: line.row.place.row for line in books.orders}

    def fixed(book: Books, on: date) -> Books:
        return book.after([step.change for step in checked(book, on=on).fixes])

    book = books.after(
        [Put("Orders", row["O-0001"], {"state": "ordered", "ordered_on": D(2026, 3, 3), "postage": 4.5})]
    )
    book = fixed(book, D(2026, 3, 3))
    book = book.after(
        [
            Put("Orders", row["O-0001"], {"state": "received", "received_on": D(2026, 3, 9), "qty_received": 1}),
            Append("Trials", {"order": "O-0001", "barrel": "R-007-B1", "date": D(2026, 3, 12), "verdict": "too weak",
                              "clicks": 7, "seen": "slowed after 5 days"}),
            Put("Orders", row["O-0002"], {"state": "ordered", "ordered_on": D(2026, 3, 13), "postage": 4.5}),
        ]
    )  # fmt: skip
    book = fixed(book, D(2026, 3, 13))
    book = book.after(
        [
            Put("Orders", row["O-0002"], {"state": "received", "received_on": D(2026, 3, 17), "qty_received": 1}),
            Append("Trials", {"order": "O-0002", "barrel": "R-007-B1", "date": D(2026, 3, 25), "verdict": "ran well",
                              "clicks": 7}),
            Put("Orders", row["O-0001"], {"state": "returned"}),
        ]
    )  # fmt: skip
    book = fixed(book, D(2026, 3, 26))
    assert plain(book) == plain(by_commands(books))
    assert checked(book, on=D(2026, 3, 26)).fixes == ()


def test_a_verdict_fires_the_next_stage_and_no_other(books: Books) -> None:
    stage_2, stage_3 = books.order("O-0002"), books.order("O-0003")
    assert standing(books, stage_2).due == "waits"
    book = marked(books, "ordered", ["O-0001"], on=D(2026, 3, 3)).books
    book = marked(book, "received", ["O-0001"], on=D(2026, 3, 9)).books
    book = tried(book, "O-0001", "Too weak", on=D(2026, 3, 12)).books
    assert standing(book, book.order("O-0002")).due == "due"
    assert standing(book, stage_3).due == "waits"
    to_do = [(step.kind, step.about) for step in next_steps(book, on=D(2026, 3, 12), restoration="R-007")]
    assert ("order", "O-0002") in to_do
    assert ("waits", "O-0003") in to_do


def test_account_after_the_walk(books: Books) -> None:
    sums = account(by_commands(books), "R-007", on=D(2026, 3, 26))
    spring, postage, labour = (sums.by_category[c] for c in ("spring", "postage", "labour"))
    # by hand: 6.40 + 6.60 paid, 6.40 back; two parcels of 4.50; 1.5 h × 38.00
    assert (spring.estimate, spring.committed, spring.paid, spring.credit) == (12000, 0, 1300, 640)
    assert (postage.paid, postage.credit) == (900, 0)
    assert (labour.estimate, labour.labour, sums.labour_hours) == (48000, 5700, Decimal("1.5"))
    assert sums.total.balance == 12000 + 48000 - 1300 + 640 - 900 - 5700
    assert sums.by_barrel["R-007-B1"].paid == 1300 + 900
    assert sums.not_added == ()


def test_the_invented_book_is_clean(rows: dict) -> None:  # type: ignore[type-arg]
    assert checked(books_from(rows), on=D(2026, 2, 21)).findings == ()


def test_a_spring_of_the_drawer_has_its_turn_before_the_line_that_waits_for_it() -> None:
    rows = invented_rows()
    rows["Barrels"].append({"barrel": "R-007-B9", "restoration": "R-007", "train": "striking"})
    rows["Orders"][1] |= {"trigger": "if D-0004 is too weak", "state": "received", "qty_received": 1}
    rows["Orders"][2]["state"] = "cancelled"
    # too weak in another barrel says nothing of this one
    rows["Trials"] = [{"order": "D-0004", "barrel": "R-007-B9", "verdict": "too weak", "date": D(2026, 3, 1)}]
    books = books_from(rows)

    def to_try(books: Books) -> list[str]:
        return [s.about for s in next_steps(books, on=D(2026, 3, 12), restoration="R-007") if s.kind == "try"]

    assert to_try(books) == []  # the weaker one of the list comes first
    books = marked(books, "ordered", ["O-0001"], on=D(2026, 3, 3)).books
    books = marked(books, "received", ["O-0001"], on=D(2026, 3, 9)).books
    assert to_try(books) == ["O-0001"]
    books = tried(books, "O-0001", "too weak", on=D(2026, 3, 12)).books
    assert to_try(books) == ["D-0004"]
    books = tried(books, "D-0004", "too weak", on=D(2026, 3, 12), barrel="R-007-B1").books
    assert to_try(books) == ["O-0002"]
