"""The built extension in a real LibreOffice: every function, every kind of value."""

import pytest

from orderbook.workbook.calc.extension import build
from orderbook.workbook.functions import FUNCTIONS
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
