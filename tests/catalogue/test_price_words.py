"""What a price is for: no tax rate, year or tier is a pack; a price that cannot be read never costs the spring."""

from __future__ import annotations

from pathlib import Path

import pytest

from orderbook.catalogue import ColumnMap, MapEntry, read_catalogue
from tests.catalogue.invented import codes, listed, price_of

SIZES = "Item;Width mm;Strength mm;Length mm"


def priced(folder: Path, heading: str, cell: str, title: str = "", more: str = "", cells: str = "") -> Path:
    head = f"{title}\n" if title else ""
    return listed(folder, f"{head}{SIZES};{heading}{more}\nA-1;2.5;0.16;340;{cell}{cells}\n")


HEADINGS = [
    ("Preis EUR inkl. 19% MwSt", "4,80", (480, "EUR", 1)), ("Preis 2026 EUR", "4,80", (480, "EUR", 1)),
    ("Price 2026 (GBP)", "4.80", (480, "GBP", 1)), ("Prix TTC TVA 20 % €", "4,80", (480, "EUR", 1)),
    ("Price GBP inc 20% VAT", "4.80", (480, "GBP", 1)), ("EUR", "4,80", (480, "EUR", 1)),
     ("€", "4,80", (480, "EUR", 1)),
    ("Netto EUR", "4,80", (480, "EUR", 1)), ("PU HT €", "4,80", (480, "EUR", 1)), ("UVP €", "4,80", (480, "EUR", 1)),
    ("RRP £", "4.80", (480, "GBP", 1)), ("£", "4.80", (480, "GBP", 1)), ("VK €", "4,80", (480, "EUR", 1)),
    ("Preis je 10 Stück EUR", "48,00", (4800, "EUR", 10)), ("Price per dozen GBP", "48.00", (4800, "GBP", 12)),
    ("Price/100 GBP", "480.00", (48000, "GBP", 100)), ("Prix les 10 €", "48,00", (4800, "EUR", 10)),
    ("Preis pro 3er-Pack €", "9,75", (975, "EUR", 3)), ("Prijs per 5 stuks EUR", "24,00", (2400, "EUR", 5)),
    ("Prezzo cad. EUR", "4,80", (480, "EUR", 1)), ("Price (pence)", "86", (86, "GBP", 1)),
     ("Price p", "86", (86, "GBP", 1)),
    ("Preis in Cent (EUR)", "480", (480, "EUR", 1)), ("Preis ct EUR", "480", (480, "EUR", 1)),
    ("Preis ab 1.1.2026 EUR", "4,80", (480, "EUR", 1)), ("price_gbp", "4.80", (480, "GBP", 1)),
    ("Prezzo in euro", "4,80", (480, "EUR", 1)), ("Precio (euros)", "4,80", (480, "EUR", 1)),
    ("Preis SFr.", "4.80", (480, "CHF", 1)),
]  # fmt: skip


@pytest.mark.parametrize(("heading", "cell", "price"), HEADINGS, ids=[h[0] for h in HEADINGS])
def test_a_heading_of_prices(heading: str, cell: str, price: tuple[int, str, int], tmp_path: Path) -> None:
    assert price_of(read_catalogue(priced(tmp_path, heading, cell)), "A-1") == price


LINES_OF_UNITS = [
    ("Preis", "CHF", "4.80", (480, "CHF", 1)), ("Price", "GBP/10", "48.00", (4800, "GBP", 10)),
    ("Prix", "€ HT", "4,80", (480, "EUR", 1)), ("Price", "pence", "86", (86, "GBP", 1)),
    ("Preis EUR", "", "4,80", (480, "EUR", 1)), ("Preis EUR", "je Dutzend", "48,00", (4800, "EUR", 12)),
    ("Preis EUR", "CHF", "4.80", (-1, "", 1)),
]  # fmt: skip


@pytest.mark.parametrize(("heading", "below", "cell", "price"), LINES_OF_UNITS)
def test_a_line_of_units_below_a_price(
    heading: str, below: str, cell: str, price: tuple[int, str, int], tmp_path: Path
) -> None:
    text = f"Item;Width;Strength;Length;{heading}\n;mm;mm;mm;{below}\nA-1;2.5;0.16;340;{cell}\n"
    read = read_catalogue(listed(tmp_path, text))
    assert price_of(read, "A-1") == price
    if price[0] < 0:  # not known, and said why
        assert any("EUR or CHF" in str(finding) for finding in read.findings)


