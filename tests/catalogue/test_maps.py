"""A refusal can be cured: a map says what a list does not, and is found again beside the list."""

from __future__ import annotations

from pathlib import Path

import pytest

from orderbook.catalogue import ColumnMap, MapEntry, map_beside, map_skeleton, read_map
from orderbook.errors import OrderbookError
from tests.catalogue.invented import CLOCK, INCH, WATCH, assert_reads, codes, listed, refusal, written

BARE = ["Item", "Width", "Strength", "Length"]


def saved(path: Path, text: str) -> Path:
    place = path.with_name(f"{path.name}.map.toml")
    place.write_text(text, encoding="utf-8")
    return place


def test_a_map_beside_the_list_is_used_and_said(tmp_path: Path) -> None:
    path = listed(tmp_path, written(BARE, CLOCK, (1, 1, INCH)))
    refusal(path)
    place = saved(path, '[columns]\n"Item" = "item"\n"Length" = { meaning = "length", unit = "in" }\n')
    assert map_beside(path) == place
    assert "map_used" in codes(assert_reads(path, CLOCK))


def test_equal_headings_are_named_by_their_place(tmp_path: Path) -> None:
    rows = "".join(f"{s.item};{s.width};{s.strength};{s.length}\n" for s in WATCH)
    path = listed(tmp_path, f"Item;Size;Size;Size\n{rows}")
    refusal(path)
    told = {"#2 Size": MapEntry("width", "mm"), "#3": MapEntry("strength", "mm"), "#4 Size": MapEntry("length", "mm")}
    assert_reads(path, column_map=ColumnMap(told))


def test_a_list_without_headings(tmp_path: Path) -> None:
    path = listed(tmp_path, "".join(f"{s.item};{s.width};{s.strength};{s.length}\n" for s in WATCH))
    refusal(path)
    told = {f"#{n}": MapEntry(m, u) for n, (m, u) in enumerate(
        [("item", ""), ("width", "mm"), ("strength", "mm"), ("length", "mm")], 1)}  # fmt: skip
    reading = assert_reads(path, column_map=ColumnMap(told, headings=False))
    assert reading.catalogue.line.tolist() == [1, 2, 3]


def test_whole_numbers_may_be_hundredths(tmp_path: Path) -> None:
    path = listed(tmp_path, "Item;Width;Strength;Length\nA-1;2.5;16;340\nA-2;1.8;0.11;300\nA-3;2.1;14;380\n")
    told = ColumnMap({"Strength": MapEntry("strength", "mm", whole_numbers="1/100 mm")})
    assert_reads(path, column_map=told)


def test_a_map_that_says_a_number_is_a_gauge_of_a_table(tmp_path: Path) -> None:
    table = listed(tmp_path, "gauge,number,mm\nmine,12,0.16\nmine,8,0.11\nmine,10,0.14\n", "mine.csv")
    path = listed(tmp_path, "Item;Width;Strength No.;Length\nA-1;2.5;12;340\nA-2;1.8;8;300\nA-3;2.1;10;380\n")
    refused = refusal(path)
    assert "gauge" in str(refused)
    assert_reads(path, gauge=table)
    saved(path, f'gauge = "{table.name}"\n[columns]\n"Strength No." = "gauge"\n')
    assert_reads(path)


QUESTIONS = {
    "unit": written(BARE, CLOCK, (1, 1, INCH)),
    "doubtful word": written(["Item", "Width lines", "Strength", "Length"], WATCH),
    "two widths": "Item;Width;Width;Strength;Length\nA-1;2.5;2.6;0.16;340\n",
    "no headings": "A-1;2.5;0.16;340\nA-2;1.8;0.11;300\n",
    "no strength": "Item;Width;Zing;Length\nA-1;2.5;0.16;340\n",
    "gauge": "Item;Width mm;Strength No.;Length mm\nA-1;2.5;12;340\n",
}


@pytest.mark.parametrize("case", QUESTIONS)
def test_a_skeleton_names_every_heading_with_samples_and_what_is_missing(case: str, tmp_path: Path) -> None:
    path = listed(tmp_path, QUESTIONS[case])
    refused = refusal(path)
    text = map_skeleton(path, refused)
    assert text is not None
    first = QUESTIONS[case].splitlines()[0]
    if case != "no headings":
        assert all(heading in text for heading in first.split(";"))
    assert "340" in text or "59.05" in text
    assert '"?"' in text
    assert refused.saw.split(":")[0][:30] in text
    place = saved(path, text)
    assert map_beside(path) is None, "a map that still asks is not used"
    with pytest.raises(OrderbookError) as caught:
        read_map(place)
    assert caught.value.code == "map_not_finished"


def test_a_skeleton_that_is_filled_in_cures_the_refusal(tmp_path: Path) -> None:
    path = listed(tmp_path, QUESTIONS["unit"])
    text = map_skeleton(path, refusal(path))
    assert text is not None
    units = iter(["mm", "mm", "in"])
    lines = [
        line.replace('unit = "?"', f'unit = "{next(units)}"') if 'unit = "?"' in line else line
        for line in text.splitlines()
    ]
    saved(path, "\n".join(lines))
    assert_reads(path, CLOCK)


def test_only_a_question_has_a_skeleton(tmp_path: Path) -> None:
    path = listed(tmp_path, "")
    assert map_skeleton(path, refusal(path)) is None
