"""The sizes of a whole list stand in usual relations; a column that leaves them is asked about."""

from __future__ import annotations

from pathlib import Path

import pytest

from orderbook.catalogue import ColumnMap, MapEntry, read_catalogue
from tests.catalogue.invented import (
    CLOCK,
    INCH,
    LIGNE,
    WATCH,
    assert_reads,
    listed,
    misread,
    refusal,
    springs_of,
    written,
)

BARE = ["Item", "Width", "Strength", "Length"]


@pytest.mark.parametrize("springs", [WATCH, CLOCK], ids=["watch", "clock"])
@pytest.mark.parametrize(
    "factors",
    [(1, 1, INCH), (1, 1, 10), (1, 1, 1000), (1, 0.1, 1), (1, 0.01, 1), (INCH, 1, 1), (10, 1, 1), (1, INCH, 1),
     (INCH, INCH, INCH), (INCH, INCH, 1), (1, 10, 1), (0.1, 1, 1), (0.01, 1, 1), (1, 1, 0.1), (INCH, 1, INCH),
     (1, 1, 12 * INCH), (1, LIGNE / 12, 1), (LIGNE / 12, 1, 1)],
)  # fmt: skip
def test_sizes_in_another_unit_that_nobody_said_are_asked_about(springs, factors, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    refusal(listed(tmp_path, written(BARE, springs, factors)))


@pytest.mark.parametrize("order", [(0, 2, 1), (1, 0, 2), (2, 1, 0), (1, 2, 0), (2, 0, 1)])
@pytest.mark.parametrize("springs", [WATCH, CLOCK], ids=["watch", "clock"])
def test_swapped_columns_are_asked_about_even_with_units(springs, order, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    for names in (["Width", "Strength", "Length"], ["Width mm", "Strength mm", "Length mm"]):
        refusal(listed(tmp_path, written(["Item", *(names[i] for i in order)], springs)))


@pytest.mark.parametrize("heading", ["Maße", "Size", "Dimensions mm", "Maße (mm)"])
def test_barrel_first_is_not_taken_for_width_strength_and_length(heading: str, tmp_path: Path) -> None:
    text = f"Item;{heading}\nC-1;65 x 18 x 0,40 x 1500\nC-2;70 x 22 x 0,36 x 1750\n"
    path = listed(tmp_path, text)
    assert misread(path) == []


@pytest.mark.parametrize(
    "heading",
    ["Barrel x width x strength x length", "Federhaus x Breite x Stärke x Länge",
     "Barillet x hauteur x force x longueur",
     "Tamburo x larghezza x spessore x lunghezza", "Cubo x ancho x espesor x largo",
     "Trommel x breedte x dikte x lengte"],
)  # fmt: skip
def test_barrel_first_is_read_where_the_heading_says_so(heading: str, tmp_path: Path) -> None:
    text = f"Item;{heading} (mm)\nC-1;65 x 18 x 0,40 x 1500\nC-3;70 x 22 x 0,36 x 1750\n"
    assert_reads(listed(tmp_path, text), (CLOCK[0], CLOCK[2]))


def test_a_map_says_the_order_of_four_numbers(tmp_path: Path) -> None:
    path = listed(tmp_path, "Item;Maße\nC-1;65 x 18 x 0,40 x 1500\nC-3;70 x 22 x 0,36 x 1750\n")
    told = ColumnMap({"Maße": MapEntry("sizes", unit="mm", order="barrel x width x strength x length")})
    assert_reads(path, (CLOCK[0], CLOCK[2]), column_map=told)


def test_one_row_in_another_unit_is_rejected_with_the_reason(tmp_path: Path) -> None:
    text = written(BARE, (*WATCH, *CLOCK)) + "X-1;35;0.45;96\nX-2;18;0.40;150\nX-3;0.1;0.0063;15\n"
    reading = read_catalogue(listed(tmp_path, text))
    assert len(springs_of(reading)) == 6
    assert len(reading.rejects) == 3
    assert all(any(w in reject.reason for w in ("usual", "mainspring", "three widths")) for reject in reading.rejects)


def test_a_unit_said_in_a_map_is_the_users_word(tmp_path: Path) -> None:
    path = listed(tmp_path, written(BARE, CLOCK, (1, 1, INCH)))
    told = ColumnMap({"Length": MapEntry("length", unit="in")})
    assert_reads(path, CLOCK, column_map=told)


def test_a_centimetre_behind_the_last_of_three_sizes_is_not_for_all(tmp_path: Path) -> None:
    path = listed(tmp_path, "Item;Size\nA-1;2.5 x 0.16 x 34 cm\nA-2;1.8 x 0.11 x 30 cm\n")
    assert misread(path) == []
