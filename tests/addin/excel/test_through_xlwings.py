"""Every worksheet function through xlwings' own generator, dispatcher and converters; only COM is replaced."""

import datetime as dt
import math
import re
import subprocess
import sys

import pytest

from orderbook.addin.excel.macro_text import UDF_MODULE, functions_module
from orderbook.functions import call as worksheet_call
from orderbook.functions.call import LINE, answer
from orderbook.functions.help_text import argument_help
from orderbook.functions.table import FUNCTIONS
from tests.addin.excel import com_stubs
from tests.addin.excel.com_stubs import ERRORS, LEFT_OUT, ExcelRange
from tests.functions.typed_calls import arguments_of, tables_of

SCALAR = [name for name, function in FUNCTIONS.items() if not function.block]
CELL_ERRORS = tuple(ERRORS.values())
WORD, BLANK, TRUTH, DAY = "word", None, True, dt.datetime(2026, 5, 1)
ROW, COLUMN, SQUARE = [[1.0, 2.0]], [[1.0], [2.0], [3.0]], [["a", None], [ERRORS["#N/A"], 2.0]]
WRONG = (*CELL_ERRORS, WORD, BLANK, TRUTH, DAY, ROW, COLUMN, SQUARE, [[None] * 3] * 3, -1.0, 0.0, 1e300)


@pytest.fixture(scope="module")
def xlwings():
    """Stub COM, import xlwings' Windows parts, and publish our module anew under them."""
    with com_stubs.published(UDF_MODULE) as (udfs, server):
        yield udfs, server.XLPython()


@pytest.fixture
def call(xlwings):
    """Call a function as the macro code in Excel does."""

    def called(name, *arguments):
        return xlwings[1].CallUDF(UDF_MODULE, name, list(arguments), None, ExcelRange(None))

    return called


@pytest.fixture(scope="module")
def tables(demo_book):
    return tables_of(demo_book)


@pytest.fixture
def full(tables):
    """Give arguments that have an answer, with what is left out as Excel hands it over; tables are ranges."""

    def given(name):
        found = [LEFT_OUT if value is None else value for value in arguments_of(name, tables)]
        found += [LEFT_OUT] * (len(FUNCTIONS[name].arguments) - len(found))
        return [ExcelRange(value) if isinstance(value, list) else value for value in found]

    return given


def assert_fit_for_cells(found, about):
    """Each cell is a number, a text or empty; a text that begins with # is one short line."""
    rows = found if isinstance(found, list) else [found]
    rows = [row if isinstance(row, list) else [row] for row in rows]
    assert rows, about
    assert len(set(map(len, rows))) == 1, about
    for cell in (cell for row in rows for cell in row):
        assert type(cell) in (float, str), about
        if isinstance(cell, float):
            assert math.isfinite(cell), about
        else:
            assert "\n" not in cell, about
            assert len(cell) <= LINE, about
            assert not re.search("Traceback|failed inside|Error:", cell), (about, cell)


def test_xlwings_writes_the_code_that_we_write(xlwings):
    text, options = com_stubs.generated(xlwings[0], UDF_MODULE)
    assert text == functions_module(as_xlwings=True)
    described = {args[0].partition("!")[2]: more for args, more in options}
    assert set(described) == set(FUNCTIONS)
    for name, function in FUNCTIONS.items():
        assert described[name]["ArgumentDescriptions"] == [argument_help(a) for a in function.arguments]


@pytest.mark.parametrize("name", FUNCTIONS)
def test_through_excel_comes_what_python_answers(call, full, tables, name):
    answered = answer(name, arguments_of(name, tables))
    wanted = [["" if cell is None else cell for cell in row] for row in answered] if FUNCTIONS[name].block else answered
    assert call(name, *full(name)) == wanted
    if example := FUNCTIONS[name].example:
        assert round(wanted, example.places) == example.answer


@pytest.mark.parametrize("name", FUNCTIONS)
def test_cells_are_as_good_as_typed_values(call, full, name):
    as_cells = [v if v == LEFT_OUT or isinstance(v, ExcelRange) else ExcelRange(v) for v in full(name)]
    assert call(name, *as_cells) == call(name, *full(name))


@pytest.mark.parametrize("name", SCALAR)
def test_columns_give_one_row_each(call, full, name):
    rows = 3
    columns = [value if value == LEFT_OUT else ExcelRange([[value]] * rows) for value in full(name)]
    assert call(name, *columns) == [[call(name, *full(name))]] * rows


@pytest.mark.parametrize("name", FUNCTIONS)
def test_whatever_stands_in_any_argument_is_fit_for_cells(call, full, name):
    """Every argument in turn is an error, a word, blank, a day, a range of any shape, out of all bounds."""
    for at, argument in enumerate(FUNCTIONS[name].arguments):
        for wrong in WRONG:
            given = full(name)
            given[at] = ExcelRange(wrong)
            found = call(name, *given)
            about = f"{name}, {argument.name} = {wrong!r}: {found!r}"[:400]
            assert_fit_for_cells(found, about)
            if wrong in CELL_ERRORS or (wrong is BLANK and not argument.optional) or wrong == SQUARE:
                assert isinstance(found, str), about
                assert found.startswith("#"), about


