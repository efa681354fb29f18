"""The LibreOffice of the tests works at all: without this the other checks mean nothing."""

import pytest

pytestmark = pytest.mark.libreoffice


def test_computes_saves_and_reads_back(office, tmp_path):
    with office.new() as document:
        document.put("Sheet1", "A1:B1", [[2, "=A1*21"]])
        document.put("Sheet1", "A2:B2", [["=1/0", '="a"&1']])
        document.recalculate()
        (two, answer), (error, text) = document.cells("Sheet1", "A1:B2")
        assert (two, answer, text) == (2, 42, "a1")
        assert error["error"] == 532
        document.save(tmp_path / "answers.xlsx")
    with office.open(tmp_path / "answers.xlsx") as document:
        assert document.formulas("Sheet1", "B1") == [["=A1*21"]]
