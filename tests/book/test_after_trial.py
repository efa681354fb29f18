"""What `trial` answers: the need before and after, the next action; and never a lost verdict."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from orderbook import Book

Say = Callable[..., tuple[int, str, str]]
VERDICT = ("too weak", "--barrel", "R-007-B2", "--clicks", 6, "--on", "2026-03-18", "--json")
OF_B2 = ("--barrel", "R-007-B2", "--clicks", 6)


@pytest.fixture
def demo(tmp_path: Path, demo_bytes: bytes) -> Path:
    path = tmp_path / "demo.xlsx"
    path.write_bytes(demo_bytes)
    return path


def last_verdict(book: Path) -> tuple[object, object]:
    row = Book(book).rows("Trials")[-1]
    return row["order"], row["verdict"]


def test_a_spring_that_has_come_is_the_next_to_fit(demo: Path, orderbook: Say) -> None:
    orderbook("order", demo, "R-007", "O-0005", "O-0006", "--mark", "received", "--on", "2026-03-28")
    status, out, _ = orderbook("trial", demo, "O-0005", "too weak", "--clicks", 6, "--on", "2026-03-29", "--json")
    assert status == 0
    answer = json.loads(out)["answer"]
    before, after = answer["need_before"], answer["need_after"]
    assert before["median"] < after["median"]
    assert before["low"] < after["low"]
    assert all(n["low"] < n["median"] < n["high"] for n in (before, after))
    # more set-up of the spring that is in costs nothing, and comes before the next spring
    assert answer["next_action"].startswith("First, it costs nothing: set up ")
    assert "fit D-0004 from the drawer" in answer["next_action"]
    steps = {(step["kind"], step["about"]) for step in json.loads(out)["next"]}
    assert ("try", "D-0004") in steps  # and not a stronger one that has come too
    assert ("try", "O-0006") not in steps
    assert json.loads(out)["refreshed"]
    kept = next(row for row in Book(demo).rows("Answers") if row["barrel"] == "R-007-B2")
    assert float(kept["need"]) == pytest.approx(after["median"], rel=0.02)  # what the book keeps follows the verdict


def test_readings_that_cannot_be_lose_no_verdict(demo: Path, orderbook: Say) -> None:
    book = Book(demo)
    for row in book.rows("Readings"):
        if (row["barrel"], row["what"]) == ("R-007-B2", "arbor"):
            book.update("Readings", row, {"value": 99})
    status, out, _ = orderbook("trial", demo, "D-0004", *VERDICT)
    told = json.loads(out)
    assert status == 0
    assert told["answer"] is None
    assert [f["code"] for f in told["findings"]] == ["need_not_worked_out"]
    assert told["next"]  # by the rules of the books
    assert last_verdict(demo) == ("D-0004", "too weak")


def test_a_spring_without_a_size_is_answered_by_the_rules_of_the_books(demo: Path, orderbook: Say) -> None:
    Book(demo).update("Drawer", "D-0004", {"strength_mm": None})
    status, out, _ = orderbook("trial", demo, "D-0004", *VERDICT)
    told = json.loads(out)
    assert (status, told["answer"], told["findings"]) == (0, None, [])
    assert last_verdict(demo) == ("D-0004", "too weak")


def test_a_folder_of_tables_is_answered_by_the_rules_of_the_books(folder: Path, orderbook: Say) -> None:
    status, out, _ = orderbook(
        "trial", folder, "D-0004", "too weak", "--barrel", "R-007-B1", "--on", "2026-03-12", "--json"
    )
    assert status == 0
    assert json.loads(out)["answer"] is None
    assert json.loads(out)["next"]


def test_what_the_trial_says_is_what_the_book_holds_and_grade_answers(demo: Path, orderbook: Say) -> None:
    orderbook("order", demo, "R-007", "O-0005", "O-0006", "--mark", "received", "--on", "2026-03-28")
    orderbook("trial", demo, "O-0005", "too weak", "--clicks", 6, "--on", "2026-03-29")
    _, out, _ = orderbook("trial", demo, "D-0004", "too weak", *OF_B2, "--on", "2026-04-05", "--json")
    answer = json.loads(out)["answer"]
    steps = {(step["kind"], step["about"]) for step in json.loads(out)["next"]}
    assert ("try", "O-0006") in steps
    assert "fit O-0006 (Supplier East clock spring 36, 36 × 0.39 × 2450)" in answer["next_action"]
    stages = [row for row in Book(demo).rows("Stages") if row["barrel"] == "R-007-B2"]
    graded = Book(demo).grade("R-007-B2").as_dict()["stages"]
    assert [row["item"] for row in stages] == [stage["item"] for stage in graded]
    assert stages[0]["item"] == "O-0006"


def test_a_spring_that_has_come_is_not_planned_again(demo: Path, orderbook: Say) -> None:
    orderbook("order", demo, "R-007", "O-0005", "O-0006", "--mark", "received", "--on", "2026-03-28")
    orderbook("trial", demo, "O-0005", "too weak", "--clicks", 6, "--on", "2026-03-29")
    orderbook("trial", demo, "D-0004", "too weak", *OF_B2, "--on", "2026-04-05")
    before = len(Book(demo).rows("Orders"))
    orderbook("order", demo, "R-007", "--on", "2026-03-29")
    orders = Book(demo).rows("Orders")
    stages = [row for row in Book(demo).rows("Stages") if row["barrel"] == "R-007-B2"]
    assert stages[0]["found_in"] == "received"
    assert {row["supplier"] for row in orders[before:]} <= {"Supplier North", "Supplier East"}
    assert not [row for row in orders[before:] if row["item"] in ("O-0005", "O-0006")]
    assert [row["trigger"] for row in orders[before:] if row["barrel"] == "R-007-B2"][:1] in (
        [], ["if O-0006 is too weak"]
    )  # fmt: skip
