"""Means of readings: one function, and the formulas of the sheet say the same, whatever Lists holds."""

from datetime import date
from math import hypot
from pathlib import Path

import pytest

from orderbook.answers.answer import asked_barrel, sized
from orderbook.answers.means import means_of
from orderbook.answers.record_data import story
from orderbook.book.opened import opened
from orderbook.errors import OrderbookError
from orderbook.records.books import Books, books_from
from orderbook.sheets.new_book import write_new_book

BARREL = "R-001-B1"
DAY = date(2026, 3, 27)
DAY_TYPED = date(2026, 8, 3)  # what a spreadsheet makes of a typed 3/8


def reading(what: str, value: object, unit: str = "mm", instrument: str = "") -> dict[str, object]:
    return {"barrel": BARREL, "what": what, "value": value, "unit": unit, "instrument": instrument}


def books(*readings: dict[str, object], **tables: list[dict[str, object]]) -> Books:
    piece = {"Restorations": [{"restoration": "R-001", "state": "open"}]}
    barrels = {"Barrels": [{"barrel": BARREL, "restoration": "R-001", "turns_used": 3.5}]}
    return books_from(piece | barrels | {"Readings": list(readings)} | tables, currency="GBP")


READINGS = (
    reading("bore", 31.2, "half-mm", "gauge"),
    reading("bore", 15.62, "mm", "caliper"),
    reading("bore", 1.561, "cm"),
    reading("arbor", 5.2, "mm", "micrometer"),
    reading("arbor", 5.21, "mm", "micrometer"),
    reading("depth", 3.1, "mm", "gauge"),
)
LISTS = {
    "Units": [{"unit": "mm", "mm": 1}, {"unit": "cm", "mm": 10}, {"unit": "half-mm", "mm": 0.5}],
    "Instruments": [
        {"instrument": "gauge", "half_width_mm": 0.02},
        {"instrument": "caliper", "half_width_mm": 0.03},
        {"instrument": "micrometer", "half_width_mm": 0.002},
    ],
}


def test_the_sheet_and_python_say_the_same(tmp_path: Path) -> None:
    path = tmp_path / "book.xlsx"
    barrel = {"barrel": BARREL, "restoration": "R-001", "drive": "going", "turns_used": 3.5}
    write_new_book(
        path, {"Restorations": [{"restoration": "R-001"}], "Barrels": [barrel], "Readings": list(READINGS)} | LISTS
    )
    found = opened(path).books
    (row,) = found.barrels
    means = means_of(found, BARREL)
    for what in ("bore", "arbor", "depth"):
        mean = means.of(what)
        assert mean is not None
        assert float(getattr(row, f"{what}_mm")) == pytest.approx(mean.value, rel=1e-12)
        assert float(getattr(row, f"{what}_pm_mm")) == pytest.approx(2 * mean.u, rel=1e-9)
    bore = asked_barrel(found, BARREL).bore
    assert bore == means.of("bore")
    assert sized(found, BARREL).inputs["bore"] == bore
    (told,) = story(found, "R-001", on=DAY).barrels
    assert told.mean("bore") == bore.value


def test_the_mean_is_that_of_the_guide() -> None:
    """JCGM 100: u² = (t·s)²/n + (a/√3)², by hand for two readings of one micrometer."""
    mean = means_of(books(*READINGS, **LISTS), BARREL).of("arbor")
    assert mean is not None
    assert mean.value == pytest.approx(5.205)
    assert mean.u == pytest.approx(hypot(1.8373 * 0.01 / 2**0.5 / 2**0.5, 0.002 / 3**0.5), rel=1e-4)


@pytest.mark.parametrize(
    ("bad", "saw"),
    [
        (reading("bore", "15.6O"), "15.6O"),
        (reading("bore", "15.6-15.7"), "15.6-15.7"),
        (reading("bore", "~34"), "~34"),
        (reading("bore", 0), "0"),
        (reading("bore", -15.6), "-15.6"),
        (reading("bore", 15.6, ""), "without a unit"),
        (reading("bore", 15.6, "furlongs"), "furlongs"),
        (reading("bore", True), "True"),
        (reading("bore", "#DIV/0!"), "#DIV/0!"),
        (reading("bore", DAY_TYPED), "a day"),
        (reading("bore", "3/8", ""), "without a unit"),
    ],
)
def test_one_reading_that_cannot_be_used_is_one_finding_everywhere(bad: dict[str, object], saw: str) -> None:
    good = (reading("bore", 15.6), reading("arbor", 5.2), reading("depth", 3.1))
    found = books(*good, bad)
    told = means_of(found, BARREL).findings
    assert [f.code for f in told] == ["reading_not_used"]
    assert saw in told[0].saw
    assert told[0].where.startswith("Readings row 5")
    assert asked_barrel(found, BARREL).bore.value == pytest.approx(15.6)
    assert told == story(found, "R-001", on=DAY).findings[: len(told)]
    assert told[0] in sized(found, BARREL).findings


def test_readings_that_cannot_be_one_length_stop_the_answer_and_the_odd_one_is_named() -> None:
    found = books(reading("bore", 15.6), reading("bore", 34.0), reading("bore", 15.7), reading("arbor", 5.2))
    (told,) = means_of(found, BARREL).findings
    assert (told.code, told.severity) == ("repeats_disagree", "error")
    assert told.where.startswith("Readings row 3")
    with pytest.raises(OrderbookError) as refused:
        sized(found, BARREL)
    assert refused.value.finding == told
