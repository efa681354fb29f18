"""The built extension in a real LibreOffice: every function, every kind of value."""

import re
import zipfile

import pytest

from orderbook.workbook.calc.extension import build
from orderbook.workbook.functions import FUNCTIONS
from orderbook.workbook.help_text import argument_help, function_help
from orderbook.workbook.worksheet_call import answer
from tests.office import Office

pytestmark = pytest.mark.libreoffice


@pytest.fixture(scope="module")
def office(tmp_path_factory):
    extension = build(tmp_path_factory.mktemp("extension") / "orderbook.oxt")
    with Office(extension) as running:
        yield running


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


def test_wizard_knows_names_arguments_and_help(office):
    for name, function in FUNCTIONS.items():
        known = office.ask("describe", name)
        assert known["description"] == function_help(function)
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