@pytest.mark.parametrize("name", FUNCTIONS)
def test_words_and_days_are_no_numbers(call, full, name):
    for at, argument in enumerate(FUNCTIONS[name].arguments):
        if argument.kind == "text":
            continue
        for wrong in (WORD, TRUTH, DAY):
            given = full(name)
            given[at] = ExcelRange(wrong)
            assert call(name, *given).startswith(f"#{argument.name}"), (argument.name, wrong)


@pytest.mark.parametrize("name", FUNCTIONS)
def test_nothing_but_blank_cells(call, name):
    blank = [ExcelRange(None)] * len(FUNCTIONS[name].arguments)
    assert call(name, *blank) == f"#{FUNCTIONS[name].arguments[0].name}: empty. Fill that cell in."


@pytest.mark.parametrize("name", FUNCTIONS)
def test_a_whole_column_is_refused_in_one_line(call, full, monkeypatch, name):
    monkeypatch.setattr(worksheet_call, "MOST_ROWS", 1000)  # 200,000 in earnest, which takes a second a call
    given = full(name)
    at = next((n for n, a in enumerate(FUNCTIONS[name].arguments) if a.kind == "table"), 0)
    given[at] = ExcelRange([[1.0]] * 1001)
    said = call(name, *given)
    assert re.match("#.*(1,001 rows|1001 × 1 cells)", said), said


@pytest.mark.parametrize("name", [name for name, function in FUNCTIONS.items() if function.block])
def test_an_error_in_a_table_does_not_spoil_what_does_not_need_it(call, full, tables, name):
    """A row of errors in any table: another barrel's, a spring's, a trial's leave an answer."""
    for at, argument in enumerate(FUNCTIONS[name].arguments):
        if argument.kind == "table":
            rows = tables[argument.name.title()]
            given = full(name)
            given[at] = ExcelRange([*rows, [ERRORS["#DIV/0!"]] * len(rows[0])])
            found = call(name, *given)
            assert_fit_for_cells(found, f"{argument.name}: {found!r}")
            assert isinstance(found, list) or argument.optional, found


@pytest.mark.parametrize("name", [n for n, f in FUNCTIONS.items() if any(a.name == "barrels" for a in f.arguments)])
def test_an_error_in_the_barrels_own_reading_is_one_line(call, full, name):
    given = full(name)
    at = [a.name for a in FUNCTIONS[name].arguments].index("barrels")
    rows = [list(row) for row in given[at].Value]
    bore = rows[0].index("Bore mm")
    for row in rows[1:]:
        row[bore] = ERRORS["#DIV/0!"]
    given[at] = ExcelRange(rows)
    assert call(name, *given) == "#Barrels row 4 (bore mm): the cell shows #DIV/0!. Mend that cell first."


def test_too_few_arguments_are_named(call):
    assert call("SPRING_TURNS", 11.4, 2.4, None, None) == "#strength: empty. Fill that cell in."


def test_columns_of_unequal_length(call):
    said = call("SPRING_TURNS", ExcelRange([[11.4]] * 3), 2.4, ExcelRange([[0.1]] * 2), 464.5)
    assert said.startswith("#SPRING_TURNS: rows: bore 3, strength 2")


def test_rows_of_a_column_stand_alone(call):
    """One bad row, one blank row and one error do not spoil the others."""
    bore = ExcelRange([[11.4], [2.0], [None], [ERRORS["#DIV/0!"]], [11.4], ["11,4"]])
    (good,), (bad,), (blank,), (error,), (again,), (text,) = call("SPRING_TURNS", bore, 2.4, 0.105, 464.507)
    assert good == again == text == pytest.approx(12.74017, abs=1e-5)  # MEMORY, print not re-seen: Reymondin et al.
    assert bad.startswith("#arbor: 2.4 mm does not go into the bore")
    assert blank.startswith("#bore: empty")
    assert error == "#DIV/0!"


def test_blank_rows_below_a_table_stay_blank(call):
    blank = ExcelRange([[11.4], [None], [None]])
    answers = call("SPRING_TURNS", blank, blank, blank, blank)
    assert answers[1:] == [[""], [""]]


def test_no_number_that_is_not_finite_reaches_a_cell(call):
    said = call("SPRING_TURNS", math.inf, 2.4, 0.105, 464.5)
    assert said.startswith("#bore: inf")


def test_module_can_be_imported_without_excel():
    """On macOS, Linux and in our own tools there is nothing to publish to, and nothing breaks."""
    code = f"import {UDF_MODULE} as m; print(any(name.isupper() and len(name) > 3 for name in vars(m)))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
