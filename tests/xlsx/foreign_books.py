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
MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
PACKAGE = "http://schemas.openxmlformats.org/package/2006/relationships"
R = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"


def png() -> bytes:
    """A picture of one grey point."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 1, 1, 8, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0\x80")) + chunk(b"IEND", b"")


def by_xlsxwriter(path: Path, *, macros: bool = False, pivot: bool = False) -> None:
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
    if pivot:
        third = book.add_worksheet("Pivot")
        for row, cells in enumerate([("Row Labels", "Sum of mm"), *ROWS, ("Grand Total", sum(v for _, v in ROWS))], 2):
            third.write_row(row, 0, cells)
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


PIVOT_PARTS = {
    "xl/pivotCache/pivotCacheDefinition1.xml": (
        f'<pivotCacheDefinition xmlns="{MAIN}" xmlns:r="{R}" r:id="rId1" refreshedBy="bench" refreshedDate="46093" '
        'createdVersion="6" refreshedVersion="6" minRefreshableVersion="3" recordCount="3">'
        '<cacheSource type="worksheet"><worksheetSource ref="A1:B4" sheet="Work bench"/></cacheSource>'
        '<cacheFields count="2"><cacheField name="what" numFmtId="0"><sharedItems count="3">'
        '<s v="bore"/><s v="arbor"/><s v="depth"/></sharedItems></cacheField>'
        '<cacheField name="mm" numFmtId="0"><sharedItems containsSemiMixedTypes="0" containsString="0" '
        'containsNumber="1" minValue="11.2" maxValue="34.02"/></cacheField></cacheFields></pivotCacheDefinition>'
    ),
    "xl/pivotCache/pivotCacheRecords1.xml": (
        f'<pivotCacheRecords xmlns="{MAIN}" count="3"><r><x v="0"/><n v="34.02"/></r><r><x v="1"/><n v="11.2"/></r>'
        '<r><x v="2"/><n v="22.1"/></r></pivotCacheRecords>'
    ),
    "xl/pivotTables/pivotTable1.xml": (
        f'<pivotTableDefinition xmlns="{MAIN}" name="readings" cacheId="1" applyNumberFormats="0" '
        'applyBorderFormats="0" applyFontFormats="0" applyPatternFormats="0" applyAlignmentFormats="0" '
        'applyWidthHeightFormats="1" dataCaption="Values" updatedVersion="6" minRefreshableVersion="3" '
        'createdVersion="6" indent="0" outline="1" outlineData="1" multipleFieldFilters="0">'
        '<location ref="A3:B7" firstHeaderRow="1" firstDataRow="1" firstDataCol="1"/><pivotFields count="2">'
        '<pivotField axis="axisRow" showAll="0"><items count="4"><item x="0"/><item x="1"/><item x="2"/>'
        '<item t="default"/></items></pivotField><pivotField dataField="1" showAll="0"/></pivotFields>'
        '<rowFields count="1"><field x="0"/></rowFields><rowItems count="4"><i><x/></i><i><x v="1"/></i>'
        '<i><x v="2"/></i><i t="grand"><x/></i></rowItems><colItems count="1"><i/></colItems>'
        '<dataFields count="1"><dataField name="Sum of mm" fld="1" baseField="0" baseItem="0"/></dataFields>'
        '<pivotTableStyleInfo name="PivotStyleLight16" showRowHeaders="1" showColHeaders="1" showRowStripes="0" '
        'showColStripes="0" showLastColumn="1"/></pivotTableDefinition>'
    ),
    "xl/pivotCache/_rels/pivotCacheDefinition1.xml.rels": (
        f'<Relationships xmlns="{PACKAGE}"><Relationship Id="rId1" Type="{R}/pivotCacheRecords" '
        'Target="pivotCacheRecords1.xml"/></Relationships>'
    ),
    "xl/pivotTables/_rels/pivotTable1.xml.rels": (
        f'<Relationships xmlns="{PACKAGE}"><Relationship Id="rId1" Type="{R}/pivotCacheDefinition" '
        'Target="../pivotCache/pivotCacheDefinition1.xml"/></Relationships>'
    ),
    "xl/worksheets/_rels/sheet3.xml.rels": (
        f'<Relationships xmlns="{PACKAGE}"><Relationship Id="rId1" Type="{R}/pivotTable" '
        'Target="../pivotTables/pivotTable1.xml"/></Relationships>'
    ),
}


def with_pivot(path: Path) -> None:
    """Add a pivot table over A1:B4, on a sheet of its own, to a book.

    Source: ECMA-376-1, 18.10 (pivotCacheDefinition, pivotCacheRecords, pivotTableDefinition), from memory of the
    standard, print not re-seen; that LibreOffice shows it and saves it again is the check.
    """
    plain = path.with_suffix(".plain.xlsx")
    by_xlsxwriter(plain, pivot=True)
    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml"
    types = "".join(
        f'<Override PartName="/{part}" ContentType="{kind}.{name}+xml"/>'
        for part, name in zip(PIVOT_PARTS, ("pivotCacheDefinition", "pivotCacheRecords", "pivotTable"), strict=False)
    )
    link = f'<Relationship Id="rId95" Type="{R}/pivotCacheDefinition" Target="pivotCache/pivotCacheDefinition1.xml"/>'
    caches = '<pivotCaches><pivotCache cacheId="1" r:id="rId95"/></pivotCaches>'
    with zipfile.ZipFile(plain) as source, zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as target:
        for info in source.infolist():
            text = source.read(info)
            text = _insert(text, info.filename, "[Content_Types].xml", types, b"</Types>")
            text = _insert(text, info.filename, "xl/_rels/workbook.xml.rels", link, b"</Relationships>")
            text = _insert(text, info.filename, "xl/workbook.xml", caches, b"</workbook>")
            target.writestr(info.filename, text)
        for name, xml in PIVOT_PARTS.items():
            target.writestr(name, '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>' + xml)
    plain.unlink()


def _insert(data: bytes, name: str, wanted: str, text: str, before: bytes) -> bytes:
    return data.replace(before, text.encode() + before, 1) if name == wanted else data


MAKERS: dict[str, Callable[[Path], None]] = {
    "xlsxwriter.xlsx": by_xlsxwriter,
    "macros.xlsm": with_macros,
    "openpyxl.xlsx": by_openpyxl,
    "pandas.xlsx": by_pandas,
    "hand.xlsx": by_hand,
    "pivot.xlsx": with_pivot,
}
