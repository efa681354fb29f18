"""The live book: the plain book with a sheet of blocks that our functions answer, and a Bench that shows them.

Where a block is an error (no add-in, macros blocked) the Bench shows what refresh stored, as in the plain book.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

from orderbook.functions.blocks import RANK_COLUMNS, SIZE_COLUMNS, SIZE_ROWS, SPRING_COLUMNS, STAGE_COLUMNS
from orderbook.records.definition import BookDefinition, book_definition
from orderbook.xlsx.formulas import column_of, setting
from orderbook.xlsx.page import ArrayFormula, Formula, Look, Page, address, band

LIVE = "Live"
CONFIGURATION = "xlwings.conf"
PICKED = "Bench!$D$1"
LEFT, COPY = 1, 21  # first columns of the blocks, and of the copies beside them
BARREL, ORDER, RANK, SIZE, SPRINGS, TORQUE = 3, 7, 14, 28, 50, 59  # first rows of the parts, from 0
STAGES, TOP = 3, 10
CURVES = ("reference", "stage 1", "stage 2", "stage 3", "fitted")
HEADS = {"drive_index_pm": "±", "load_index_pm": "±", "turns_delivered": "delivered turns"}


def macro_book_sheets() -> tuple[str, ...]:
    """Return the sheets of a live macro book, in order."""
    return (*book_definition().sheets, LIVE, CONFIGURATION)


def live_pages(pages: Sequence[Page], book: BookDefinition) -> list[Page]:
    """Return the pages of a live book: Bench and Plots show the blocks of a further sheet."""
    from orderbook.sheets.charts import POINTS

    made = [*pages, live_page(book, POINTS)]
    by_name = {page.name: page for page in made}
    _bench(by_name["Bench"])
    _plots(by_name["Plots"], POINTS)
    return made


def live_page(book: BookDefinition, points: int) -> Page:
    """Lay out the sheet of blocks: the springs to try, the ranking, the sizing and the torque of the picked barrel."""
    page = Page(LIVE, widths=[8, 132, 116, 104, *[72] * 15, 300, 8, *[72] * 19], show_heads=True, freeze=(2, 0))
    page.put(0, LEFT, LIVE, Look("title"))
    words = "answered by the functions of orderbook as readings change; to the right what refresh stored last"
    page.put(1, LEFT, words, Look("piece", size="small"))
    _barrel(page, book)
    currency = _at(BARREL, LEFT + 4)
    tables = ",".join(f"{name}[[#Headers],[#Data]]" for name in
                      ("Barrels", "Catalogue", "Trials", "Suppliers", "Rates", "Drawer", "Weights"))  # fmt: skip
    width = len(STAGE_COLUMNS)
    order = ArrayFormula(f'=GRADED_ORDER({PICKED},{tables},"",{currency})', STAGES, width)
    _springs_block(page, book, ORDER, "Try in this order", order, STAGE_COLUMNS, "Stages")
    rank = ArrayFormula(f"=RANK_SPRINGS({PICKED},{tables},{TOP},{currency})", TOP, width)
    _springs_block(page, book, RANK, "Also fits", rank, RANK_COLUMNS, "AlsoFits")
    size = ArrayFormula(f"=BARREL_SIZE({PICKED},Barrels[[#Headers],[#Data]],Trials[[#Headers],[#Data]])", SIZE_ROWS,
                 len(SIZE_COLUMNS))  # fmt: skip
    _block(page, SIZE, "The spring that belongs", size, SIZE_COLUMNS)
    _torque(page, book, points)
    return page


def _barrel(page: Page, book: BookDefinition) -> None:
    for col, (head, key) in enumerate((("barrel", ""), ("bore mm", "bore_mm"), ("arbor mm", "arbor_mm"),
                                       ("turns", "turns")), LEFT):  # fmt: skip
        page.put(BARREL - 1, col, head, Look("head", align="left"))
        text = _of_barrel(book, key) if key else f"={PICKED}"
        page.put(BARREL, col, Formula(text), Look("minor_row", format="mm" if key else ""))
    page.put(BARREL - 1, LEFT + 4, "money", Look("head", align="left"))
    page.put(BARREL, LEFT + 4, Formula(f'=IFERROR({setting("currency", book)}&"","")'), Look("minor_row"))


def _of_barrel(book: BookDefinition, key: str) -> str:
    barrels = book.tables["Barrels"]
    return f'=IFERROR(INDEX({column_of(barrels, key)},MATCH({PICKED},{column_of(barrels, "barrel")},0)),"")'


def _block(page: Page, top: int, title: str, block: ArrayFormula, columns: Sequence[str]) -> None:
    band(page, top - 2, LEFT, LEFT + len(STAGE_COLUMNS) - 1, title)
    for col, key in enumerate(columns, LEFT):
        page.put(top - 1, col, _head(key), Look("head", align="left"))
    page.put(top, LEFT, block, Look("minor_row"))


def _head(key: str) -> str:
    return HEADS.get(key, key.replace("_percent", " %").replace("_mm", " mm").replace("_", " "))


def _springs_block(
    page: Page, book: BookDefinition, top: int, title: str, block: ArrayFormula, columns: Sequence[str], table: str
) -> None:
    """A block of springs and, beside it, the copy that refresh stored in an answer table."""
    from orderbook.sheets.lookups import placed

    _block(page, top, title, block, columns)
    band(page, top - 2, COPY, COPY + len(columns) - 1, f"{title}: stored last")
    for n in range(block.rows):
        for col, key in enumerate(columns, COPY):
            if n == 0:
                page.put(top - 1, col, _head(key), Look("head", align="left"))
            page.put(top + n, col, placed(book, table, key, PICKED, n + 1), Look("minor_row"))


def _torque(page: Page, book: BookDefinition, points: int) -> None:
    """Five curves over common turns; each is one call for all its points."""
    band(page, SPRINGS - 2, LEFT, LEFT + len(STAGE_COLUMNS) - 1, "Torque")
    for col, head in enumerate(("curve", "width mm", "strength mm", "length mm"), LEFT):
        page.put(SPRINGS - 1, col, head, Look("head", align="left"))
    for n, (name, sizes) in enumerate(zip(CURVES, _sizes(book), strict=True)):
        page.put(SPRINGS + n, LEFT, name, Look("minor_row"))
        for col, size in enumerate(sizes, LEFT + 1):
            page.put(SPRINGS + n, col, Formula(size), Look("minor_row", format="strength"))
    page.put(TORQUE - 1, LEFT, "turns up", Look("head", align="left"))
    col = LEFT + STAGE_COLUMNS.index("turns_delivered")
    delivered = f"{_at(ORDER, col)}:{_at(ORDER + STAGES - 1, col)}"
    for n in range(points):
        text = f'=IFERROR({n}/{points - 1}*1.1*MAX({_at(BARREL, LEFT + 3)},{delivered}),"")'
        page.put(TORQUE + n, LEFT, Formula(text), Look("minor_row", format="fraction"))
    turns = f"{_at(TORQUE, LEFT)}:{_at(TORQUE + points - 1, LEFT)}"
    bore, arbor = _at(BARREL, LEFT + 1), _at(BARREL, LEFT + 2)
    for n, name in enumerate(CURVES):
        page.put(TORQUE - 1, LEFT + 1 + n, name, Look("head", align="left"))
        strip = ",".join(_at(SPRINGS + n, LEFT + 1 + k) for k in range(3))
        block = ArrayFormula(f"=SPRING_TORQUE({bore},{arbor},{strip},{turns})", points, 1)
        page.put(TORQUE, LEFT + 1 + n, block, Look("minor_row", format="torque"))


def _sizes(book: BookDefinition) -> list[tuple[str, str, str]]:
    """Return the formulas of width, strength and length of each curve's spring."""
    bore, arbor = _at(BARREL, LEFT + 1), _at(BARREL, LEFT + 2)
    strength = _line_of("strongest useful")
    area = f"PI()*({bore}^2-{arbor}^2)/8"
    reference = (f"={_line_of('width')}", f"={strength}", f'=IFERROR({area}/{strength},"")')
    fitted = (_of_barrel(book, "fitted_width_mm"), _of_barrel(book, "fitted_strength_mm"),
              _of_barrel(book, "fitted_length_mm"))  # fmt: skip
    return [reference, *(_stage_sizes(n) for n in range(STAGES)), fitted]