CELLS = [
    ("US$ 4.80", (480, "USD", 1)), ("86p", (86, "GBP", 1)), ("3er-Pack 9,75 €", (975, "EUR", 3)),
    ("9,75 € (VPE 10)", (975, "EUR", 10)), ("4,80 EUR/St.", (480, "EUR", 1)), ("£4.80 each", (480, "GBP", 1)),
    ("€ 4,80 je Stück", (480, "EUR", 1)), ("48,00 €/Dtzd.", (4800, "EUR", 12)), ("4,80 € zzgl. MwSt.", (480, "EUR", 1)),
    ("4,80 € TTC", (480, "EUR", 1)), ("4€80", (480, "EUR", 1)), ("CHF 4.80", (480, "CHF", 1)),
     ("4,80 Euro", (480, "EUR", 1)),
    ("£4.80 ex VAT", (480, "GBP", 1)), ("50 Rp.", (50, "CHF", 1)), ("£4.80*", (480, "GBP", 1)),
     ("A$4.80", (480, "AUD", 1)),
    ("pack of 3 £9.75", (975, "GBP", 3)), ("£9.75 per pack of 3", (975, "GBP", 3)),
     ("GBP 6.800039999999999", (680, "GBP", 1)),
    ("4,80 € / 10 Stück", (480, "EUR", 10)), ("10 Stück 4,80 €", (480, "EUR", 10)),
]  # fmt: skip


@pytest.mark.parametrize(("cell", "price"), CELLS, ids=[c[0] for c in CELLS])
def test_a_cell_of_prices(cell: str, price: tuple[int, str, int], tmp_path: Path) -> None:
    assert price_of(read_catalogue(priced(tmp_path, "Price", cell)), "A-1") == price


UNKNOWN = [
    "$4.80", "(4.80) GBP", "4.80- GBP", "-4.80 GBP", "ab 12.50 €", "£4.8O", "twenty pounds", "£3/10/-", "4s 6d", "POA",
    "£4.80 / €5.60", "4.80 - 5.60 GBP", "was £6.00 now £4.80", "2/5.00 GBP", "¥480", "kr 45", "1.2.3 EUR",
     "£4.80 (1-9) £4.20 (10+)",
]  # fmt: skip


@pytest.mark.parametrize("cell", UNKNOWN)
def test_a_price_that_cannot_be_read_keeps_its_spring(cell: str, tmp_path: Path) -> None:
    reading = read_catalogue(priced(tmp_path, "Price", cell))
    assert reading.rows_kept == 1
    assert price_of(reading, "A-1")[0] == -1
    assert any(cell in found.saw for found in reading.findings), "it is not said"
    assert not any("--" in str(found) for found in reading.findings)


def test_four_hundred_dollar_prices_keep_four_hundred_springs(tmp_path: Path) -> None:
    rows = "".join(f"A-{n};2.5;0.16;{340 + n};$4.80\n" for n in range(400))
    reading = read_catalogue(listed(tmp_path, f"{SIZES};Price\n{rows}"))
    assert reading.rows_kept == 400
    assert len(reading.findings) < 10
    assert read_catalogue(tmp_path / "list.csv", currency="USD").catalogue.price_minor.tolist() == [480] * 400


def test_an_undecided_mark_costs_the_price_and_not_the_list(tmp_path: Path) -> None:
    reading = read_catalogue(listed(tmp_path, f"{SIZES};Price EUR\nA-1;2.5;0.16;340;1.250\n"))
    assert price_of(reading, "A-1")[0] == -1
    assert any("1.250" in found.saw and "1250" in str(found) for found in reading.findings)


