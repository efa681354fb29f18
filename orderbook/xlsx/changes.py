"""Changes to a book: gathered first, then worked out and saved in one step."""

from __future__ import annotations

import zipfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO, Any

from orderbook.errors import error
from orderbook.records.definition import book_definition
from orderbook.records.rows import Append, Change, Clear, Put
from orderbook.xlsx.anatomy import BookTable, anatomy
from orderbook.xlsx.cells import Computed, SheetEdit, Stored, edit_sheet
from orderbook.xlsx.formulas import expand
from orderbook.xlsx.growth import Growth, chart_part, names_grown, print_areas_grown, sheet_tail, table_part
from orderbook.xlsx.many_cells import many_cells
from orderbook.xlsx.package import Edit, open_package, read_part, rewrite
from orderbook.xlsx.page import Formula, Place, address
from orderbook.xlsx.reading import OpenBook, columns_of, table_in
from orderbook.xlsx.recalculation import recalculated
from orderbook.xlsx.row_heights import DOT, height_of
from orderbook.xlsx.saving import save, stamp
from orderbook.xlsx.user_functions import functions_used
from orderbook.xlsx.xml_parts import CONTENT_TYPES, PACKAGE_RELATIONS, serialise, tag, tree

# tables whose first word of a row is its own number, which other tables point to
IDENTIFIED = ("Restorations", "Barrels", "Needs", "Drawer", "Orders")


@dataclass(slots=True)
class Changes:
    """What is to change in a book: cells by sheet and place (from 0), and new last rows of tables."""

    cells: dict[str, dict[Place, Any]] = field(default_factory=dict)
    bottoms: dict[str, int] = field(default_factory=dict)
    free: dict[str, int] = field(default_factory=dict)

    def put(self, sheet: str, place: Place, value: Any) -> None:
        """Set a cell."""
        self.cells.setdefault(sheet, {})[place] = value


def update_row(changes: Changes, book: OpenBook, name: str, number: int, values: Mapping[str, Any]) -> None:
    """Set cells of a row of a table, by column key.

    Raises: OrderbookError if the book's table lacks one of the columns, or another row has the number it is to have.
    """
    definition = book_definition().tables[name]
    table = table_in(book, name)
    columns = columns_of(table, definition)
    if definition.counts_when in values:
        _refuse_twice(book, name, definition.counts_when, [values], apart_from=number)
    for key, value in values.items():
        changes.put(table.sheet, (number, _column(book, table, columns, key)), value)


@many_cells()
def append_rows(changes: Changes, book: OpenBook, name: str, rows: Sequence[Mapping[str, Any]]) -> list[int]:
    """Add rows to a table by column key: into its blank rows first, then below, where the table grows.

    Returns: the rows' numbers on the sheet, from 0.
    Raises: OrderbookError if something stands below the table, cells of it are merged, or a row's number is taken.
    """
    definition = book_definition().tables[name]
    table = table_in(book, name)
    columns = columns_of(table, definition)
    for row in rows:
        for key in row:
            _column(book, table, columns, key)
    _refuse_twice(book, name, definition.counts_when, rows)
    by_column = [{columns[key]: value for key, value in row.items()} for row in rows]
    counted = [row.number for row in book.counting(name)]
    first = changes.free.get(name, max(counted, default=table.top) + 1)
    return _append(changes, book, table, by_column, first)


@many_cells()
def append_by_header(changes: Changes, book: OpenBook, name: str, rows: Sequence[Mapping[str, Any]]) -> list[int]:
    """Add rows to any table of a book, ours or not, by header; see `append_rows`."""
    table = table_in(book, name)
    places = {head: table.left + i for i, head in enumerate(table.heads)}
    cells = book.cells[table.sheet]
    taken = [r for (r, c), cell in cells.items() if table.top < r <= table.bottom and table.left <= c <= table.right
             and cell.value not in (None, "") and cell.formula is None]  # fmt: skip
    first = changes.free.get(name, max(taken, default=table.top) + 1)
    return _append(changes, book, table, [{places[head]: v for head, v in row.items()} for row in rows], first)


def replace_rows(changes: Changes, book: OpenBook, name: str, rows: Sequence[Mapping[str, Any]]) -> None:
    """Fill a table anew from its first row; rows left over become blank. Worked columns stay as they are."""
    definition = book_definition().tables[name]
    table = table_in(book, name)
    columns = columns_of(table, definition)
    filled = [key for key in columns if definition.column(key).kind != "worked"]
    last = max((row.number for row in book.counting(name)), default=table.top)
    blanks = max(last - table.top - len(rows), 0)
    whole = [{columns[key]: row.get(key) for key in filled} for row in [*rows, *({} for _ in range(blanks))]]
    _append(changes, book, table, whole, table.top + 1)


