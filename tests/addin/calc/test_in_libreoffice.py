"""The built extension in a real LibreOffice: every function, every kind of value."""

import re
import zipfile

import pytest

from orderbook.functions.call import answer
from orderbook.functions.help_text import argument_help, function_help
from orderbook.functions.table import FUNCTIONS
from orderbook.xlsx.page import letters
from tests.functions.typed_calls import arguments_of, tables_of

pytestmark = pytest.mark.libreoffice


@pytest.fixture(scope="module")
def office(office_with_addin):
    return office_with_addin


@pytest.fixture
def sheet(office):
    with office.new() as document:
        yield document


def _typed(value):
    return f'"{value}"' if isinstance(value, str) else repr(value)


@pytest.mark.parametrize("name", [name for name, f in FUNCTIONS.items() if f.example])
def test_example_is_computed(sheet, name):
    example = FUNCTIONS[name].example
    sheet.put("Sheet1", "A1", [[f"={name}({';'.join(map(_typed, example.arguments))})"]])
    shown = sheet.cell("Sheet1", "A1")
    assert round(shown, example.places) == example.answer
    assert shown == pytest.approx(answer(name, example.arguments), rel=1e-12)


def put(sheet, formula, at="A1"):
    sheet.put("Sheet1", at, [[formula]])
    return sheet.cell("Sheet1", at)


@pytest.fixture(scope="module")
def tables(demo_book):
    return tables_of(demo_book)


def lay_out(sheet, tables, name):
    """Type a call with its tables into the sheet; return the formula."""
    words, left = [], 30
    for value in arguments_of(name, tables):
        if isinstance(value, list):
            width = len(value[0])
            place = f"{letters(left)}1:{letters(left + width - 1)}{len(value)}"
            rows = [[v.isoformat() if hasattr(v, "isoformat") else v for v in row] for row in value]
            sheet.put("Sheet1", place, rows)
            words.append(place)
            left += width + 1
        else:
            words.append("" if value is None else _typed(value))
    return f"={name}({';'.join(words)})"


@pytest.mark.parametrize("name", [name for name, f in FUNCTIONS.items() if f.block])
def test_block_is_the_python_answer(sheet, tables, name):
    formula = lay_out(sheet, tables, name)
    wanted = answer(name, arguments_of(name, tables))
    place = f"A1:{letters(len(wanted[0]) - 1)}{len(wanted)}"
    sheet.put_array("Sheet1", place, formula)
    for shown, row in zip(sheet.cells("Sheet1", place), wanted, strict=True):
        for cell, value in zip(shown, row, strict=True):
            assert cell == (pytest.approx(value, rel=1e-12) if isinstance(value, float) else value or "")


def test_an_error_in_a_table_is_said_or_left_out(sheet):
    heads = ["Supplier", "Item", "Width mm", "Strength mm", "Length mm", "Price a pack", "Currency"]
    springs = [["S", f"I{n}", 2.9, 0.15 + n / 1000, 500.0, 5.0, "GBP"] for n in range(20)]
    sheet.put("Sheet1", "A1:G21", [heads, *springs])
    sheet.put("Sheet1", "J1:O2", [["Barrel", "Restoration", "Bore mm", "Arbor mm", "Depth mm", "Turns used"],
                                  ["B1", "R1", 15.6, 5.2, 3.1, 3.5]])  # fmt: skip
    sheet.put("Sheet1", "D3", [["=1/0"]])
    sheet.put("Sheet1", "F4", [["=NA()"]])
    sheet.put_array("Sheet1", "Q1:AH3", '=RANK_SPRINGS("B1";J:O;A:G;;;;;;3)')
    rows = sheet.cells("Sheet1", "Q1:AH3")
    assert [row[0] for row in rows] == [1.0, 2.0, 3.0]
    assert "2 rows of the catalogue could not be used: I1: a cell shows an error" in rows[-1][-1]
    sheet.put("Sheet1", "L2", [["=1/0"]])
    assert sheet.cell("Sheet1", "Q1") == "#Barrels row 2 (bore mm): the cell shows #ERROR!. Mend that cell first."


def test_wizard_knows_names_arguments_and_help(office):
    for name, function in FUNCTIONS.items():
        known = office.ask("describe", name)
        assert known["description"] == function_help(function)
        assert known["category"]
        assert [tuple(a[:2]) for a in known["arguments"]] == [(a.name, argument_help(a)) for a in function.arguments]


