"""What answers are made from: whatever changes an answer changes its fingerprint, column by column."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orderbook.answers.answer import answer_about
from orderbook.answers.fingerprint import fingerprints, fingerprints_of, mark
from orderbook.book.answer_rows import answer_rows
from orderbook.errors import OrderbookError
from orderbook.records.books import STORED, Books, books_from
from orderbook.records.definition import Column
from orderbook.records.tables import RECORDS
from tests.answers.one_bench import FIRST, SECOND, bench, changed, changes

DAY = date(2026, 3, 12)


def answered(books: Books, barrel: str) -> Any:
    """Return everything refresh would store for a barrel, or what stands in its way."""
    try:
        return answer_rows(answer_about(books, barrel), DAY)
    except OrderbookError as problem:
        return str(problem)


@pytest.mark.parametrize(
    ("name", "number", "column"), [pytest.param(*c, id=f"{c[0]}-{c[1]}-{c[2].key}") for c in changes() if c[2].answers]
)
def test_each_cell_that_can_change_an_answer_is_in_a_fingerprint(name: str, number: int, column: Column) -> None:
    was = fingerprints(books_from(bench()))
    now = fingerprints(books_from(changed(name, number, column)))
    gone = (name, number) in (("Drawer", 0), ("Orders", 1))  # tried, and no longer at hand: only its size still counts
    if not gone or column.key in ("order", "width_mm", "strength_mm"):
        assert (now.inputs, now.lists) != (was.inputs, was.lists)


@pytest.mark.slow
@pytest.mark.parametrize("name", [name for name in RECORDS if name not in STORED])
def test_what_is_in_no_fingerprint_changes_no_answer(name: str) -> None:
    """Every other cell of a table gets another value, one by one where a value is not possible."""
    before, tables = books_from(bench()), bench()
    was = fingerprints(before)
    for table, number, column in changes():
        if table != name or column.key == "setting":
            continue
        new = changed(table, number, column)
        now = fingerprints(books_from(new))
        if (now.inputs, now.lists) == (was.inputs, was.lists):
            tables[name][number][column.key] = new[name][number][column.key]
    after = books_from(tables)
    assert (fingerprints(after).inputs, fingerprints(after).lists) == (was.inputs, was.lists)
    for barrel in (FIRST, SECOND):
        assert answered(after, barrel) == answered(before, barrel)


def test_the_bench_gives_both_barrels_an_order() -> None:
    books = books_from(bench())
    for barrel in (FIRST, SECOND):
        found = answered(books, barrel)
        assert isinstance(found, dict), found
        assert found["Stages"]


def test_only_the_barrels_concerned_change() -> None:
    was = fingerprints(books_from(bench()))
    tables = bench()
    tables["Trials"][0]["clicks"] = 3
    now = fingerprints(books_from(tables))
    assert now.lists == was.lists
    assert {b for b in was.inputs if now.inputs[b] != was.inputs[b]} == {FIRST}


def test_sorting_trials_changes_no_answer() -> None:
    tables = bench()
    tables["Trials"].reverse()
    assert answered(books_from(tables), FIRST) == answered(books_from(bench()), FIRST)


def test_sorting_a_table_changes_nothing() -> None:
    was = fingerprints(books_from(bench()))
    tables = {name: rows[::-1] for name, rows in bench().items()}
    now = fingerprints(books_from(tables))
    assert (now.inputs, now.lists) == (was.inputs, was.lists)


@pytest.mark.parametrize(("table", "key"), [("Catalogue", "price"), ("Weights", "value"), ("Readings", "value")])
def test_two_rows_that_change_places_in_one_column_do_show(table: str, key: str) -> None:
    was, tables = fingerprints(books_from(bench())), bench()
    first, second = tables[table][0], tables[table][{"Catalogue": 4, "Readings": 2}.get(table, 1)]
    first[key], second[key] = second[key], first[key]
    now = fingerprints(books_from(tables))
    assert (now.inputs, now.lists) != (was.inputs, was.lists)


@given(st.text(max_size=300))
def test_a_mark_is_the_sum_it_says(text: str) -> None:
    """Against the definition in words: the square of Σ code × ((7919n² + 104729n) mod 65521 + 1), modulo 299993."""
    total = sum(ord(c) * ((7919 * n * n + 104729 * n) % 65521 + 1) for n, c in enumerate(text, 1))
    assert mark(text) == (total % 299993) ** 2


def test_an_empty_book_has_a_fingerprint() -> None:
    assert fingerprints_of({}).lists == ".0.0.0.0.0"
