"""Headings and cells as they stand in real lists, each once."""

from __future__ import annotations

from pathlib import Path

import pytest

from orderbook.catalogue import read_catalogue
from tests.catalogue.invented import CLOCK, INCH, WATCH, assert_reads, listed, springs_of, written

SIZES = ["Width mm", "Strength mm", "Length mm"]


@pytest.mark.parametrize(
    "heading",
    ["Art.", "EAN", "Modell", "Typ", "Stk no.", "Stk. No.", "Art.-Nr.", "Artikel", "Réf.", "Cod.", "P/N", "Model",
     "Modèle",
     "Modello", "Modelo", "Item #", "Bestell-Nr", "Order no.", "Cat. No.", "Teile-Nr.", "SKU", "Ref", "Code article",
     "Codice", "Código", "Artikelcode", "Bestelnr.", "Part", "Part #", "Stock no", "Product", "Nr.", "N°", "ID",
     "Catalogue #"],
)  # fmt: skip
def test_headings_of_the_item_number(heading: str, tmp_path: Path) -> None:
    assert_reads(listed(tmp_path, written([heading, *SIZES])))


@pytest.mark.parametrize(
    "names",
    [("Width", "Thickn.", "Lgth"), ("Wdth", "Thk", "Lgth."), ("Breite", "Stärke", "Länge"), ("Br.", "St.", "Lg."),
     ("Larg.", "Ép.", "Long."), ("Haut.", "Épais.", "Long."), ("Largh.", "Spess.", "Lungh."), ("Alt.", "Sp.", "Lungh."),
     ("Ancho", "Grosor", "Largo"), ("Anch.", "Esp.", "Long."), ("Br.", "Dikte", "Lengte"), ("B", "D", "L"),
     ("H", "F", "L"),
     ("W", "T", "L"), ("BREITE", "DICKE", "LÄNGE"), ("breite", "staerke", "laenge"),
     ("Blade width", "Blade thickness", "Blade length"),
     ("Klingenbreite", "Klingenstärke", "Klingenlänge"), ("Federbreite", "Federdicke", "Federlänge"),
     ("Hoogte", "Sterkte", "Lengte"),
     ("Hauteur", "Force", "Longueur"), ("Altezza", "Forza", "Lunghezza"), ("Altura", "Fuerza", "Longitud")],
)  # fmt: skip
def test_headings_of_the_sizes(names: tuple[str, str, str], tmp_path: Path) -> None:
    assert_reads(listed(tmp_path, written(["Item no.", *names])))


@pytest.mark.parametrize(
    ("heading", "cell"),
    [
        ("Stärke x Breite x Länge", "0,16 x 2,5 x 340"), ("Breite x Stärke x Länge", "2,5 x 0,16 x 340"),
        ("Length x width x thickness", "340 x 2.5 x 0.16"), ("BxSxL", "2,5x0,16x340"),
        ("H x F x L", "2.5 x 0.16 x 340"),
        ("Breite/Stärke/Länge mm", "2,5/0,16/340"), ("Maße", "2,5 x 0,16 x 340 mm"), ("Size", "2.5 * 0.16 * 340"),
        ("Size", "2.5 × 0.16 × 340 mm"), ("Size (W x T x L)", "2.5 x 0.16 x 340"),
        ("Size", "2.5 mm x 0.16 mm x 340 mm"),
        ("Dimensions l x e x L", "2,5 x 0,16 x 340"), ("Breite mm x Stärke 1/100 mm x Länge cm", "2,5 x 16 x 34"),
        ("Size", "2.5 X 0.16 X 340"), ("Maße B/S/L", "2,5 / 0,16 / 340"), ("Size", "2.5 - 0.16 - 340"),
        ("Size", "W 2.5 x T 0.16 x L 340"), ("Maße", "B 2,5 mm, S 0,16 mm, L 340 mm"),
    ],
)  # fmt: skip
def test_all_sizes_in_one_column(heading: str, cell: str, tmp_path: Path) -> None:
    text = f"Item;{heading}\nA-1;{cell}\nA-9;{cell.replace('2.5', '2.6').replace('2,5', '2,6')}\n"
    reading = read_catalogue(listed(tmp_path, text))
    assert springs_of(reading)[0] == pytest.approx(WATCH[0][1:], rel=1e-6) or springs_of(reading)[0] == WATCH[0]


