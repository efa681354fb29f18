"""Marks, words and gauges against exact arithmetic, an independent parser and printed tables."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from orderbook.catalogue.gauges import gauge_number, gauge_table
from orderbook.catalogue.headings import heading
from orderbook.catalogue.marks import UNDECIDED, decide, evidence, plain_number
from orderbook.catalogue.words import shipped_words

# inches. SWG, BWG: Notes on Building Construction, part 3; Stubs steel: Hawkins, Electrical Guide, vol. 4.
PRINTED = {
    "swg": {"7/0": "0.500", "0": "0.324", "1": "0.300", "10": "0.128", "20": "0.036", "22": "0.028", "24": "0.022",
            "26": "0.018", "28": "0.0148", "30": "0.0124", "32": "0.0108", "34": "0.0092", "36": "0.0076",
            "40": "0.0048", "50": "0.0010"},
    "bwg": {"4/0": "0.454", "0": "0.340", "1": "0.300", "10": "0.134", "20": "0.035", "22": "0.028", "24": "0.022",
            "26": "0.018", "28": "0.014", "30": "0.012", "32": "0.009", "34": "0.007", "36": "0.004"},
    "stubs_steel": {"1": "0.227", "10": "0.191", "20": "0.161", "22": "0.155", "24": "0.151", "26": "0.146",
                    "28": "0.139", "30": "0.127", "32": "0.115", "34": "0.110", "36": "0.106", "40": "0.097",
                    "50": "0.069", "60": "0.039", "70": "0.027", "80": "0.013"},
}  # fmt: skip


@pytest.mark.parametrize("gauge", PRINTED)
def test_wire_gauges_are_the_printed_ones(gauge: str) -> None:
    table = gauge_table(gauge).gauges[gauge]
    for number, inch in PRINTED[gauge].items():
        assert table[number] == float(Decimal(inch) * Decimal("25.4")), (gauge, number)


def test_american_wire_gauge_is_its_rule() -> None:
    """A fixed ratio per step; No. 36 is 0.005 in and No. 4/0 0.46 in by definition (ASTM B258, MEMORY)."""
    table = gauge_table("awg").gauges["awg"]
    assert table["36"] == pytest.approx(0.005 * 25.4, rel=1e-5)
    assert table["4/0"] == pytest.approx(0.46 * 25.4, rel=1e-5)
    for number in range(40):
        assert table[str(number + 1)] / table[str(number)] == pytest.approx(0.890526, rel=1e-4)


def test_birmingham_and_standard_gauge_agree_only_where_they_are_said_to() -> None:
    """Rowlett, How Many?: equal numbers are equal sizes at 1, 15, 21, 22, 24, 25, 26 only (of 1 to 36)."""
    swg, bwg = (gauge_table(name).gauges[name] for name in ("swg", "bwg"))
    same = [n for n in range(1, 37) if swg[str(n)] == bwg[str(n)]]
    assert same == [1, 15, 21, 22, 24, 25, 26]


@pytest.mark.parametrize(
    ("text", "number"),
    [("12", "12"), ("No. 7", "7"), ("nr 3/0", "3/0"), ("#14", "14"), ("0000", "4/0"), ("2,5", None), ("12 mm", None)],
)
def test_gauge_numbers(text: str, number: str | None) -> None:
    assert gauge_number(text) == number


SPELLINGS = [(".", ","), (",", "."), (".", " "), (",", "\u202f"), (".", "'"), (",", "’"), (".", ""), (",", "")]


@given(st.integers(0, 10**7), st.integers(0, 4), st.sampled_from(SPELLINGS))
def test_a_number_is_read_as_it_was_written_or_left_undecided(whole: int, places: int, marks: tuple[str, str]) -> None:
    decimal, thousands = marks
    value = Fraction(whole, 10**places)
    digits = f"{Decimal(whole).scaleb(-places):,f}".replace(",", "T").replace(".", "D")
    text = digits.replace("T", thousands).replace("D", decimal)
    said = evidence(text)
    if said == UNDECIDED:
        assert text.count(".") + text.count(",") == 1
        assert len(text.replace(",", ".").split(".")[1]) == 3
    else:
        assert Fraction(plain_number(text, "") or "") == value
    assert Fraction(plain_number(text, decimal) or "") == value


@given(st.lists(st.integers(1, 999_999), min_size=1, max_size=30), st.sampled_from([".", ","]))
def test_a_column_with_one_deciding_cell_is_decided(thousandths: list[int], decimal: str) -> None:
    numbers = [f"{Decimal(n).scaleb(-3):.3f}".replace(".", decimal) for n in thousandths] + [f"2{decimal}5"]
    mark = decide(numbers, lambda number: True)
    assert mark.decimal == decimal
    assert [Fraction(plain_number(text, mark.decimal) or "") for text in numbers[:-1]] == [
        Fraction(n, 1000) for n in thousandths
    ]


@pytest.mark.parametrize(
    ("text", "meaning", "unit"),
    [
        ("Width (mm)", "width", "mm"), ("Thickness 1/100 mm", "strength", "1/100 mm"), ("Length in", "length", "in"),
        ("L cm", "length", "cm"), ("Höhe in mm", "width", "mm"), ("Federstärke [mm]", "strength", "mm"),
        ("Zugfederlänge", "length", ""), ("Hauteur mm", "width", "mm"), ("Épaisseur", "strength", ""),
        ("Force", "strength", ""), ("LONGUEUR (mm)", "length", "mm"), ("Larghezza", "width", ""),
        ("Spessore mm", "strength", "mm"), ("Lunghezza cm", "length", "cm"), ("Ancho", "width", ""),
        ("Grosor (mm)", "strength", "mm"), ("Largo", "length", ""), ("Breedte mm", "width", "mm"),
        ("Dikte", "strength", ""), ("Lengte", "length", ""), ("width_mm", "width", "mm"),
        ("Barrel diameter", "unused", ""),
        ("Art.-Nr.", "item", ""), ("Réf.", "item", ""), ("Stärke Nr.", "gauge", ""), ("Preis je Dutzend", "price", ""),
        ("Width ‴", "width", "ligne"), ("Voorraad", "stock", ""), ("VPE", "pack", ""), ("colour", "", ""),
    ],
)  # fmt: skip
def test_headings_in_six_languages(text: str, meaning: str, unit: str) -> None:
    """Trade words: common practice, no source."""
    read = heading(text, shipped_words())
    assert (read.meaning, read.unit.name if read.unit else "") == (meaning, unit)
