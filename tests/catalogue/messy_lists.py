"""The messy invented lists: what a shop's program might spit out. Written by `make_demo_lists.py`.

The expected files beside them in demo_catalog were worked out by hand from these rows, not by the reader.
"""

from __future__ import annotations

import datetime
from pathlib import Path

GERMAN = """\
Preisliste Aufzugfedern, Stand 2. 11. 2026 (erfunden);;;;;;;;

Art.-Nr.;Höhe mm;Stärke;Länge;Ende;VPE;Preis;Bestand;Bemerkung
G-201;2,50;0,14 mm;420 mm;Loch;1;4,80 €;3;
G-202;2,50;0,15 mm;400 mm;Loch;1;4,80 €;0;"blau; poliert"
G-203;2,60;0,16 mm;460 mm;Haken;Dutzend;52,80 €;12;
G-204;2,60;Nr. 12;460 mm;Haken;1;5,10 €;2;
G-205;2,70;Nr. 11;480 mm;Haken;1;5,10 €;ausverkauft;
G-206;2,70;0,165 mm;480 mm;Haken;1;auf Anfrage;2;=SUMME(A1)
Großuhrfedern;;;;;;;;
Art.-Nr.;Höhe mm;Stärke;Länge;Ende;VPE;Preis;Bestand;Bemerkung
G-301;18;0,35 mm;1.400 mm;Loch;1;12,00 €;4;
G-302;35;0,40 mm;2.250 mm;Loch;1;21,50 €;1;für Schnecke
G-303;38;0,45 mm;2.400 mm;Loch;1;1.024,00 €;1;ganze Rolle
G-304;38;4,5 mm;2.400 mm;Loch;1;24,00 €;1;
G-302;35;0,40 mm;2.250 mm;Loch;1;21,50 €;1;für Schnecke
G-301;18;0,35 mm;1.500 mm;Loch;1;12,00 €;4;
G-305;40;;2.500 mm;Loch;1;25,00 €;1;
Summe;;;;;;1.217,90 €;26;
"""

INCH = """\
"Spring list, all sizes in inches unless said (invented)","","","",""
Part no.,"Spring, width x thickness x length",Ends,Price,In stock
W-9001,"1 1/2"" x .018"" x 96\""",hole,£24.00,2
W-9002,"1 3/4"" x .0165"" x 108\""",hole,3 for £66.00,6
W-9003,"¾"" x 0.016"" x 84\""",loop,£14.50,out of stock
W-9004,1-1/4 in x 18 thou x 8 ft,hole,£228.00/doz,12
W-9005,.0063 x .110 x 15 3/4 in,riveted hook,4.75 GBP,5
W-9006,38mm x .45mm x 2.4m,hole,"£1,024.00",1
W-9007,1 1/2 x .018 x 96,hole,£24.00,1
W-9008,"1 1/2"" x .18"" x 96\""",hole,£24.00,1
W-9009,as W-9001 but blued,hole,£26.00,1
W-9001,"1 1/2"" x .018"" x 96\""",hole,£24.00,2
W-9010,17‴ x .018 in x 96 in,"hole,
then hook",POA,
W-9011,"1 1/2"" x .017"" x 96\""",hole,twenty pounds,1
W-9012,"1 1/2"" x .017"" x 96\""",hole,£2O.00,1
"""

EXPORT = [
    ["Supplier North, export of the spring drawer (invented)"],
    ["printed", datetime.date(2026, 11, 2)],
    [],
    ["Item number", "Blade width (mm)", "Thickness (1/100 mm)", "Length (cm)", "Price", "Currency", "Stock", "Remarks"],
    ["NX-1", 2.5, 16, 34, 4.5, "GBP", 3, "hole"],
    ["NX-2", 2.55, 16.5, 36.5, 4.5, "GBP", 0, None],
    ["NX-3", "2,6", 17, 38, 4.75, "EUR", 2, "-"],
    ["Clock springs"],
    [4711, 35, 40, 225, 21.5, "GBP", 1, "=made to order"],
    ["NX-5", 36, 42, 1.234, 22, "GBP", 1, None],
    ["NX-6", 36, 42, 230, "ask", None, 4, None],
    ["NX-7", 37, 42, datetime.date(2026, 3, 2), 22, "GBP", 1, None],
    ["NX-8", 38, 45, 240, 24.005, "GBP", 1, None],
    [None, 38, 45, 240, 24, "GBP", 1, None],
    ["Total", None, None, None, 127.755, None, 13, None],
]


def write_messy(folder: Path) -> None:
    """Write the messy lists: Windows-1252 with CRLF, UTF-8 with a byte order mark, and a workbook."""
    (folder / "messy_german.csv").write_bytes(GERMAN.replace("\n", "\r\n").encode("cp1252"))
    (folder / "messy_inch.csv").write_bytes(INCH.encode("utf-8-sig"))
    write_workbook(folder / "messy_export.xlsx")


def write_workbook(path: Path) -> None:
    """Write the export with a cover sheet before it, the same to the byte every time."""
    import xlsxwriter

    with xlsxwriter.Workbook(path) as workbook:
        workbook.set_properties({"created": datetime.datetime(2026, 11, 2), "comments": "invented"})
        cover = workbook.add_worksheet("Cover")
        cover.write_string(0, 0, "See the next sheet.")
        sheet = workbook.add_worksheet("Springs")
        date = workbook.add_format({"num_format": "yyyy-mm-dd"})
        for row, cells in enumerate(EXPORT):
            for column, cell in enumerate(cells):
                if isinstance(cell, datetime.date):
                    sheet.write_datetime(row, column, datetime.datetime(cell.year, cell.month, cell.day), date)
                elif isinstance(cell, str):
                    sheet.write_string(row, column, cell)
                elif cell is not None:
                    sheet.write_number(row, column, cell)
