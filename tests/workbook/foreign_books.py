"""Books made by others: XlsxWriter, openpyxl, pandas, and parts no library here writes, put together by hand."""

from __future__ import annotations

import io
import struct
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path

from orderbook.locate import data_folder

ROWS = [("bore", 34.02), ("arbor", 11.2), ("depth", 22.1)]
THREADED = (
    b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?><ThreadedComments '
    b'xmlns="http://schemas.microsoft.com/office/spreadsheetml/2018/threadedcomments"><threadedComment ref="D2" '
    b'dT="2026-03-12T10:00:00.00" personId="{11111111-2222-3333-4444-555555555555}" '
    b'id="{AAAAAAAA-BBBB-CCCC-DDDD-EEEEEEEEEEEE}"><text>measured twice</text></threadedComment></ThreadedComments>'
)
PERSONS = (
    b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?><personList '
    b'xmlns="http://schemas.microsoft.com/office/spreadsheetml/2018/threadedcomments"><person displayName="bench" '
    b'id="{11111111-2222-3333-4444-555555555555}" userId="bench" providerId="None"/></personList>'
)
CALC_CHAIN = (
    b'<?xml version="1.0" encoding="UTF-8" standalone="yes"?><calcChain '
    b'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><c r="F1" i="1"/></calcChain>'
)
R = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"


def png() -> bytes:
    """A picture of one grey point."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0\x80")) + chunk(b"IEND", b"")


def by_xlsxwriter(path: Path, *, macros: bool = False) -> None:
    import xlsxwriter

    book = xlsxwriter.Workbook(path)
    if macros:
        book.add_vba_project(str(data_folder("workbook_template") / "macros.bin"))
    sheet, other = book.add_worksheet("Work bench"), book.add_worksheet("Other")
    sheet.add_table(0, 0, 3, 2, {"name": "Read", "columns": [
        {"header": "what"}, {"header": "mm"}, {"header": "twice", "formula": "=Read[[#This Row],[mm]]*2"},
    ]})  # fmt: skip
    for row, (what, value) in enumerate(ROWS, 1):
        sheet.write_row(row, 0, [what, value])
        sheet.write_formula(row, 2, "=Read[[#This Row],[mm]]*2", None, 2 * value)
    sheet.write_formula("F1", "=SUM(Read[mm])", None, sum(v for _, v in ROWS))
    sheet.write_comment("D2", "a comment")
    sheet.conditional_format("B2:B4", {"type": "data_bar"})
    sheet.data_validation("B2:B4", {"validate": "decimal", "criteria": ">", "value": 0})
    chart = book.add_chart({"type": "column"})
    chart.add_series({"values": "='Work bench'!$B$2:$B$4", "categories": "='Work bench'!$A$2:$A$4"})
    sheet.insert_chart("H2", chart)
    other.insert_image("B2", "grey.png", {"image_data": io.BytesIO(png())})
    other.write_rich_string("A1", "rich ", book.add_format({"bold": True}), "text")
    book.define_name("all_mm", "='Work bench'!$B$2:$B$4")
    book.close()


def with_macros(path: Path) -> None:
    by_xlsxwriter(path, macros=True)


def by_openpyxl(path: Path) -> None:
    from openpyxl import Workbook
    from openpyxl.chart import BarChart, Reference
    from openpyxl.comments import Comment
    from openpyxl.formatting.rule import CellIsRule
    from openpyxl.workbook.defined_name import DefinedName
    from openpyxl.worksheet.table import Table

    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Work bench"
    sheet.append(["what", "mm"])
    for row in ROWS:
        sheet.append(list(row))
    sheet.add_table(Table(displayName="Read", ref="A1:B4"))
    sheet["D2"].comment = Comment("a comment", "bench")
    sheet["F1"] = "=SUM(B2:B4)"
    sheet.conditional_formatting.add("B2:B4", CellIsRule(operator="greaterThan", formula=["30"]))
    chart = BarChart()
    chart.add_data(Reference(sheet, min_col=2, min_row=1, max_row=4), titles_from_data=True)
    sheet.add_chart(chart, "H2")
    book.defined_names["all_mm"] = DefinedName("all_mm", attr_text="'Work bench'!$B$2:$B$4")
    book.create_sheet("Other")["A1"] = "text"
    book.save(path)


def by_pandas(path: Path) -> None:
    import pandas as pd

    pd.DataFrame(ROWS, columns=["what", "mm"]).to_excel(path, sheet_name="Work bench", index=False)


def by_hand(path: Path) -> None:
    """Add threaded comments, persons, an order of calculation, a custom part and a comment in the XML to a book."""
    plain = path.with_suffix(".plain.xlsx")
    by_xlsxwriter(plain)
    added = {
        "xl/threadedComments/threadedComment1.xml": THREADED, "xl/persons/person.xml": PERSONS,
        "xl/calcChain.xml": CALC_CHAIN, "customXml/item1.xml": b"<note>kept</note>",
    }  # fmt: skip
    microsoft = "http://schemas.microsoft.com/office/2017/10/relationships"
    types = (
        '<Override PartName="/xl/threadedComments/threadedComment1.xml" '
        'ContentType="application/vnd.ms-excel.threadedcomments+xml"/>'
        '<Override PartName="/xl/persons/person.xml" ContentType="application/vnd.ms-excel.person+xml"/>'
        '<Override PartName="/xl/calcChain.xml" '
        'ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.calcChain+xml"/>'
    )
    book_links = (
        f'<Relationship Id="rId90" Type="{microsoft}/person" Target="persons/person.xml"/>'
        f'<Relationship Id="rId91" Type="{R}/calcChain" Target="calcChain.xml"/>'
        f'<Relationship Id="rId92" Type="{R}/customXml" Target="../customXml/item1.xml"/>'
    )
    sheet_links = (
        f'<Relationship Id="rId90" Type="{microsoft}/threadedComment" '
        'Target="../threadedComments/threadedComment1.xml"/>'
    )
    with zipfile.ZipFile(plain) as source, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as target:
        for info in source.infolist():
            text = source.read(info)
            text = _insert(text, info.filename, "[Content_Types].xml", types, b"</Types>")
            text = _insert(text, info.filename, "xl/_rels/workbook.xml.rels", book_links, b"</Relationships>")
            text = _insert(text, info.filename, "xl/worksheets/_rels/sheet1.xml.rels", sheet_links, b"</Relationships>")
            text = _insert(text, info.filename, "xl/worksheets/sheet1.xml", "<!-- by hand -->", b"<sheetData>")
            target.writestr(info.filename, text)
        for name, data in added.items():
            target.writestr(name, data, zipfile.ZIP_STORED)
    plain.unlink()


def _insert(data: bytes, name: str, wanted: str, text: str, before: bytes) -> bytes:
    return data.replace(before, text.encode() + before, 1) if name == wanted else data


MAKERS: dict[str, Callable[[Path], None]] = {
    "xlsxwriter.xlsx": by_xlsxwriter,
    "macros.xlsm": with_macros,
    "openpyxl.xlsx": by_openpyxl,
    "pandas.xlsx": by_pandas,
    "hand.xlsx": by_hand,
}