@pytest.mark.parametrize(
    ("headings", "cells", "price"),
    [
        ("1-9;10-24;25+", "4.80;4.20;3.90", 480), ("ab 1;ab 10;ab 25", "4.80;4.20;3.90", 480),
        ("Price 1-9 GBP;Price 10-24 GBP;Price 25+ GBP", "4.80;4.20;3.90", 480),
        ("25+;10-24;1-9", "3.90;4.20;4.80", 480), ("1+;10+;25+", "4.80;4.20;3.90", 480),
        ("Price;Price 10+", "4.80;4.20", 480), ("Preis EUR;ab 10 Stück;ab 100 Stück", "4,80;4,20;3,90", 480),
        ("Old price;New price", "6.00;4.80", 480), ("Price;RRP", "4.80;9.60", 480),
        ("Price each;Price per dozen", "4.80;50.00", 480),
    ],
)  # fmt: skip
def test_of_several_prices_the_one_for_a_single_piece_is_taken(
    headings: str, cells: str, price: int, tmp_path: Path
) -> None:
    reading = read_catalogue(priced(tmp_path, headings, cells), currency="GBP" if "EUR" not in headings else "EUR")
    assert price_of(reading, "A-1")[0] == price
    assert price_of(reading, "A-1")[2] == 1


@pytest.mark.parametrize(
    "headings", ["Price A;Price B", "Preis netto;Preis brutto", "Price 10+;Price 25+", "Price 1;Price 2"]
)
def test_prices_that_cannot_be_told_apart_are_unknown_and_asked_about(headings: str, tmp_path: Path) -> None:
    reading = read_catalogue(priced(tmp_path, headings, "4.80;5.60"), currency="GBP")
    assert reading.rows_kept == 1
    assert price_of(reading, "A-1")[0] == -1
    assert any(headings.split(";")[0] in found.saw for found in reading.findings)


PACKS = [
    ("Price GBP;Sold by", "48.00;dozen", 12), ("Price GBP;UOM", "48.00;DZ", 12), ("Price GBP;UOM", "4.80;EA", 1),
    ("Prix €;Colisage", "48,00;10", 10), ("Price GBP;Qty/pkt", "9.75;3", 3), ("Price GBP;Per pkt", "9.75;3", 3),
    ("Preis €;VPE", "9,75;3 St.", 3), ("Price GBP;Pack", "9.75;3-pack", 3), ("Preis €;VPE", "9,75;3er", 3),
    ("Price GBP;Sold by", "9.75;pack of 3", 3), ("Prezzo €;Conf.", "9,75;3 pz", 3), ("Preis €;VPE", "9,75;1,000", 1),
]  # fmt: skip


@pytest.mark.parametrize(("headings", "cells", "pack"), PACKS)
def test_a_column_of_packs(headings: str, cells: str, pack: int, tmp_path: Path) -> None:
    more = "\nA-2;1,8;0,11;300;9,75;3,000\n" if "1,000" in cells else "\n"
    path = listed(tmp_path, f"{SIZES};{headings}\nA-1;2,5;0,16;340;{cells}{more}")
    if "." in cells and "," not in cells:
        path = listed(tmp_path, f"{SIZES};{headings}\nA-1;2.5;0.16;340;{cells}\n")
    assert price_of(read_catalogue(path), "A-1")[2] == pack


def test_a_pack_that_could_be_one_or_a_thousand_is_not_guessed(tmp_path: Path) -> None:
    reading = read_catalogue(listed(tmp_path, f"{SIZES};Price GBP;Pack\nA-1;2.5;0.16;340;4.80;1,000\n"))
    assert reading.rows_kept == 1
    assert price_of(reading, "A-1")[0] == -1


@pytest.mark.parametrize(
    ("title", "pack"),
    [("Preise je Dutzend", 12), ("Prices per dozen", 12), ("Prix par 10 pièces", 10), ("All prices per 100", 100),
     ("Preise verstehen sich pro Stück", 1), ("Prezzi per dozzina", 12), ("prijzen per 10 stuks", 10)],
)  # fmt: skip
def test_a_title_says_what_the_prices_are_for(title: str, pack: int, tmp_path: Path) -> None:
    assert price_of(read_catalogue(priced(tmp_path, "Price EUR", "48.00", title)), "A-1") == (4800, "EUR", pack)