def with_record_changes(changes: Changes, book: OpenBook, records: Iterable[Change]) -> None:
    """Add changes of the rules of the books to the changes of a book."""
    added: dict[str, list[Mapping[str, Any]]] = {}
    for change in records:
        match change:
            case Append(table, values):
                added.setdefault(table, []).append(values)
            case Put(table, row, values):
                update_row(changes, book, table, row - 1, values)
            case Clear(table, row):
                definition = book_definition().tables[table]
                there = columns_of(table_in(book, table), definition)
                keys = [c.key for c in definition.columns if c.kind != "worked" and c.key in there]
                update_row(changes, book, table, row - 1, dict.fromkeys(keys))
    for table, rows in added.items():
        append_rows(changes, book, table, rows)


@many_cells()
def commit(book: OpenBook, changes: Changes, *, again: bool = False) -> None:
    """Work out what depends on the changes and save the book in one step; nothing is written if anything is wrong.

    With `again`, cells that call our worksheet functions are worked out whether they depend on a change or not.
    Raises: OrderbookError where the book is open elsewhere, changed since it was read, or cannot be written.
    """
    with_lost_formulas(changes, book)
    growths = _growths(book, changes)
    with_longer_ranges(changes, book, growths)
    cells, unknown = recalculated(book, changes.cells, growths, functions_used(book, _formulas(changes)), again=again)
    with open_package(book.path) as package:
        edits = _edits(book, package, cells, growths, _filled(book, changes), recalculate=unknown)
        without = _calc_chain(book, package, cells, edits)

        def write(file: IO[bytes]) -> None:
            rewrite(package, file, edits, without)

        save(book.path, write, since=book.stamp)


def with_lost_formulas(changes: Changes, book: OpenBook) -> None:
    """Put the formula of its column into each empty worked cell of a row that counts, such as one that was inserted."""
    definition = book_definition()
    for name, table in book.anatomy.tables.items():
        rows = book.counting(name) if name in definition.tables else ()
        formulas = column_formulas(table) if rows else {}
        own = book.cells.get(table.sheet, {})
        for row in rows:
            for col, text in formulas.items():
                there = own.get((row.number, col))
                if there is None or (there.formula is None and there.value in (None, "")):
                    changes.cells.setdefault(table.sheet, {}).setdefault((row.number, col), Formula(text))


def with_longer_ranges(changes: Changes, book: OpenBook, growths: Sequence[Growth]) -> None:
    """Lengthen the ranges in formulas that reached a growing table's last row.

    A program that knows no columns by name (a book that was an .ods for a while) leaves addresses in their place.
    """
    for growth in growths:
        last = f"${growth.table.bottom + 1}"
        for sheet, cells in book.cells.items():
            for place, cell in cells.items():
                if cell.formula is None or cell.array or cell.shared is not None or last not in cell.formula:
                    continue
                before = changes.cells.get(sheet, {}).get(place, Formula(f"={cell.formula}"))
                if isinstance(before, Formula) and (after := growth.grown_formula(before.text)) != before.text:
                    changes.put(sheet, place, Formula(after))


def _filled(book: OpenBook, changes: Changes) -> list[tuple[BookTable, int]]:
    """Return each table with the last row (from 0) in which anything stands that a hand or a list fills."""
    found = []
    for name, table in book.anatomy.tables.items():
        last = max((row.number for row in book.tables.get(name, ()) if not row.place.below), default=table.top)
        added = changes.cells.get(table.sheet, {})
        rows = (r for (r, c), v in added.items() if v not in (None, "") and not isinstance(v, (Formula, Computed))
                and table.left <= c <= table.right and r > table.top)  # fmt: skip
        found.append((table, max((last, *rows))))
    return found


def _formulas(changes: Changes) -> set[str]:
    return {v.text for own in changes.cells.values() for v in own.values() if isinstance(v, (Formula, Computed))}


