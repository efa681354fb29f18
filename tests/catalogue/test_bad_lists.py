"""What is no list, or no whole one, is refused with one clear error; what can be read two ways is never guessed."""

from __future__ import annotations

import gzip
import io
import tracemalloc
import zipfile
from pathlib import Path

import pytest

from orderbook.catalogue import ColumnMap, Limits, MapEntry, bombs, map_of, map_text, read_catalogue, read_map
from orderbook.errors import OrderbookError
from orderbook.locate import data_folder

LISTS = data_folder("demo_catalog")
HEADER = "item,width mm,strength mm,length mm,price GBP\n"
ROW = "a,2.5,0.16,340,4.50\n"


def listed(folder: Path, text: str | bytes, name: str = "list.csv") -> Path:
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def zipped(parts: dict[str, bytes]) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, part in parts.items():
            archive.writestr(name, part)
    return made.getvalue()


def ods(rows: str) -> bytes:
    space = "urn:oasis:names:tc:opendocument:xmlns"
    spaces = " ".join(f'xmlns:{name}="{space}:{name}:1.0"' for name in ("office", "table", "text"))
    table = f'<table:table table:name="A">{rows}</table:table>'
    content = f"<office:document-content {spaces}><office:body><office:spreadsheet>{table}"
    kind = b"application/vnd.oasis.opendocument.spreadsheet"
    whole = f"{content}</office:spreadsheet></office:body></office:document-content>"
    manifest = b'<manifest:manifest xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"/>'
    return zipped({"mimetype": kind, "META-INF/manifest.xml": manifest, "content.xml": whole.encode()})


def ods_row(*cells: str, times: int = 1, rest: int = 16_380) -> str:
    text = '<table:table-cell office:value-type="string"><text:p>{}</text:p></table:table-cell>'
    filled = "".join(map(text.format, cells))
    blank = f'<table:table-cell table:number-columns-repeated="{rest}"/>' if rest else ""
    return f'<table:table-row table:number-rows-repeated="{times}">{filled}{blank}</table:table-row>'


SHEET = b"<worksheet><sheetData>%b</sheetData></worksheet>"
FAR_ROW = ods_row().replace("/>", ' office:value-type="float"/>')
MANY = ",".join(f"c{n}" for n in range(10_000))
FAR_CELL = b'<row r="1048576"><c r="XFD1048576" t="n"><v>1</v></c></row>'

