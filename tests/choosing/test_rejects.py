"""Where one chooses from a list most of whose rows could not be read, that is said."""

import pytest

from orderbook.catalogue import read_catalogue
from orderbook.choosing.grading import grade
from orderbook.cli.spelling import in_flags
from orderbook.errors import speaking
from tests.choosing.choice_lists import DEMO, watch

HEAD = "item,width mm,strength mm,length mm,price GBP"


def said(tmp_path, rows):
    path = tmp_path / "mylist.csv"
    path.write_text("\n".join([HEAD, *rows]) + "\n", encoding="utf-8")
    reading = read_catalogue([DEMO / "supplier_north_watch.csv", path])
    return [f for f in grade(watch(), reading).findings if f.code == "many_rows_rejected"]


def rows(good, bad):
    return [f"G{n},2.9,0.17,{500 + n},9.50" for n in range(good)] + [f"B{n},2.9,soon,500,9.50" for n in range(bad)]


@pytest.mark.parametrize(("good", "bad"), [(1, 13), (7, 3)])
def test_a_list_with_many_rejects_is_named_with_its_counts(tmp_path, good, bad):
    found = said(tmp_path, rows(good, bad))
    assert len(found) == 1
    assert f"{bad} of {good + bad} rows of" in str(found[0])
    assert "orderbook.read_catalogue" in str(found[0])
    with speaking(in_flags):
        assert "orderbook catalogue" in str(found[0])
    assert "mylist.csv" in str(found[0])


@pytest.mark.parametrize(("good", "bad"), [(10, 0), (9, 1), (8, 2)])
def test_a_few_rejects_are_left_to_the_catalogue_command(tmp_path, good, bad):
    assert said(tmp_path, rows(good, bad)) == []
