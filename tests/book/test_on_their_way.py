"""What was ordered for a barrel is tried before more is planned for it."""

import shutil
from pathlib import Path

from orderbook import Book

ON = "2026-03-20"


def test_nothing_more_is_planned_while_springs_are_on_their_way(demo_book: Path, tmp_path: Path) -> None:
    book = Book(shutil.copy(demo_book, tmp_path))
    book.refresh()
    assert [f.saw for f in book.grade("R-007-B2").findings if f.code == "springs_on_their_way"] == [
        "O-0005, O-0006 for R-007-B2 ordered and not come yet"
    ]
    assert "springs_on_their_way" not in {f.code for f in book.grade("R-007-B1").findings}
    before = len(book["Orders"])
    answer = book.order("R-007", on=ON)
    assert [o for o in book.rows("Orders")[before:] if o["barrel"] == "R-007-B2"] == []
    assert "springs_on_their_way" in {one.code for one in answer.findings}
    book.order("R-007", "O-0005", "O-0006", mark="lost", on=ON)
    book.refresh()
    book.order("R-007", on=ON)
    assert [o for o in book.rows("Orders")[before:] if o["barrel"] == "R-007-B2"]