REFUSED = {
    "empty": ("", "list_empty"),
    "blank lines": ("\n\n  \n", "list_empty"),
    "pdf": (b"%PDF-1.7\n...", "list_not_readable"),
    "picture": (b"\x89PNG\r\n\x1a\n" + bytes(200), "list_not_readable"),
    "old spreadsheet": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "list_not_readable"),
    "web page": ("<!DOCTYPE html><html><body>list</body></html>", "list_not_readable"),
    "json": ('{"item": 1}', "list_not_readable"),
    "nul bytes": (HEADER.encode() + b"a,2.5,0.1\x006,340,4.50\n", "list_not_readable"),
    "noise": (bytes(range(1, 32)) * 40, "list_not_readable"),
    "huge line": (HEADER + "a" * 1_200_000, "line_too_long"),
    "ten thousand columns": (
        f"item,width,strength,length,{MANY}\n",
        "too_many_columns",
    ),
    "no header": ("a,2.5,0.16,340\nb,2.6,0.17,350\n", "columns_not_found"),
    "no strength": ("item,width,length,price\na,2.5,340,4.50\n", "columns_not_found"),
    "no item": ("width,strength,length,price\n2.5,0.16,340,4.50\n", "columns_not_found"),
    "two widths": ("item,width,width,strength,length\na,2.5,2.6,0.16,340\n", "columns_conflict"),
    "prose": ("Dear sir,\nthe springs you want are out of stock.\n", "columns_not_found"),
    "zip that is no spreadsheet": (zipped({"readme.txt": b"hello"}), "list_not_readable"),
    "damaged spreadsheet": (zipped({"[Content_Types].xml": b"<"})[:-30], "list_damaged"),
    "spreadsheet with one far cell": (
        zipped({"[Content_Types].xml": b"<Types/>", "xl/worksheets/sheet1.xml": SHEET % FAR_CELL}),
        "too_many_columns",
    ),
    "open document with a row that stands for a million": (
        ods(ods_row("item", "width", "strength", "length") + ods_row(*"abcdefghijk", times=1_000_000)),
        "list_too_large",
    ),
    "open document with a cell that stands for a thousand": (
        ods(ods_row("item", "width", "strength", "length") + FAR_ROW),
        "too_many_columns",
    ),
    "open document that is no XML": (zipped({"mimetype": b"x", "content.xml": b"<a><b></a>"}), "list_damaged"),
    "damaged parquet": (b"PAR1" + bytes(100) + b"PAR1", "list_damaged"),
    "gzip that breaks off": (gzip.compress((HEADER + ROW * 5000).encode())[:-20], "list_damaged"),
    "gzip of noise": (b"\x1f\x8b\x08\x00" + b"noise" * 20, "list_damaged"),
    "utf-16 that breaks off": ((HEADER + ROW).encode("utf-16") + b"\x00", "list_damaged"),
    "undecided length": ("item;width mm;strength mm;length cm\na;2,5;0,16;1.250\n", "mark_undecided"),
    "strength in hundredths": ("item,width,strength,length\na,2.5,16,340\nb,2.5,17,350\n", "unit_not_sensible"),
    "width in inches": ("item,width,thickness in,length in\na,1.5,0.018,96\n", "unit_not_said"),
    "length in words": ("item,width,strength,length\na,2.5,0.16,long\n", "column_not_read"),
}


@pytest.mark.parametrize("case", REFUSED)
def test_refused_with_one_error(case: str, tmp_path: Path) -> None:
    content, code = REFUSED[case]
    with pytest.raises(OrderbookError) as caught:
        read_catalogue(listed(tmp_path, content))
    assert caught.value.code == code
    assert "list.csv" in caught.value.where
    assert "\n" not in str(caught.value)


def test_a_folder_is_no_list(tmp_path: Path) -> None:
    with pytest.raises(OrderbookError) as caught:
        read_catalogue(tmp_path)
    assert caught.value.code == "list_is_folder"


def test_missing_columns_say_what_was_looked_for_and_what_is_there(tmp_path: Path) -> None:
    with pytest.raises(OrderbookError) as caught:
        read_catalogue(listed(tmp_path, "item,width,colour\na,2.5,blue\n"))
    said = str(caught.value)
    assert "strength" in said
    assert "Stärke" in said
    assert "'colour'" in said


def test_both_readings_of_an_undecided_column_are_shown(tmp_path: Path) -> None:
    with pytest.raises(OrderbookError) as caught:
        read_catalogue(listed(tmp_path, REFUSED["undecided length"][0]))
    said = str(caught.value)
    assert "length cm" in said
    assert "1.250 (decimal" in said
    assert "1250 (thousands)" in said


def test_a_column_sensible_only_in_another_unit_is_named_with_it(tmp_path: Path) -> None:
    with pytest.raises(OrderbookError) as caught:
        read_catalogue(listed(tmp_path, REFUSED["strength in hundredths"][0]))
    assert "1/100 mm" in str(caught.value)


@pytest.mark.parametrize("kind", ["gzip", "spreadsheet"])
def test_a_bomb_is_refused_before_it_fills_the_memory(kind: str, tmp_path: Path) -> None:
    zeros = b"0" * 30_000_000
    parts = {"[Content_Types].xml": b"<Types/>", "xl/worksheets/sheet1.xml": zeros}
    path = listed(tmp_path, gzip.compress(zeros) if kind == "gzip" else zipped(parts))
    tracemalloc.start()
    with pytest.raises(OrderbookError) as caught:
        read_catalogue(path, limits=Limits(size_bytes=2_000_000))
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert caught.value.code == "list_too_large"
    assert most < 25_000_000


