"""One table, four products: the Excel module, the Calc add-in, the reference page and the Help sheet follow it."""

import zipfile
from io import BytesIO

import pytest

from orderbook.addin.calc.extension import extension_bytes
from orderbook.addin.excel.macro_text import book_module, functions_module
from orderbook.addin.excel.publishing import publish
from orderbook.errors import error
from orderbook.functions import table as functions
from orderbook.functions.call import answer, sheet_functions
from orderbook.functions.page import PAGE, functions_page
from orderbook.functions.table import FUNCTIONS, Argument, Example, Function
from orderbook.records.definition import book_definition
from orderbook.sheets.help_page import help_page


def test_reference_page_is_in_step():
    """In step: python -m orderbook.functions.page."""
    assert PAGE.read_text(encoding="utf-8") == functions_page(), "run: python -m orderbook.functions.page"


def twice_mm(length_mm: float) -> float:
    """Stand in for a new verb."""
    if length_mm > 1000:
        raise error("length_not_sensible", where="length", saw=f"{length_mm:g} mm")
    return 2 * length_mm


@pytest.fixture
def with_a_new_entry(monkeypatch):
    """Add a function to the table: one entry and one verb, nothing else."""
    entry = Function(
        "TWICE_MM",
        f"{__name__}:twice_mm",
        "Twice a length.",
        "mm",
        (Argument("length", "length_mm", "mm", "any length", kind="length"),),
        Example((3.0,), 6.0, 1, "exact"),
        by_column=False,
    )
    monkeypatch.setitem(FUNCTIONS, entry.name, entry)
    monkeypatch.setitem(functions.__dict__, "importlib", _Importer())
    functions.verb_of.cache_clear()
    yield entry
    functions.verb_of.cache_clear()


class _Importer:
    """Finds this test file as the module of the new verb."""

    @staticmethod
    def import_module(name):
        import importlib
        import types

        return types.SimpleNamespace(twice_mm=twice_mm) if name == __name__ else importlib.import_module(name)


def test_a_new_entry_reaches_every_product(with_a_new_entry):
    assert answer("TWICE_MM", [3.0]) == sheet_functions()["TWICE_MM"](3.0) == 6.0
    assert answer("TWICE_MM", [[[1.0], [2000.0], [2.0]]])[1][0].startswith("#length: 2000 mm")
    namespace = {}
    publish(namespace, lambda **_: lambda f: f, lambda *_, **__: lambda f: f)
    assert namespace["TWICE_MM"](3.0) == 6.0
    assert "Function TWICE_MM(length)" in functions_module()
    assert 'Describe "TWICE_MM"' in book_module()
    with zipfile.ZipFile(BytesIO(extension_bytes())) as package:
        assert b"twiceMm" in package.read("orderbook.rdb")
        assert "TWICE_MM" in package.read("CalcAddIns.xcu").decode("utf-8")
        assert '"TWICE_MM": "twiceMm"' in package.read("addin.json").decode("utf-8")
    assert "## TWICE_MM" in functions_page()
    assert any("TWICE_MM" in str(cell.value) for cell in help_page(book_definition()).cells.values())


def test_without_the_entry_no_product_has_it():
    assert "TWICE_MM" not in functions_module() + book_module() + functions_page()


@pytest.mark.parametrize("name", sorted(FUNCTIONS))
def test_every_function_has_an_example_and_words(name):
    function = FUNCTIONS[name]
    assert function.example or function.typed.startswith(f"={name}(")
    assert function.gives.endswith(".")
    assert all(argument.meaning for argument in function.arguments)