def _line_of(what: str) -> str:
    """Find the value of one of the first lines of the sizing.

    LibreOffice 7 takes a text that an add-in gave to a block as equal to no other, not even in MATCH; joined with
    an empty text it compares.
    """
    found = '""'
    for row in range(SIZE + 4, SIZE - 1, -1):
        found = f'IF({_at(row, LEFT)}&""="{what}",{_at(row, LEFT + 1)},{found})'
    return f'IFERROR({found},"")'


def _stage_sizes(number: int) -> tuple[str, str, str]:
    width, strength, length, trim = (
        _at(ORDER + number, LEFT + STAGE_COLUMNS.index(key))
        for key in ("width_mm", "strength_mm", "length_mm", "trim_to_mm")
    )
    cut = f"IF(ISNUMBER({trim}),{trim},{length})"
    sizes = tuple(f'=IF(ISNUMBER({size}),{size},"")' for size in (width, strength))
    return (*sizes, f'=IF(ISNUMBER({length}),{cut},"")')  # type: ignore[return-value]


def _at(row: int, col: int, sheet: str = "") -> str:
    return f"{sheet}!{address(row, col)}" if sheet else address(row, col)


def _is_live(row: int) -> str:
    """Say in a formula whether a row of a block holds an answer: its number, not an error or a line of text."""
    return f"ISNUMBER({_at(row, LEFT, LIVE)})"