def test_whatever_is_in_the_cells_gives_one_line(sheet):
    sheet.put("Sheet1", "A1:A3", [["word"], ["=1/0"], [None]])
    for cell in ("A1", "A3"):
        said = put(sheet, f"=SPRING_TURNS({cell};2.4;0.1;464)", "B1")
        assert said.startswith("#bore"), said
    assert put(sheet, "=SPRING_TURNS(A2;2.4;0.1;464)", "B1")["error"] == 532  # Calc passes its own error on
    assert put(sheet, "=SPRING_TURNS(2;2.4;0.1;464)", "B1").startswith("#arbor: 2.4 mm does not go into the bore")
    assert put(sheet, "=SPRING_TURNS(A3:B4;2.4;0.1;464)", "C1").startswith("#bore: a range of 2 × 2 cells")
    assert (
        put(sheet, "=SPRING_TURNS(A1:A3;2.4;0.1;464)", "C1")["error"] == 504
    )  # an error inside a range: Calc does not ask us
    assert put(sheet, "=SPRING_TURNS(11.4;2.4)", "B1").startswith("#strength: empty")
    assert put(sheet, "=SPRING_TURNS(1;2;3;4;5;6)", "B1")["error"] in {504, 508, 513}  # Calc counts arguments itself


def test_empty_optional_arguments_count_as_left_out(sheet):
    wanted = answer("SPRING_STRENGTH", [11.4, 2.4, 12.74])
    for given in ("11.4;2.4;12.74", "11.4;2.4;12.74;", "11.4;2.4;12.74;Z9"):
        assert put(sheet, f"=SPRING_STRENGTH({given})") == wanted


def test_answers_work_inside_other_formulas(sheet):
    turns = answer("SPRING_TURNS", [11.4, 2.4, 0.105, 464.507])
    assert put(sheet, '=ROUND(SPRING_TURNS(11.4;2.4;0.105;464.507);2)&" turns"') == f"{turns:.2f} turns"
    assert put(sheet, '=spring_turns(LENGTH_MM("11,4 mm");2.4;0.105;464.507)') == pytest.approx(turns, rel=1e-12)


def test_a_column_in_one_array_formula(sheet):
    rows = [[11.4 + 0.01 * n, 2.4, 0.105, 464.5] for n in range(200)]
    rows[7][0], rows[8] = 1.0, [None] * 4
    sheet.put("Sheet1", "A1:D200", rows)
    sheet.put_array("Sheet1", "E1:E200", "=SPRING_TURNS(A1:A200;B1:B200;C1:C200;D1:D200)")
    shown = [row[0] for row in sheet.cells("Sheet1", "E1:E200")]
    wanted = [answer("SPRING_TURNS", row) for row in rows[:7]]
    assert shown[:7] == pytest.approx(wanted, rel=1e-12)
    assert shown[7].startswith("#arbor")
    assert shown[8] == ""
    assert put(sheet, "=INDEX(SPRING_TURNS(A1:A200;B1:B200;C1:C200;D1:D200);3)", "F1") == pytest.approx(wanted[2])


def test_a_thousand_cells(sheet):
    rows = [[11.4 + 0.001 * n, f"=SPRING_TURNS(A{n + 1};2.4;0.105;464.5)"] for n in range(1000)]
    sheet.put("Sheet1", "A1:B1000", rows)
    sheet.recalculate()
    shown = [row[0] for row in sheet.data("Sheet1", "B1:B1000")]
    assert shown == pytest.approx([answer("SPRING_TURNS", [row[0], 2.4, 0.105, 464.5]) for row in rows], rel=1e-12)


def test_saved_for_excel_and_opened_again(office, sheet, tmp_path):
    """LibreOffice 7 writes names that Excel does not know; ours put Excel's spelling back, and read both."""
    sheet.put("Sheet1", "A1:A2", [["=SPRING_TURNS(11.4;2.4;0.105;464.5)"], ['="SPRING_TURNS("&A1']])
    sheet.put_array(
        "Sheet1", "B1:B2", "=SPRING_TURNS({11.4;12|2.4;2.4};2.4;0.105;464.5)".replace("{11.4;12|2.4;2.4}", "{11.4|12}")
    )
    before = sheet.cells("Sheet1", "A1:B2")
    sheet.store(tmp_path / "turns.xlsx")
    found = re.findall(r"<f[^>]*>([^<]*)</f>", _part(tmp_path / "turns.xlsx"))
    assert "SPRING_TURNS(11.4,2.4,0.105,464.5)" in found
    assert not [f for f in found if "ORG.ORDERBOOK" in f.upper()]
    with office.open(tmp_path / "turns.xlsx") as again:
        again.recalculate()
        assert again.cells("Sheet1", "A1:B2") == before


def _part(path):
    with zipfile.ZipFile(path) as package:
        return package.read("xl/worksheets/sheet1.xml").decode("utf-8")
