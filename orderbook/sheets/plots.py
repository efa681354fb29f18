"""Plots: the numbers behind the charts, in plain view; the sheet needs no hand."""

from __future__ import annotations

from orderbook.records.definition import BookDefinition
from orderbook.sheets.account_page import FIRST_CATEGORY
from orderbook.sheets.charts import BELIEF_POINTS, CATEGORIES, CURVES, POINTS, STROKES
from orderbook.sheets.lookups import BARREL, found, shown
from orderbook.xlsx.formulas import list_mark, lists_now
from orderbook.xlsx.marks import LIST_NOW, LISTS_NOW
from orderbook.xlsx.page import Formula, Look, Page, address

LISTS_PLACE, LIST_PLACE = (2, 1), (5, 1)  # what ranked springs are made from, beside the barrel; the list's mark
HEAD, FIRST = 7, 8  # rows from 0
_SMALL = "minor_row"


def plots_page(book: BookDefinition) -> Page:
    """Lay out the numbers behind the charts of Bench and Account."""
    page = Page("Plots", show_heads=True, heights=[28, 18], freeze=(FIRST, 0))
    page.widths = [10, 110, 90, 60, *[92] * 5, 16, 66, 66, 66, 16, 66, 66, 16, 66, 66, 16, 66, 66, 16, 92, *[76] * 4]
    page.put(0, 1, "Plots", Look("title"))
    page.put(1, 1, "the numbers behind the charts; nothing to type here", Look("piece", size="small"))
    page.put(2, 0, None, Look("note"))
    _now(page, book)
    _torque(page, book)
    _window(page, book)
    _belief(page, book)
    _costs(page)
    page.highlights.append({"range": (FIRST, 3, FIRST + POINTS, 21), "test": f"ISNA(D{FIRST + 1})", "look": "quiet"})
    return page


def _now(page: Page, book: BookDefinition) -> None:
    """Lay what the answers of every barrel are made from, and which stage is next."""
    page.names |= {LISTS_NOW: LISTS_PLACE, LIST_NOW: LIST_PLACE}
    for row, (label, formula) in enumerate(
        (
            ("what all barrels share", Formula("=" + lists_now(book, address(*LIST_PLACE)))),
            ("working window turns", None),
            ("next stage", _next_stage(book)),
            ("the list", Formula("=" + list_mark(book))),
        ),
        2,
    ):
        page.put(row, 2, label, Look("note"))
        page.put(row, 1, formula, Look(_SMALL))


def _next_stage(book: BookDefinition) -> Formula:
    """Find the stage to fit next: one more than the stages whose spring has a verdict of too weak or worse."""
    return shown(found(book, "Answers", "next_stage", BARREL))


def _torque(page: Page, book: BookDefinition) -> None:
    page.put(HEAD, 3, "turns", Look("head", align="right"))
    for col, (name, key) in enumerate(zip(CURVES, _curve_keys(), strict=True), 4):
        page.put(HEAD, col, name, Look("head", align="right"))
        for n in range(1, POINTS + 1):
            page.put(FIRST + n - 1, col, _or_na(book, "Torque", key, n), Look(_SMALL, format="torque"))
    for n in range(1, POINTS + 1):
        page.put(FIRST + n - 1, 3, _or_na(book, "Torque", "turns", n), Look(_SMALL, format="fraction"))


def _curve_keys() -> tuple[str, ...]:
    return tuple(name.replace(" ", "_") + "_nmm" for name in CURVES)


def _or_na(book: BookDefinition, table: str, key: str, number: int) -> Formula:
    """Return a stored number, or #N/A, which a chart leaves out."""
    value = found(book, table, key, f'{BARREL}&"/"&{number}', "place")
    return Formula(f'=IFERROR(IF({value}="",NA(),{value}),NA())')


def _window(page: Page, book: BookDefinition) -> None:
    begin, end = (found(book, "Answers", key, BARREL) for key in ("window_from", "window_to"))
    page.put(HEAD, 10, "greatest", Look("head", align="right"))
    for row in range(FIRST + 1, FIRST + POINTS + 1):
        each = ",".join(f"IF(ISNUMBER({letter}{row}),{letter}{row},0)" for letter in "EFGHI")
        page.put(row - 1, 10, Formula(f"=MAX({each})"), Look(_SMALL, format="torque"))
    top = f"MAX($K${FIRST + 1}:$K${FIRST + POINTS})"
    for col, head in ((11, "window turns"), (12, "window N·mm"), (14, "ends turns"), (15, "ends N·mm")):
        page.put(HEAD, col, head, Look("head", align="right", wrap=True))
    for n in range(STROKES):
        row = FIRST + n
        x = f"=IFERROR({begin}+({end}-{begin})*{n}/{STROKES - 1},NA())"
        page.put(row, 11, Formula(x), Look(_SMALL, format="fraction"))
        page.put(row, 12, Formula(f"={top}" if n == 0 else f"=$M${FIRST + 1}"), Look(_SMALL, format="torque"))
    for n, which in enumerate((FIRST + 1, FIRST + STROKES)):
        page.put(FIRST + n, 14, Formula(f"=$L${which}"), Look(_SMALL, format="fraction"))
        page.put(FIRST + n, 15, Formula(f"=$M${FIRST + 1}"), Look(_SMALL, format="torque"))


def _belief(page: Page, book: BookDefinition) -> None:
    for col, head in ((17, "drive index"), (18, "% a point"), (20, "stage drive"), (21, "% a point")):
        page.put(HEAD, col, head, Look("head", align="right", wrap=True))
    for n in range(1, BELIEF_POINTS + 1):
        page.put(FIRST + n - 1, 17, _or_na(book, "Belief", "index", n), Look(_SMALL, format="index"))
        page.put(FIRST + n - 1, 18, _or_na(book, "Belief", "percent", n), Look(_SMALL, format="fraction"))
    xs, ys = f"$R${FIRST + 1}:$R${FIRST + BELIEF_POINTS}", f"$S${FIRST + 1}:$S${FIRST + BELIEF_POINTS}"
    for n in range(3):
        row = FIRST + n
        page.put(row, 20, _or_na(book, "Stages", "drive_index", n + 1), Look(_SMALL, format="index"))
        page.put(
            row, 21, Formula(f"=IFERROR(INDEX({ys},MATCH($U${row + 1},{xs},1)),NA())"), Look(_SMALL, format="fraction")
        )


def _costs(page: Page) -> None:
    heads = ("category", "paid, net", "committed", "left", "over")
    for col, head in enumerate(heads, 23):
        page.put(HEAD, col, head, Look("head", align="left" if col == 23 else "right"))
    for n in range(CATEGORIES):
        row, at = FIRST + n, FIRST_CATEGORY + n + 1
        estimate, committed, paid = f"Account!$C${at}", f"Account!$D${at}", f"Account!$E${at}"
        credit, balance, own = f"Account!$F${at}", f"Account!$G${at}", f"$Y${row + 1}"
        page.put(row, 23, Formula(f"=Account!$B${at}"), Look(_SMALL))
        formulas = (
            f"=MIN(MAX({paid}-{credit},0),{estimate})",
            f"=MIN({committed},MAX({estimate}-{own},0))",
            f"=MAX({balance},0)",
            f"=MAX(-{balance},0)",
        )
        for col, text in enumerate(formulas, 24):
            page.put(row, col, Formula(text), Look(_SMALL, format="money"))