def set_cells(path: Path, cells: Mapping[str, Mapping[Place, Any]]) -> None:
    """Set cells of a book without reading the rest of it; the program works out what depends on them on opening.

    Raises: OrderbookError as `commit`; KeyError for a sheet that is not there (a mistake of the calling program).
    """
    since = stamp(path)
    with open_package(path) as package:
        book = OpenBook(path, since, anatomy(package, path), {}, (), {})
        edits = _edits(book, package, cells, [], [], recalculate=True)
        save(path, lambda file: rewrite(package, file, edits), since=since)


def _append(
    changes: Changes, book: OpenBook, table: BookTable, rows: Sequence[Mapping[int, Any]], first: int
) -> list[int]:
    _refuse_merged(book, table)
    numbers = list(range(first, first + len(rows)))
    if not numbers:
        return []
    last = table.bottom - table.totals
    if numbers[-1] > last:
        _refuse_below(book, table, last + 1, numbers[-1])
        if table.totals:
            raise error("book_totals_row", where=f"{book.path}, table {table.name}", saw="a totals row below the data")
        changes.bottoms[table.name] = max(numbers[-1], changes.bottoms.get(table.name, 0))
    formulas = column_formulas(table)
    own = book.cells[table.sheet]
    cells = changes.cells.setdefault(table.sheet, {})
    for number, row in zip(numbers, rows, strict=True):
        for col, value in row.items():
            cells[number, col] = value
        for col, text in formulas.items():
            there = own.get((number, col))
            if number > last or there is None or (there.formula is None and there.value in (None, "")):
                cells[number, col] = Formula(text)
    changes.free[table.name] = numbers[-1] + 1
    return numbers


def _refuse_twice(
    book: OpenBook, name: str, key: str, rows: Sequence[Mapping[str, Any]], *, apart_from: int | None = None
) -> None:
    if name not in IDENTIFIED:
        return
    others = (row for row in book.counting(name) if row.number != apart_from)
    there = {str(row[key]).strip().casefold(): f"row {row.number + 1}" for row in others}
    for row in rows:
        word = str(row.get(key) or "").strip()
        if word and word.casefold() in there:
            where = f"{book.path}, table {name}"
            raise error("book_id_twice", where=where, saw=f"{word} is in {there[word.casefold()]} already")
        there[word.casefold()] = "the rows to add"


def column_formulas(table: BookTable) -> dict[int, str]:
    """Return column → formula of the worked columns: of our definition, else of the file itself."""
    book = book_definition()
    formulas = {head.lower(): text for head, text in zip(table.heads, table.formulas, strict=True) if text}
    if table.name in book.tables:
        own = book.tables[table.name]
        formulas |= {c.header.lower(): expand(c.formula, own, book) for c in own.columns if c.formula}
    return {table.left + i: formulas[head.lower()] for i, head in enumerate(table.heads) if head.lower() in formulas}


def _column(book: OpenBook, table: BookTable, columns: Mapping[str, int], key: str) -> int:
    if key not in columns:
        header = book_definition().tables[table.name].column(key).header
        where = f"{book.path}, sheet {table.sheet}, table {table.name}"
        raise error("book_column_missing", where=where, saw=f'no column headed "{header}"')
    return columns[key]


def _refuse_below(book: OpenBook, table: BookTable, first: int, last: int) -> None:
    for (row, col), cell in book.cells[table.sheet].items():
        if first <= row <= last and table.left <= col <= table.right and cell.value not in (None, ""):
            where = f"{book.path}, {table.sheet}!{address(row, col, fixed=False)}"
            raise error("book_below_table", where=where, saw=f'"{cell.value}" stands below the table {table.name}')


def _refuse_merged(book: OpenBook, table: BookTable) -> None:
    for top, left, bottom, right in book.anatomy.merged.get(table.sheet, ()):
        if top <= table.bottom and bottom >= table.top and left <= table.right and right >= table.left:
            where = f"{book.path}, {table.sheet}!{address(top, left, fixed=False)}"
            raise error("book_merged_cells", where=where, saw=f"merged cells inside the table {table.name}")


def _growths(book: OpenBook, changes: Changes) -> list[Growth]:
    tables = book.anatomy.tables
    return [Growth(tables[name], bottom) for name, bottom in changes.bottoms.items() if bottom > tables[name].bottom]