@pytest.mark.parametrize(
    ("cell", "mm"),
    [("96”", 96 * INCH), ("96“", 96 * INCH), ("8' 6\"", 102 * INCH), ("8’6”", 102 * INCH), ("8 ft 6 in", 102 * INCH),
     ("8ft", 96 * INCH), ("8′", 96 * INCH), ("96 ins.", 96 * INCH), ("96 ins", 96 * INCH), ("2,25 m", 2250),
     ("225 cms", 2250),
     ("2250mm.", 2250), ("2 250 mm", 2250), ("2'250 mm", 2250), ("88½ in", 2247.9), ("88 1/2\"", 2247.9),
     ("88-1/2 in", 2247.9),
     ("mm 2250", 2250), ("2250 m/m", 2250), ("ca. 2250 mm", 2250), ("env. 2250 mm", 2250), ("2.250,0 mm", 2250),
     ("89 Zoll", 89 * INCH),
     ("89 pouces", 89 * INCH), ("89 pollici", 89 * INCH), ("89 duim", 89 * INCH), ("89 pulg.", 89 * INCH),
     ("2250 millimètres", 2250)],
)  # fmt: skip
def test_a_cell_with_its_unit(cell: str, mm: float, tmp_path: Path) -> None:
    path = listed(tmp_path, f"Item\tWidth mm\tStrength mm\tLength\nC-2\t35\t0.45\t{cell}\n")
    assert read_catalogue(path).catalogue.length_mm.tolist() == [pytest.approx(mm)]


@pytest.mark.parametrize(
    "cell", ["300-320", "300–320", "300 bis 320", "300 to 320", "300...320", "300/320", "300 à 320", "300 mm - 320 mm",
     "min. 300",
             "300+", ">300", "340 ± 5", "< 340", "340?", "about 340?", "34O", "l340"]
)  # fmt: skip
def test_a_range_is_refused_with_the_reason(cell: str, tmp_path: Path) -> None:
    text = written(["Item", *SIZES]) + f"X-1;2.5;0.16;{cell}\n"
    reading = read_catalogue(listed(tmp_path, text))
    assert [s.item for s in springs_of(reading)] == [s.item for s in WATCH]
    assert len(reading.rejects) == 1
    if cell[-3:] == "320" or cell.endswith("320 mm"):
        assert "range" in reading.rejects[0].reason


@pytest.mark.parametrize(
    ("cell", "left"),
    [("rupture de stock", 0), ("nicht auf Lager", 0), ("sin stock", 0), ("0 St", 0), ("non disponibile", 0),
     ("niet op voorraad", 0),
     ("out of stock", 0), ("sold out", 0), ("vergriffen", 0), ("esaurito", 0), ("agotado", 0), ("uitverkocht", 0),
     ("épuisé", 0),
     ("nicht lieferbar", 0), ("nicht vorrätig", 0), ("no", 0), ("0", 0), ("5 St.", 5), ("12 pcs", 12), ("3 Stück", 3),
     ("4 pièces", 4),
     (">10", 10), ("10+", 10), ("3", 3), ("3,00", 3), ("3.0", 3), ("ja", -1), ("auf Lager", -1), ("in stock", -1),
     ("", -1),
     ("on request", -1), ("discontinued", 0), ("not available", 0), ("en stock", -1), ("5 in stock", 5),
     ("0 in stock", 0),
     ("temporarily out of stock", 0), ("derzeit nicht lieferbar", 0), ("pas en stock", 0), ("non in magazzino", 0)],
)  # fmt: skip
def test_words_of_stock(cell: str, left: int, tmp_path: Path) -> None:
    path = listed(tmp_path, f"Item;{';'.join(SIZES)};Stock\nA-1;2.5;0.16;340;{cell}\n")
    assert read_catalogue(path).catalogue.stock.tolist() == [left]


def test_a_line_of_two_headings_one_above_the_other(tmp_path: Path) -> None:
    text = written(["Item", "Width", "Strength", "Length"], title=[";Blade sizes in mm;;"])
    assert_reads(listed(tmp_path, text))


def test_barrel_columns_are_no_sizes(tmp_path: Path) -> None:
    heading = "Item;Barrel diameter;Barrel width;Width;Strength;Length;Arbor"
    text = f"{heading}\nC-1;65;20;18;0.40;1500;12\nC-2;70;40;35;0.45;2250;14\n"
    assert_reads(listed(tmp_path, text), CLOCK[:2])


def test_a_height_beside_a_width_is_asked_about(tmp_path: Path) -> None:
    from tests.catalogue.invented import refusal

    refusal(listed(tmp_path, "Item;Height;Width;Strength;Length\nC-1;20;18;0.40;1500\nC-2;40;35;0.45;2250\n"))
