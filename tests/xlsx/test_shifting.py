"""A formula filled down, against a library that shares nothing with ours."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.formula.translate import Translator

from orderbook.xlsx.shifting import shifted

MARK = st.sampled_from(["", "$"])
COLUMN, ROW = st.sampled_from(["D", "Z", "AA", "AZ", "BC", "XFA"]), st.integers(5, 1_000_000).map(str)
CELL = st.tuples(MARK, COLUMN, MARK, ROW).map("".join)
AREA = st.tuples(CELL, CELL).map(":".join)
ROWS = st.tuples(st.tuples(MARK, ROW).map("".join), st.tuples(MARK, ROW).map("".join)).map(":".join)
SHEET = st.sampled_from(["", "Other!", "'Work bench'!", "'A1 is ours'!", "'it''s D5'!"])
REFERENCE = st.tuples(SHEET, CELL | AREA | ROWS).map("".join)
OTHER = st.sampled_from(
    ['"D5 and ""E6"""', "1.5", "2E5", "TRUE", "LOG10(7)", "Orders[[#This Row],[D5]]", "Orders[Price]", "D5_total"]
)


@given(st.lists(REFERENCE | OTHER, min_size=1, max_size=4), st.integers(-4, 40), st.integers(-3, 3))
def test_a_formula_moves_as_the_library_moves_it(pieces: list[str], down: int, right: int) -> None:
    formula = "+".join(pieces)
    there = f"{'ABCDEFG'[3 + right]}{10 + down}"
    assert "=" + shifted(formula, down, right) == Translator("=" + formula, "D10").translate_formula(there)


@pytest.mark.parametrize(
    ("formula", "down", "right"), [("A1", -1, 0), ("A1:B2", 0, -1), ("XFD3", 0, 1), ("5:1048576", 1, 0)]
)
def test_what_leaves_the_sheet_is_no_reference(formula: str, down: int, right: int) -> None:
    assert shifted(formula, down, right) == "#REF!"


def test_what_is_fixed_stays() -> None:
    assert shifted("$A$1:$B$2+$3:$4+$A:$B", 7, 7) == "$A$1:$B$2+$3:$4+$A:$B"