def _edits(
    book: OpenBook, package: zipfile.ZipFile, cells: Mapping[str, Mapping[Place, Any]], growths: list[Growth],
    filled: list[tuple[BookTable, int]], *, recalculate: bool,
) -> dict[str, Edit]:  # fmt: skip
    where = str(book.path)
    edits: dict[str, Edit] = {}
    for sheet, own in cells.items():
        part = book.anatomy.sheets[sheet]
        growing = [g for g in growths if g.table.sheet == sheet]
        edits[part] = edit_sheet(
            SheetEdit(
                own,
                styles=_styles(package, part, growing, book),
                heights=_heights(book, sheet, own),
                tail=sheet_tail(growths, sheet) if growing else None,
                date1904=book.anatomy.date1904,
                where=f"{where}, sheet {sheet}",
            )
        )
    for growth in growths:
        formulas = {growth.table.heads[c - growth.table.left]: f for c, f in column_formulas(growth.table).items()}
        edits[growth.table.part] = table_part(growth, formulas, where)
    for part in book.anatomy.charts if growths else ():
        edits[part] = chart_part(growths, part, where)
    _workbook_edit(book, package, growths, filled, recalculate, edits)
    return edits


def _heights(book: OpenBook, sheet: str, cells: Mapping[Place, Any]) -> dict[int, float]:
    """Return the height in points of each row of our tables in which a sentence changes."""
    found: dict[int, float] = {}
    for name, table in book.anatomy.tables.items():
        definition = book_definition().tables.get(name)
        if table.sheet != sheet or definition is None:
            continue
        places = columns_of(table, definition)
        widths = {places[c.key]: c.width for c in definition.columns if c.is_prose and c.key in places}
        for row in {row for row, col in cells if col in widths and row > table.top}:
            texts = ((_text(book, sheet, cells, (row, col)), width) for col, width in widths.items())
            found[row] = height_of(texts) * DOT
    return found


def _text(book: OpenBook, sheet: str, cells: Mapping[Place, Any], place: Place) -> str:
    """Return the text of a cell as it will be."""
    there = book.cells.get(sheet, {}).get(place)
    value = cells.get(place, there and there.value)
    value = value.value if isinstance(value, (Stored, Computed)) else value
    return value if isinstance(value, str) else ""


def _workbook_edit(
    book: OpenBook, package: zipfile.ZipFile, growths: list[Growth], filled: list[tuple[BookTable, int]],
    recalculate: bool, edits: dict[str, Edit],
) -> None:  # fmt: skip
    part = book.anatomy.workbook
    root = tree(read_part(package, part, book.path), where=str(book.path), part=part)
    changed = names_grown(root, growths) | print_areas_grown(root, filled)
    if recalculate:
        calc = root.find(tag("calcPr"))
        if calc is not None and calc.get("fullCalcOnLoad") not in ("1", "true"):
            calc.set("fullCalcOnLoad", "1")
            changed = True
    if changed:
        data = serialise(root)
        edits[part] = lambda pieces: [data]


def _styles(
    package: zipfile.ZipFile, part: str, growths: Iterable[Growth], book: OpenBook
) -> dict[int, tuple[int, int, str]]:
    """Return column → (first and last new row, style) from the last row of each table that grows."""
    from orderbook.xlsx.sheet_reading import styles_of_row

    found = {}
    for growth in growths:
        styles = styles_of_row(package, part, growth.table.bottom, book.path)
        for col in range(growth.table.left, growth.table.right + 1):
            if col in styles:
                found[col] = (growth.table.bottom + 1, growth.bottom, styles[col])
    return found


def _calc_chain(
    book: OpenBook, package: zipfile.ZipFile, cells: Mapping[str, Mapping[Place, Any]], edits: dict[str, Edit]
) -> list[str]:
    """Leave the order of calculation out when formulas come or go; programs make it again."""
    part = book.anatomy.calc_chain
    if part is None or not any(isinstance(v, (Computed, Formula)) for own in cells.values() for v in own.values()):
        return []
    from orderbook.xlsx.anatomy import relations_part, resolve

    links = relations_part(book.anatomy.workbook)
    workbook = book.anatomy.workbook
    edits["[Content_Types].xml"] = _without(
        f"{{{CONTENT_TYPES}}}Override", lambda e: e.get("PartName") == "/" + part, str(book.path)
    )
    edits[links] = _without(
        f"{{{PACKAGE_RELATIONS}}}Relationship", lambda e: resolve(workbook, e.get("Target", "")) == part, str(book.path)
    )
    return [part]


def _without(name: str, goes: Any, where: str) -> Edit:
    def run(pieces: Iterable[bytes]) -> Iterable[bytes]:
        root = tree(b"".join(pieces), where=where, part=name)
        for element in list(root.iterchildren(name)):
            if goes(element):
                root.remove(element)
        yield serialise(root)

    return run
