"""The shipped lists are the generator's, and read whole."""

import csv
import filecmp
import runpy
from pathlib import Path

import pytest

from orderbook.catalogue import read_catalogue
from orderbook.locate import data_folder

LISTS = data_folder("demo_catalog")
TIDY = ("supplier_north_watch.csv", "supplier_north_clock.csv", "supplier_east.csv", "supplier_west.csv")


def test_lists_are_what_the_generator_writes(tmp_path: Path) -> None:
    runpy.run_path(str(Path(__file__).with_name("make_demo_lists.py")))["main"](tmp_path)
    for made in tmp_path.iterdir():
        assert filecmp.cmp(made, LISTS / made.name, shallow=False), f"{made.name}: run make_demo_lists.py again"


@pytest.mark.parametrize("name", TIDY)
def test_every_row_of_a_tidy_list_is_a_spring_as_printed(name: str) -> None:
    """Read beside the plainest reader there is: csv and float, knowing the columns."""
    text = (LISTS / name).read_text(encoding="utf-8")
    rows = list(csv.reader(text.splitlines(), delimiter=";" if "east" in name else ","))
    header, body = rows[0], rows[1:]
    reading = read_catalogue(LISTS / name)
    assert not reading.rejects
    assert reading.rows_kept == len(body) == reading.rows_in
    springs = reading.catalogue
    inch = "west" in name
    for at, row in enumerate(body):
        cells = dict(zip(header, row, strict=True))
        width, strength, length = (float(c.replace(",", ".")) for c in row[2:5])
        pence = round(float(next(cells[h] for h in header if h.startswith("Price")).replace(",", ".").strip("£")) * 100)
        assert springs.supplier[at] == row[0]
        assert springs.item[at] == row[1]
        assert springs.line[at] == at + 2
        assert springs.width_mm[at] == width
        assert springs.strength_mm[at] == pytest.approx(strength * (25.4 if inch else 1), rel=1e-12)
        assert springs.length_mm[at] == pytest.approx(length * (25.4 if inch else 1), rel=1e-12)
        assert springs.price_minor[at] == pence
        assert springs.pack[at] == int(cells.get("Pack", 1))
        assert springs.currency[at] == ("EUR" if "east" in name else "GBP")
        assert springs.stock[at] == int(cells.get("Stock", -1))


def test_several_lists_are_one_catalogue() -> None:
    reading = read_catalogue([LISTS / name for name in TIDY])
    assert len(reading.catalogue) == sum(len(read_catalogue(LISTS / name).catalogue) for name in TIDY)
    assert set(reading.catalogue.file) == set(TIDY)
