"""A unit that a list says is understood, or the list stops with a question; it is never mm by silence."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.catalogue.invented import (
    CLOCK,
    INCH,
    LIGNE,
    WATCH,
    assert_reads,
    listed,
    misread,
    refusal,
    written,
)

ITEM, W, S, L = "Item", "Width mm", "Strength mm", "Length mm"
# heading of one size, which one, mm of its unit
UNDERSTOOD = [
    ("Largeur en pouces", 0, INCH), ("Larghezza (pollici)", 0, INCH), ("Ancho en pulgadas", 0, INCH),
    ("Breedte in duim", 0, INCH), ("Breite Zoll", 0, INCH), ("Breite [Zoll]", 0, INCH), ("Width ins.", 0, INCH),
    ("Width (ins)", 0, INCH), ("Width in.", 0, INCH), ("Width, inches", 0, INCH), ("Width in inches", 0, INCH),
    ("width_in", 0, INCH), ('Width "', 0, INCH), ("Width ″", 0, INCH), ("Width ”", 0, INCH), ("inch width", 0, INCH),
    ("Width 1/16 in", 0, INCH / 16), ("Width 1/16 inch", 0, INCH / 16), ("Width (1/16ths in)", 0, INCH / 16),
    ("Breite Zehntel mm", 0, 0.1), ("Largeur m/m", 0, 1), ("Larg. m/m", 0, 1), ("Breite/mm", 0, 1),
    ("BreiteMM", 0, 1), ("width_mm", 0, 1), ("Breite [mm]", 0, 1), ("Largeur en millimètres", 0, 1),
    ("Larghezza in millimetri", 0, 1), ("Ancho (milímetros)", 0, 1), ("Breite in Millimetern", 0, 1),
    ("Width (lignes)", 0, LIGNE), ("Largeur lignes", 0, LIGNE), ("Width ‴", 0, LIGNE), ("Width '''", 0, LIGNE),
    ("Hauteur en douzièmes de ligne", 0, LIGNE / 12), ("Hauteur 1/12 ligne", 0, LIGNE / 12),
    ("Largeur (douzièmes)", 0, LIGNE / 12),
    ("Épaisseur dixièmes", 1, 0.1), ("Épaisseur en dixièmes de mm", 1, 0.1), ("Stärke Zehntel", 1, 0.1),
    ("Stärke (1/10 mm)", 1, 0.1), ("Spessore decimi di mm", 1, 0.1), ("Espesor décimas", 1, 0.1),
    ("Dikte tienden", 1, 0.1), ("Thickness tenths of a mm", 1, 0.1),
    ("Stärke Hundertstel", 1, 0.01), ("Stärke 1/100", 1, 0.01), ("Stärke in 1/100 mm", 1, 0.01),
    ("Épaisseur centièmes", 1, 0.01), ("Épaisseur 1/100e", 1, 0.01), ("Spessore centesimi", 1, 0.01),
    ("Espesor centésimas de mm", 1, 0.01), ("Dikte honderdsten", 1, 0.01), ("Thickness 0.01 mm", 1, 0.01),
    ("Stärke 0,01mm", 1, 0.01), ("Thickness hundredths", 1, 0.01), ("Stärke µm", 1, 0.001),
    ("Thickness microns", 1, 0.001), ("Thickness thou", 1, INCH / 1000), ("Thickness 1/1000 in", 1, INCH / 1000),
    ('Thickness .001"', 1, INCH / 1000), ("Thickness thousandths of an inch", 1, INCH / 1000),
    ("Länge Zentimeter", 2, 10), ("Longueur centimètres", 2, 10), ("Length cms", 2, 10), ("Length (cms.)", 2, 10),
    ("Lunghezza centimetri", 2, 10), ("Largo en centímetros", 2, 10), ("Lengte centimeter", 2, 10),
    ("Long. c/m", 2, 10), ("Länge Zoll", 2, INCH), ("Longueur pouces", 2, INCH), ("Lunghezza pollici", 2, INCH),
    ("Largo (pulgadas)", 2, INCH), ("Lengte duim", 2, INCH), ("Length in feet", 2, 12 * INCH),
    ("Length ft", 2, 12 * INCH), ("Length yds", 2, 36 * INCH), ("Länge Meter", 2, 1000), ("Longueur mètres", 2, 1000),
    ("Länge m", 2, 1000), ("Länge dm", 2, 100),
]  # fmt: skip


def headings(heading: str, which: int) -> list[str]:
    names = [W, S, L]
    names[which] = heading
    return [ITEM, *names]


def factors(which: int, mm: float) -> list[float]:
    sizes = [1.0, 1.0, 1.0]
    sizes[which] = mm
    return sizes


@pytest.mark.parametrize(("heading", "which", "mm"), UNDERSTOOD, ids=[u[0] for u in UNDERSTOOD])
@pytest.mark.parametrize("springs", [WATCH, CLOCK], ids=["watch", "clock"])
def test_a_unit_in_a_heading_is_understood(heading: str, which: int, mm: float, springs, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    assert_reads(listed(tmp_path, written(headings(heading, which), springs, factors(which, mm))), springs)


LINES = [
    ("pouces", INCH), ("pollici", INCH), ("(Zoll)", INCH), ("[inch]", INCH), ("mm", 1), ("m/m", 1), ("1/10 mm", 0.1),
    ("lignes", LIGNE), ("douzièmes", LIGNE / 12), ("cm", 10), ("″", INCH), ("ins.", INCH), ("in mm", 1),
]  # fmt: skip


@pytest.mark.parametrize(("unit", "mm"), LINES, ids=[u[0] for u in LINES])
def test_a_line_of_units_under_the_headings_is_understood(unit: str, mm: float, tmp_path: Path) -> None:
    text = written([ITEM, "Width", S, L], WATCH, (mm, 1, 1), rows_between=[f";{unit};mm;mm"])
    reading = assert_reads(listed(tmp_path, text))
    assert reading.rows_in == 3
    text = written([ITEM, "Breite", "Stärke", "Länge"], WATCH, (mm, 1, 1), rows_between=[f"-;{unit};mm;mm"])
    assert_reads(listed(tmp_path, text))


TITLES = [
    ("All sizes in inches", INCH, CLOCK), ("Spring list - dimensions in inches (ins.)", INCH, CLOCK),
    ("Maße in Zoll", INCH, CLOCK), ("Alle Maße in mm", 1, WATCH), ("Dimensions en lignes", LIGNE, WATCH),
    ("Toutes les dimensions en pouces", INCH, CLOCK), ("Misure in pollici", INCH, CLOCK),
    ("Medidas en pulgadas", INCH, CLOCK), ("Maten in duim", INCH, CLOCK), ("Afmetingen in mm", 1, CLOCK),
    ("sizes: 1/100 mm", 0.01, WATCH), ("Watch mainsprings, all measurements in hundredths of a mm", 0.01, WATCH),
    ("INCH SIZES", INCH, CLOCK), ("Dimensions en mm - tarif 2026", 1, WATCH),
]  # fmt: skip


@pytest.mark.parametrize(("title", "mm", "springs"), TITLES, ids=[t[0] for t in TITLES])
def test_a_unit_in_a_title_line_holds_for_the_bare_columns(title: str, mm: float, springs, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    text = written([ITEM, "Width", "Strength", "Length"], springs, (mm, mm, mm), title=[title, ""])
    assert_reads(listed(tmp_path, text), springs)


def test_a_title_that_gives_each_size_its_unit(tmp_path: Path) -> None:
    for title in (
        "Width in mm, thickness in 1/100 mm, length in cm",
        "Breite in mm, Stärke in 1/100 mm, Länge in cm",
        "Largeur en mm; épaisseur en centièmes; longueur en cm",
    ):
        text = written([ITEM, "Width", "Strength", "Length"], WATCH, (1, 0.01, 10), title=[title])
        assert_reads(listed(tmp_path, text))


def test_a_remark_at_the_end_holds_too(tmp_path: Path) -> None:
    text = written([ITEM, "Width", "Strength", "Length"], CLOCK, (INCH, INCH, INCH))
    assert_reads(listed(tmp_path, text + "All sizes in inches.\n"), CLOCK)


def test_a_section_that_says_another_unit_is_read_in_it(tmp_path: Path) -> None:
    watch = written([ITEM, "Width", "Strength", "Length"], WATCH, title=["All sizes in mm"])
    clock = written(["x"], CLOCK, (INCH, INCH, INCH)).partition("\n")[2]
    path = listed(tmp_path, f"{watch}Clock springs - sizes in inches;;;\n{clock}")
    assert_reads(path, (*WATCH, *CLOCK))


# what a heading, a line of units or a title may say and nobody can be sure of
DOUBTFUL = [
    "Breite Linien", "Width lines", "Width (lines)", "Larghezza linee", "Breite Pariser Zoll", "Width frobs",
    "Width (qx)", "Breite Rheinl. Zoll", "Largeur en points", "Width 1/16", "Breite Fuß", "Width No.", "Width no",
    "Hauteur n°", "Breite Nr.", "Hauteur No", "Larghezza n.", "Width #", "Width gauge", "Width mm/inch",
     "Width mm (in)",
]  # fmt: skip
DOUBTFUL_STRENGTHS = [
    "Strength (old English gauge)", "Strength No.", "Stärke Nr.", "Force n°", "Thickness gauge no.",
     "Stärke Tausendstel",
    "Épaisseur millièmes", "Strength 1/12", "Thickness lines", "Stärke (Grad)", "Thickness AWG", "Gauge",
]  # fmt: skip


@pytest.mark.parametrize("springs", [WATCH, CLOCK], ids=["watch", "clock"])
@pytest.mark.parametrize("heading", DOUBTFUL)
def test_a_doubtful_word_in_a_heading_stops_with_a_question(heading: str, springs, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    refusal(listed(tmp_path, written([ITEM, heading, S, L], springs)))


@pytest.mark.parametrize("heading", DOUBTFUL_STRENGTHS)
def test_a_strength_that_may_be_a_gauge_is_not_mm(heading: str, tmp_path: Path) -> None:
    text = written([ITEM, W, heading, L], WATCH)
    assert misread(listed(tmp_path, text)) == []


@pytest.mark.parametrize("word", ["Linien", "lines", "frobs", "(qx)", "Nr.", "gauge", "points", "pt."])
def test_a_doubtful_word_under_the_headings_stops_with_a_question(word: str, tmp_path: Path) -> None:
    refusal(listed(tmp_path, written([ITEM, "Width", "Strength", "Length"], rows_between=[f";{word};mm;mm"])))
    refusal(listed(tmp_path, written([ITEM, "Width", "Strength", "Length"], rows_between=[f";{word};{word};{word}"])))


@pytest.mark.parametrize(
    "title",
    ["All sizes in lines", "Maße in Linien", "Sizes in frobs", "Sizes in inches (mm in brackets)", "Sizes in pt."],
)
def test_a_doubtful_title_stops_with_a_question(title: str, tmp_path: Path) -> None:
    refusal(listed(tmp_path, written([ITEM, "Width", "Strength", "Length"], title=[title])))


def test_a_title_in_inches_over_sizes_that_can_only_be_mm_is_asked_about(tmp_path: Path) -> None:
    refusal(listed(tmp_path, written([ITEM, "Width", "Strength", "Length"], title=["All sizes in inches"])))


HARMLESS = [
    "Sizes of springs in stock", "Price list 2026", "Mainsprings for watches of 8 to 19 lignes",
     "Springs 1 mm to 4 mm wide",
    "Preisliste gültig ab 1. 1. 2026", "1 inch = 25.4 mm", "Three lines of springs", "Supplier North (invented)",
    "Lista prezzi - IVA esclusa", "Only in packs of 3", "Tarif au 01/02/2026",
]  # fmt: skip


@pytest.mark.parametrize("title", HARMLESS)
def test_words_that_are_no_unit_stop_nothing(title: str, tmp_path: Path) -> None:
    assert_reads(listed(tmp_path, written([ITEM, "Width", "Strength", "Length"], title=[title])))


@pytest.mark.parametrize(
    "heading",
    ["Blade width", "Width of blade", "Breite der Feder", "Hauteur de lame", "Width of spring", "Largeur du ressort",
     "Breite ca.", "Width (nominal)", "Spring width", "Bladbreedte", "Ancho del muelle"],
)  # fmt: skip
def test_harmless_words_in_a_heading_stop_nothing(heading: str, tmp_path: Path) -> None:
    assert_reads(listed(tmp_path, written([ITEM, heading, "Strength", "Length"])))


def test_a_column_of_units_speaks_for_its_row(tmp_path: Path) -> None:
    text = "Item;Width;Strength;Length;Unit\nA-1;2.5;0.16;340;mm\nC-1;0.70866142;0.015748031;59.055118;in\n"
    assert_reads(listed(tmp_path, text), (WATCH[0], CLOCK[0]))


def test_a_fraction_without_a_unit_is_not_mm(tmp_path: Path) -> None:
    text = "Item;Width;Strength;Length\nA-1;2 1/2;0.16;340\nA-2;1 3/4;0.11;300\n"
    refusal(listed(tmp_path, text))


@pytest.mark.parametrize("title", ["mm: width, strength; inches: length", "Width/strength: mm; length: inches"])
def test_a_title_that_names_the_unit_first(title: str, tmp_path: Path) -> None:
    text = written([ITEM, "Width", "Strength", "Length"], CLOCK, (1, 1, INCH), title=[title.replace(";", ",")])
    assert_reads(listed(tmp_path, text), CLOCK)


@pytest.mark.parametrize(
    "heading", ["Largeur (l.)", "Width (units)", "Largeur d.", "Width mm x 10", "Breite (E)", "Width (a)"]
)
def test_a_letter_or_a_word_that_may_be_short_for_a_unit_is_asked_about(heading: str, tmp_path: Path) -> None:
    refusal(listed(tmp_path, written([ITEM, heading, S, L], CLOCK)))