def test_more_cells_than_can_be_held_are_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bombs, "MOST_CELLS", 1000)
    parts = {"[Content_Types].xml": b"<Types/>", "xl/worksheets/sheet1.xml": SHEET % (b"<c><v>1</v></c>" * 1001)}
    with pytest.raises(OrderbookError) as caught:
        read_catalogue(listed(tmp_path, zipped(parts)))
    assert caught.value.code == "list_too_large"


def test_blank_rows_and_columns_without_end_are_no_bomb(tmp_path: Path) -> None:
    rows = ods_row("item", "width", "strength", "length") + ods_row("a", "2.5", "0.16", "340")
    path = listed(tmp_path, ods(rows + ods_row(times=1_048_574)), "list.ods")
    assert read_catalogue(path).catalogue.strength_mm.tolist() == [0.16]


def test_files_and_rows_over_the_limit_are_refused(tmp_path: Path) -> None:
    path = listed(tmp_path, HEADER + ROW * 2000)
    for limits in (Limits(size_bytes=10_000), Limits(rows=1000)):
        with pytest.raises(OrderbookError) as caught:
            read_catalogue(path, limits=limits)
        assert caught.value.code == "list_too_large"


def test_a_spreadsheet_called_csv_is_read_by_its_content(tmp_path: Path) -> None:
    path = listed(tmp_path, (LISTS / "messy_export.xlsx").read_bytes())
    assert read_catalogue(path).rows_kept == read_catalogue(LISTS / "messy_export.xlsx").rows_kept


def test_gzip_is_unpacked_and_no_different(tmp_path: Path) -> None:
    source = LISTS / "supplier_east.csv"
    path = listed(tmp_path, gzip.compress(source.read_bytes()), "supplier_east.csv.gz")
    assert read_catalogue(path).catalogue.item.tolist() == read_catalogue(source).catalogue.item.tolist()


def test_parquet_is_read_like_the_list_it_holds(tmp_path: Path) -> None:
    pandas = pytest.importorskip("pandas")
    pytest.importorskip("pyarrow")
    frame = pandas.read_csv(LISTS / "supplier_north_watch.csv")
    frame.to_parquet(tmp_path / "list.parquet")
    plain = read_catalogue(LISTS / "supplier_north_watch.csv").catalogue
    read = read_catalogue(tmp_path / "list.parquet").catalogue
    for name in ("item", "strength_mm", "length_mm", "price_minor", "stock"):
        assert getattr(read, name).tolist() == getattr(plain, name).tolist()


def test_ods_is_read_like_the_list_it_holds(tmp_path: Path) -> None:
    pandas = pytest.importorskip("pandas")
    pytest.importorskip("odf")
    frame = pandas.read_csv(LISTS / "supplier_north_clock.csv").head(40)
    frame.to_excel(tmp_path / "list.ods", index=False)
    plain = read_catalogue(LISTS / "supplier_north_clock.csv").catalogue.take(range(40))
    read = read_catalogue(tmp_path / "list.ods").catalogue
    for name in ("item", "width_mm", "strength_mm", "length_mm", "price_minor"):
        assert getattr(read, name).tolist() == getattr(plain, name).tolist()


def test_encodings_and_line_ends_do_not_count(tmp_path: Path) -> None:
    text = "Artikelnummer;Höhe mm;Stärke mm;Länge mm;Preis €\nÄ-1;2,50;0,16;340;4,50\nÄ-2;2,60;0,17;350;4,75\n"
    for encoding in ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"):
        for end in ("\n", "\r\n", "\r"):
            path = listed(tmp_path, text.replace("\n", end).encode(encoding))
            reading = read_catalogue(path)
            assert reading.catalogue.item.tolist() == ["Ä-1", "Ä-2"], (encoding, end)
            assert reading.catalogue.price_minor.tolist() == [450, 475]
            assert reading.catalogue.line.tolist() == [2, 3]