@pytest.mark.parametrize(
    ("title", "currency"),
    [("Alle Preise in EUR", "EUR"), ("All prices in £", "GBP"), ("Prices in US$", "USD"),
     ("Prix en francs suisses", "CHF"),
     ("Prezzi in euro", "EUR"), ("Preise in SFr.", "CHF")],
)  # fmt: skip
def test_a_title_says_the_currency(title: str, currency: str, tmp_path: Path) -> None:
    assert price_of(read_catalogue(priced(tmp_path, "Price", "4.80", title)), "A-1") == (480, currency, 1)


@pytest.mark.parametrize(
    ("heading", "title"),
    [("Preis netto EUR", ""), ("Prix HT €", ""), ("Price ex VAT GBP", ""), ("Price GBP", "All prices exclude VAT"),
     ("Preis EUR", "Alle Preise zzgl. MwSt."), ("Prezzo IVA esclusa EUR", ""), ("Prijs excl. BTW EUR", ""),
     ("Precio sin IVA EUR", ""), ("Prix EUR", "Prix hors taxes")],
)  # fmt: skip
def test_prices_without_tax_are_said(heading: str, title: str, tmp_path: Path) -> None:
    reading = read_catalogue(priced(tmp_path, heading, "4.80", title))
    assert price_of(reading, "A-1")[0] == 480
    assert "prices_without_tax" in codes(reading)


def test_a_map_says_pence_and_pack_one(tmp_path: Path) -> None:
    path = listed(tmp_path, f"{SIZES};Price per 10\nA-1;2.5;0.16;340;86\n")
    told = ColumnMap({"Price per 10": MapEntry("price", unit="pence", pack=1)}, currency="GBP")
    assert price_of(read_catalogue(path, column_map=told), "A-1") == (86, "GBP", 1)


def test_a_price_rounded_to_the_coin_is_said(tmp_path: Path) -> None:
    assert "price_rounded" in codes(read_catalogue(priced(tmp_path, "Price GBP", "6.800039999999999")))


@pytest.mark.parametrize(
    "heading", ["Preis/m EUR", "Price per metre GBP", "Preis DM", "Prix FF", "Price per set GBP", "Preis EUR/CHF"]
)
def test_a_price_for_something_else_is_unknown_and_asked_about(heading: str, tmp_path: Path) -> None:
    reading = read_catalogue(priced(tmp_path, heading, "4.80"), currency="GBP")
    assert price_of(reading, "A-1")[0] == -1
    assert "price_unclear" in codes(reading)


def test_a_price_per_pack_is_for_what_the_column_of_packs_says(tmp_path: Path) -> None:
    assert price_of(read_catalogue(priced(tmp_path, "Preis/VE EUR;VE", "48,00;10")), "A-1") == (4800, "EUR", 10)


@pytest.mark.parametrize(
    "title", ["Prices are for packs of 10", "Price per pack of 10", "Dozen prices", "Preise für 10er-Packungen"]
)
def test_titles_of_packs(title: str, tmp_path: Path) -> None:
    pack = 12 if "Dozen" in title else 10
    assert price_of(read_catalogue(priced(tmp_path, "Price EUR", "48.00", title)), "A-1") == (4800, "EUR", pack)


def test_a_title_that_leaves_open_what_the_price_is_for(tmp_path: Path) -> None:
    reading = read_catalogue(priced(tmp_path, "Price GBP", "4.80", "Sold in packs of 10 only"))
    assert price_of(reading, "A-1")[0] == -1
    assert "price_unclear" in codes(reading)


def test_a_currency_beside_that_is_not_the_headings_is_not_believed(tmp_path: Path) -> None:
    assert price_of(read_catalogue(priced(tmp_path, "Price EUR;Currency", "4.80;GBP")), "A-1")[0] == -1


def test_a_currency_given_for_prices_that_say_none_leaves_those_that_do(tmp_path: Path) -> None:
    """A list in two currencies, and one to reckon in."""
    header = ["Item", "Width mm", "Strength mm", "Length mm", "Price", "Currency"]
    rows = [
        ["a", "2.9", "0.17", "500", "10", "EUR"],
        ["b", "2.9", "0.18", "480", "11", "GBP"],
        ["c", "2.9", "0.18", "470", "9", ""],
    ]
    path = listed(tmp_path, "\n".join(",".join(row) for row in [header, *rows]) + "\n")
    assert read_catalogue(path, currency="GBP").catalogue.currency.tolist() == ["EUR", "GBP", "GBP"]