def _or(test: str, live: str, plain: Any) -> Formula:
    """Show the live cell where it is an answer, else what the plain book shows."""
    otherwise = plain.text.removeprefix("=") if isinstance(plain, Formula) else f'"{plain or ""}"'
    shown = f'IF({live}="","",{live})'
    return Formula(f"=IF({test},{shown},{otherwise})")


def _bench(page: Page) -> None:
    """Let the stages and the springs that also fit come from the blocks."""
    from orderbook.sheets import bench_page as bench

    _rows_from(page, bench.ORDER + 2, bench.STAGES, ORDER)
    for n in range(bench.STAGES):
        why = _at(ORDER + n, LEFT + STAGE_COLUMNS.index("why"), LIVE)
        _swap(page, bench.ORDER + 2 + n, bench.RIGHT, _is_live(ORDER), why)
    _rows_from(page, bench.ALSO + 1, min(bench.ALSO_LINES, TOP), RANK)
    flag = page.cells[bench.ORDER, bench.RIGHT]
    stored = flag.value.text.removeprefix("=")
    fresh = f'LEFT({stored},{len(bench.FRESH)})="{bench.FRESH}"'
    said = f'=IF({fresh},{stored},IF({_is_live(ORDER)},"STAGES ARE LIVE, the rest: ","")&{stored})'
    page.cells[bench.ORDER, bench.RIGHT] = replace(flag, value=Formula(said))
    live = {bench.ORDER + 2: ORDER, bench.ALSO + 1: RANK}
    for light in page.highlights:
        if light["look"] == "stale" and light["range"][0] in live:
            light["test"] = f"AND({light['test']},NOT({_is_live(live[light['range'][0]])}))"


def _rows_from(page: Page, first: int, count: int, block: int) -> None:
    from orderbook.sheets.bench_page import COLUMNS

    for n in range(count):
        for col, (key, *_) in enumerate(COLUMNS, 1):
            at = LEFT if key == "number" else LEFT + 1 + SPRING_COLUMNS.index(key)
            _swap(page, first + n, col, _is_live(block), _at(block + n, at, LIVE))


def _swap(page: Page, row: int, col: int, test: str, live: str) -> None:
    cell = page.cells[row, col]
    page.cells[row, col] = replace(cell, value=_or(test, live, cell.value))


def _plots(page: Page, points: int) -> None:
    """Let the torque curves come from the blocks."""
    from orderbook.sheets.plots import FIRST

    for n in range(points):
        for k in range(len(CURVES) + 1):
            cell = page.cells[FIRST + n, 3 + k]
            live, stored = _at(TORQUE + n, LEFT + k, LIVE), cell.value.text.removeprefix("=")
            text = f"=IF({_is_live(ORDER)},IF(ISNUMBER({live}),{live},NA()),{stored})"
            page.cells[FIRST + n, 3 + k] = replace(cell, value=Formula(text))


def configuration_page(settings: Mapping[str, str]) -> Page:
    """Lay out the sheet that tells xlwings which module to load; a key a row, from the first cell down."""
    page = Page(CONFIGURATION, widths=[260, 420], show_heads=True)
    for row, (key, value) in enumerate(settings.items()):
        page.put(row, 0, key, Look("minor_row"))
        page.put(row, 1, value, Look("minor_row"))
    return page