def test_lines_of_two_encodings_are_each_read_right_and_it_is_said(tmp_path: Path) -> None:
    head = "item,width mm,strength mm,length mm,note\n"
    mixed = head.encode() + "a,2.5,0.16,340,für\n".encode() + "b,2.5,0.16,340,für\n".encode("cp1252")
    reading = read_catalogue(listed(tmp_path, mixed))
    assert reading.catalogue.note.tolist() == ["für", "für"]
    assert [finding.code for finding in reading.findings if "cp1252" in finding.saw] == ["letters_assumed"]


def test_text_like_a_formula_stays_text(tmp_path: Path) -> None:
    from orderbook.catalogue import write_catalogue

    evil = ['=HYPERLINK("x")', "+1+1", "-2-A", "@SUM(1)"]
    rows = "".join('"{}",2.5,0.16,{},4.50\n'.format(text.replace('"', '""'), 340 + n) for n, text in enumerate(evil))
    reading = read_catalogue(listed(tmp_path, HEADER + rows))
    assert reading.catalogue.item.tolist() == evil
    write_catalogue(reading.catalogue, tmp_path / "out.csv")
    cells = [line.split(",")[1].lstrip('"') for line in (tmp_path / "out.csv").read_text().splitlines()[1:]]
    assert all(cell.startswith("'") for cell in cells)
    assert read_catalogue(tmp_path / "out.csv").catalogue.item.tolist() == evil


def test_a_saved_map_reads_the_list_again_and_is_obeyed(tmp_path: Path) -> None:
    reading = read_catalogue(LISTS / "messy_german.csv", supplier="Supplier East")
    place = tmp_path / "east.toml"
    place.write_text(map_text(map_of(reading)), encoding="utf-8")
    again = read_catalogue(LISTS / "messy_german.csv", column_map=place)
    assert again.catalogue.supplier.tolist() == ["Supplier East"] * len(reading.catalogue)
    assert again.catalogue.price_minor.tolist() == reading.catalogue.price_minor.tolist()
    hundredths = listed(tmp_path, REFUSED["strength in hundredths"][0])
    told = ColumnMap({"strength": MapEntry("strength", "1/100 mm")})
    assert read_catalogue(hundredths, column_map=told).catalogue.strength_mm.tolist() == [0.16, 0.17]


@pytest.mark.parametrize(
    "text",
    ["[columns]\n", "columns = 3\n", "[columns\n", '[columns]\n"a" = { meaning = "torque" }\n', 'colour = "x"\n'],
)
def test_a_map_that_cannot_be_used_says_so(text: str, tmp_path: Path) -> None:
    with pytest.raises(OrderbookError) as caught:
        read_map(listed(tmp_path, text, "map.toml"))
    assert caught.value.code == "map_not_read"


def test_a_map_of_another_list_is_refused(tmp_path: Path) -> None:
    with pytest.raises(OrderbookError) as caught:
        read_catalogue(LISTS / "supplier_east.csv", column_map=ColumnMap({"Breite": MapEntry("width")}))
    assert caught.value.code == "map_does_not_fit"


def test_dollars_are_not_guessed(tmp_path: Path) -> None:
    path = listed(tmp_path, "item,width,strength,length,price\na,2.5,0.16,340,$4.50\n")
    reading = read_catalogue(path)
    assert reading.catalogue.price_minor.tolist() == [-1]
    assert "sign of one currency" in str(next(f for f in reading.findings if f.code == "price_sign_of_many"))
    assert read_catalogue(path, currency="CAD").catalogue.currency.tolist() == ["CAD"]


def test_a_word_file_of_the_user_adds_headings(tmp_path: Path) -> None:
    path = listed(tmp_path, "item,bladezing,strength,length\na,2.5,0.16,340\n")
    with pytest.raises(OrderbookError):
        read_catalogue(path)
    words = listed(tmp_path, '[width]\nsure = ["bladezing"]\n', "words.toml")
    assert read_catalogue(path, words=words).catalogue.width_mm.tolist() == [2.5]
