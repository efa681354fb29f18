"""One call of a worksheet function, whatever stands in the cells."""

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orderbook.addin.calc.helper import without_zeros
from orderbook.functions.call import LINE, MOST_ROWS, answer
from orderbook.functions.table import FUNCTIONS, Example, verb_of

CELL = st.one_of(
    st.none(), st.booleans(), st.floats(), st.text(max_size=8), st.sampled_from(["#N/A", "12 thou", "34,02", "=1+1"])
)
RANGE = st.integers(1, 3).flatmap(
    lambda width: st.lists(st.lists(CELL, min_size=width, max_size=width), min_size=1, max_size=4)
)
ANSWERED = [name for name, function in FUNCTIONS.items() if function.example]


@given(name=st.sampled_from(sorted(FUNCTIONS)), values=st.lists(st.one_of(CELL, RANGE), max_size=12))
def test_nothing_a_user_types_raises_or_spoils_a_cell(name, values):
    found = answer(name, values)
    cells = [cell for row in found for cell in row] if isinstance(found, list) else [found]
    assert len({len(row) for row in found}) == 1 if isinstance(found, list) else True
    for cell in cells:
        assert cell is None or isinstance(cell, (float, str, bool))
        assert not isinstance(cell, float) or abs(cell) < float("inf")
        if isinstance(cell, str) and cell.startswith("#"):
            assert len(cell) <= LINE
            assert "\n" not in cell
            assert "failed inside" not in cell


@pytest.mark.parametrize("name", ANSWERED)
def test_example_answers(name):
    example: Example = FUNCTIONS[name].example
    assert round(answer(name, example.arguments), example.places) == example.answer


@pytest.mark.parametrize("name", ANSWERED)
def test_a_cell_gives_what_the_verb_gives(name):
    """The worksheet and Python are the same function: exactly the same number."""
    function = FUNCTIONS[name]
    keywords = dict(zip([a.keyword for a in function.arguments], function.example.arguments, strict=False))
    assert answer(name, function.example.arguments) == verb_of(name)(**keywords)


@pytest.mark.parametrize("name", [n for n in ANSWERED if FUNCTIONS[n].by_column and not FUNCTIONS[n].block])
def test_a_column_gives_what_its_rows_give(name):
    function = FUNCTIONS[name]
    rows = [[value * (1 + 0.01 * k) if n == 1 else value for n, value in enumerate(function.example.arguments)]
            for k in range(4)]  # fmt: skip
    columns = [
        [[row[n]] for row in rows] if not function.arguments[n].one_value else value
        for n, value in enumerate(function.example.arguments)
    ]
    together = [row[0] for row in answer(name, columns)]
    assert together == pytest.approx([answer(name, row) for row in rows], rel=1e-9)


def test_an_empty_cell_for_an_optional_argument_is_left_out():
    given = [11.4, 2.4, 12.74]
    assert (
        answer("SPRING_STRENGTH", [*given, None])
        == answer("SPRING_STRENGTH", [*given, ""])
        == answer("SPRING_STRENGTH", given)
    )


def test_calc_hands_an_empty_cell_over_as_zero():
    assert without_zeros("SPRING_STRENGTH", [11.4, 2.4, 12.74, 0.0]) == [11.4, 2.4, 12.74, None]
    assert without_zeros("DRIVE_INDEX", [1.0] * 6 + [0.0]) == [1.0] * 6 + [0.0]  # no set-up at all has a meaning


def test_numbers_kept_as_text_are_read_as_people_write_them():
    assert answer("SPRING_TURNS", ["11,4", "2.4 mm", " 0.105", 464.507]) == answer(
        "SPRING_TURNS", [11.4, 2.4, 0.105, 464.507]
    )


def test_an_error_line_passes_through_to_the_cell_that_uses_it():
    first = answer("SPRING_LENGTH", [2.0, 3.0, 0.1])
    assert first.startswith("#arbor: 3 mm does not go into the bore (2 mm)")
    assert answer("SPRING_TURNS", [11.4, 2.4, 0.1, first]) == first


def test_too_many_and_unknown():
    assert answer("LENGTH_MM", ["1 in"] * 3) == "#LENGTH_MM: 3 arguments. LENGTH_MM(text)"
    assert answer("NO_SUCH", []).startswith("#NO_SUCH: this version of orderbook has no such function")


def test_a_block_where_a_column_is_wanted():
    assert answer("SPRING_TURNS", [[[1.0, 2.0], [3.0, 4.0]], 2.4, 0.1, 400.0]).startswith(
        "#bore: a range of 2 × 2 cells"
    )


def test_whole_columns_are_refused_and_quickly():
    column = [[1.0]] * (MOST_ROWS + 1)
    begin = time.monotonic()
    assert answer("SPRING_TURNS", [column, column, column, column]).startswith("#SPRING_TURNS: 200,001 rows")
    assert time.monotonic() - begin < 2


def test_one_bad_row_in_many_is_found_without_calling_each():
    """Halving: 10,000 rows with three bad ones need a few dozen calls, not 10,000."""
    bore = [[11.4] for _ in range(10_000)]
    for n in (17, 5000, 9999):
        bore[n] = [1.0]
    answers = answer("SPRING_TURNS", [bore, 2.4, 0.105, 464.507])
    assert [n for n, (cell,) in enumerate(answers) if isinstance(cell, str)] == [17, 5000, 9999]
