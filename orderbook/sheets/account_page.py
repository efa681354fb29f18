"""The Account: pick a restoration and see estimate, committed, paid, credits and balance, and what is still to come."""

from __future__ import annotations

from orderbook.records.definition import BookDefinition
from orderbook.sheets.charts import cost_chart
from orderbook.sheets.lookups import day, found, shown
from orderbook.xlsx.formulas import column_of, setting
from orderbook.xlsx.page import Formula, Look, Page, band, letters

PICK = "$C$1"
WIDTHS = [8, 92, 94, 94, 94, 94, 94, 54, 68, 48, 82, 82, 82, 70, 130]
LAST = len(WIDTHS) - 1
FIRST_CATEGORY = 6  # row, from 0
CATEGORIES = 9
LABOUR = FIRST_CATEGORY + CATEGORIES
EXPECTED, EXPECTED_LINES = LABOUR + 2, 8
LEFT_OUT, LEFT_OUT_LINES = EXPECTED + EXPECTED_LINES + 4, 3
HEIGHTS = [26, 25, 5, 20, 30, 24, *[18] * CATEGORIES, 17, 5, 20, 30, *[17] * EXPECTED_LINES, 18, 5, 20,
           *[17] * LEFT_OUT_LINES, 8, 16, 16, 16]  # fmt: skip
_LIMIT = "$P$1"  # beyond the print: the sum the warning compares with
KINDS = ("estimate", "committed", "paid", "credit")


def account_page(book: BookDefinition, restoration: str) -> Page:
    """Lay out the Account for one restoration; another is picked in its cell C1."""
    page = Page("Account", widths=list(WIDTHS), heights=list(HEIGHTS), freeze=(3, 0))
    page.area = (0, 0, len(HEIGHTS) - 1, LAST)
    _title(page, book, restoration)
    _money(page, book)
    _expected(page, book)
    _left_out(page, book)
    _key(page)
    above = sum(HEIGHTS[4:FIRST_CATEGORY])
    page.charts.append(cost_chart(4, 9, above + 18 * CATEGORIES + HEIGHTS[LABOUR], above, 18 * CATEGORIES))
    return page


def _title(page: Page, book: BookDefinition, restoration: str) -> None:
    page.put(0, 1, "Account", Look("title"))
    page.put(0, 2, restoration, Look("input", format="picker", align="center", bold=True))
    page.drop_downs.append({"range": (0, 2, 0, 2), "list": "restorations", "title": "Restoration", "show_help": True,
                            "help": "Pick a restoration; everything below follows."})  # fmt: skip
    piece, state = found(book, "Restorations", "piece", PICK), found(book, "Restorations", "state", PICK)
    opened = found(book, "Restorations", "opened", PICK)
    since = f'IF(ISNUMBER({opened})," since "&{day(opened)},"")'
    words = f'{piece}&" · "&{state}&{since}&" · all sums in "&{setting("currency", book)}'
    page.put(0, 3, Formula(f'=IFERROR({words},"pick a restoration in the box to the left")'), Look("piece", indent=1))
    page.put(1, 1, "Next", Look("next_tag"))
    page.fill(1, range(2, LAST + 1), Look("next"))
    page.put(1, 2, _next(book), Look("next", indent=1))
    trouble = f"AND(LEN({PICK})>0,OR($G$6<0,$I$6>0,{_not_above()}))"
    page.highlights.append({"range": (1, 2, 1, LAST), "test": trouble, "look": "trouble"})


def _spent() -> str:
    return "($D$6+$E$6-$F$6)"


def _not_above() -> str:
    """Return the test whether what is spent or promised passes the sum that needs a new word with the owner."""
    limit = "$P$1"
    return f"AND(ISNUMBER({limit}),{_spent()}>{limit})"


def _next(book: BookDefinition) -> Formula:
    """Say what to do next, the gravest first."""
    orders = book.tables["Orders"]
    mine = f"{column_of(orders, 'restoration')},{PICK},{column_of(orders, 'due')}"
    to_come, back = f'COUNTIFS({mine},"to come")', f'COUNTIFS({mine},"may go back")'
    return Formula(
        f'=IF({PICK}="","pick a restoration",'
        f'IF($I$6>0,$I$6&IF($I$6=1," row waits"," rows wait")&" for a number or a rate: see below. ","")'
        f'&IF({_not_above()},"Over the sum agreed as not above: ask the owner. ",'
        f'IF($G$6<0,"Over the estimate by "&FIXED(-$G$6,2)&". ",""))'
        f'&IF({to_come}>0,{to_come}&IF({to_come}=1," order line"," order lines")&" still to come. ","")'
        f'&IF({back}>0,{back}&IF({back}=1," spring"," springs")&" may go back until the day under Return by. ","")'
        f'&IF(AND($I$6=0,$G$6>=0,{to_come}+{back}=0),"Nothing waits. ",""))'
    )


def _money(page: Page, book: BookDefinition) -> None:
    band(page, 3, 1, 8, "Where the money stands", {4: "balance = estimate − committed − paid + credits"})
    currency = setting("currency", book)
    band(page, 3, 9, LAST, "")
    page.put(3, 9, Formula(f'=" Against the estimate, "&{currency}'), Look("block"))
    heads = ("Category", "Estimate", "Committed", "Paid", "Credits", "Balance", "Rows\nadded", "Rows not\nadded")
    for col, head in enumerate(heads, 1):
        text = Formula(f'="{head}"&CHAR(10)&{currency}') if 1 < col < 7 else head
        page.put(4, col, text, Look("head", align="right" if col > 1 else "left"))
    for n, category in enumerate(book.lists["category"]):
        _category(page, book, FIRST_CATEGORY + n, category)
    _all(page, book)
    _words(page, book)
    page.highlights += [
        {"range": (5, 6, LABOUR - 1, 6), "test": "G6<0", "look": "trouble"},
        {"range": (5, 8, LABOUR - 1, 8), "test": "I6>0", "look": "trouble"},
    ]


def _category(page: Page, book: BookDefinition, row: int, category: str) -> None:
    ledger, work = book.tables["Ledger"], book.tables["Work"]
    mine = f"{column_of(ledger, 'restoration')},{PICK},{column_of(ledger, 'category')},$B{row + 1}"
    hours = f"{column_of(work, 'restoration')},{PICK}"
    page.put(row, 1, category, Look("label"))
    for col, kind in enumerate(KINDS, 2):
        text = f'SUMIFS({column_of(ledger, "in_book")},{mine},{column_of(ledger, "kind")},"{kind}")'
        if category == "labour" and kind == "paid":
            text += f"+SUMIFS({column_of(work, 'amount')},{hours})"
        page.put(row, col, Formula("=" + text), Look("row", format="money", align="right"))
    at = row + 1
    page.put(row, 6, Formula(f"=C{at}-D{at}-E{at}+F{at}"), Look("answer", format="money", align="right"))
    rows, bad = f"COUNTIFS({mine})", f'COUNTIFS({mine},{column_of(ledger, "check")},"?*")'
    if category == "labour":
        rows += f"+COUNTIFS({hours})"
        bad += f'+COUNTIFS({hours},{column_of(work, "check")},"?*")'
    page.put(row, 7, Formula(f"={rows}-I{at}"), Look("unit", format="count", align="right"))
    page.put(row, 8, Formula(f"={bad}"), Look("unit", format="count", align="right"))


def _all(page: Page, book: BookDefinition) -> None:
    ledger, work = book.tables["Ledger"], book.tables["Work"]
    first, last = FIRST_CATEGORY + 1, FIRST_CATEGORY + CATEGORIES
    page.put(5, 1, "All", Look("total"))
    for col in range(2, 8):
        letter = letters(col)
        form = "money" if col < 7 else "count"
        page.put(5, col, Formula(f"=SUM({letter}{first}:{letter}{last})"), Look("total", format=form, align="right"))
    agreed = found(book, "Restorations", "estimate", PICK)
    whole = (
        f"IF(SUM(C{first}:C{last})=0,IFERROR(N({agreed}),0),SUM(C{first}:C{last}))"  # one estimate, whoever keeps it
    )
    page.put(5, 2, Formula(f"={whole}"), Look("total", format="money", align="right"))
    page.put(5, 6, Formula("=C6-D6-E6+F6"), Look("total", format="money", align="right"))
    bad = f'COUNTIFS({column_of(ledger, "restoration")},{PICK},{column_of(ledger, "check")},"?*")'
    bad += f'+COUNTIFS({column_of(work, "restoration")},{PICK},{column_of(work, "check")},"?*")'
    # rows of no piece, which may be of this one: nobody can tell
    bad += f'+COUNTIFS({column_of(ledger, "check")},"no such piece")'
    bad += f'+COUNTIFS({column_of(work, "check")},"no such need or piece")'
    bad += f'+COUNTIFS({column_of(ledger, "restoration")},"",{column_of(ledger, "amount")},"<>")'
    bad += f'+COUNTIFS({column_of(work, "need")},"",{column_of(work, "hours")},"<>")'
    page.put(5, 8, Formula(f"={bad}"), Look("total", format="count", align="right"))


def _words(page: Page, book: BookDefinition) -> None:
    work = book.tables["Work"]
    hours = f"SUMIFS({column_of(work, 'hours')},{column_of(work, 'restoration')},{PICK})"
    agreed, limit = (found(book, "Restorations", key, PICK) for key in ("estimate", "not_above"))
    said = f'IFERROR(IF(ISNUMBER({agreed}),"  Estimate agreed: "&FIXED({agreed},2)&".",""),"")'
    said += f'&IFERROR(IF(ISNUMBER({limit}),"  Not above: "&FIXED({limit},2)&".",""),"")'
    page.put(LABOUR, 1, Formula(f'="Labour done: "&FIXED({hours},1)&" h, from Work."&{said}'), Look("note"))
    page.put(0, LAST + 1, shown(limit), Look("note"))


_EXPECTED: tuple[tuple[str, str, str, str, int], ...] = (
    ("order", "Order", "", "left", 0), ("supplier", "Supplier", "", "left", 0), ("item", "Item", "", "left", 0),
    ("spring", "Width × strength × length mm", "", "left", 0), ("", "", "", "left", 0),
    ("price", "Price\na pack", "money", "right", 0), ("currency", "Cur.", "", "left", 1),
    ("to_come", "To come", "money", "right", 0), ("packs", "Packs", "whole", "center", 0),
    ("ordered_on", "Ordered on", "date", "right", 0), ("expected", "Expected", "date", "right", 0),
    ("return_by", "Return by", "date", "right", 0), ("state", "State", "", "left", 1),
    ("trigger", "When, why", "", "left", 0),
)  # fmt: skip


def _expected(page: Page, book: BookDefinition) -> None:
    band(page, EXPECTED, 1, LAST, "Order lines still open", {4: "planned, ordered, or to be sent back in time"})
    currency = setting("currency", book)
    for col, (key, head, _, align, indent) in enumerate(_EXPECTED, 1):
        text = Formula(f'="To come"&CHAR(10)&{currency}') if key == "to_come" else head
        page.put(
            EXPECTED + 1, col, text, Look("head", align=align, indent=indent, wrap=False if key == "spring" else None)
        )
    for n in range(1, EXPECTED_LINES + 1):
        row = EXPECTED + 1 + n
        for col, (key, _, form, align, indent) in enumerate(_EXPECTED, 1):
            value = _spring(book, n) if key == "spring" else _order(book, key, n) if key else None
            narrow = key in ("supplier", "item", "state", "trigger")
            page.put(row, col, value, Look("minor_row", format=form, align=align, indent=indent, shrink=narrow))
    total = EXPECTED + 2 + EXPECTED_LINES
    page.fill(total, range(1, LAST + 1), Look("total", size="body"))
    page.put(total, 1, "To come", Look("total", size="body"))
    orders = book.tables["Orders"]
    text = f"=SUMIFS({column_of(orders, 'to_come')},{column_of(orders, 'restoration')},{PICK})"
    page.put(total, 8, Formula(text), Look("total", format="money", align="right", size="body"))
    more = f'COUNTIFS({column_of(orders, "restoration")},{PICK},{column_of(orders, "due")},"?*")-{EXPECTED_LINES}'
    page.put(
        total,
        10,
        Formula(f'=IF({more}>0,"and "&({more})&" more lines on the sheet Orders","")'),
        Look("total", size="small"),
    )


def _order(book: BookDefinition, key: str, number: int) -> Formula:
    return shown(found(book, "Orders", key, f'{PICK}&"/"&{number}', "place"))


def _spring(book: BookDefinition, number: int) -> Formula:
    width, strength, length = (
        found(book, "Orders", key, f'{PICK}&"/"&{number}', "place") for key in ("width_mm", "strength_mm", "length_mm")
    )
    text = f'FIXED({width},2)&" × "&FIXED({strength},3)&" × "&FIXED({length},0)'
    return Formula(f'=IFERROR(IF(ISNUMBER({strength}),{text},""),"")')


def _left_out(page: Page, book: BookDefinition) -> None:
    band(page, LEFT_OUT, 1, LAST, "Rows not added", {4: "the totals above leave these out until they are put right"})
    ledger = book.tables["Ledger"]
    for n in range(1, LEFT_OUT_LINES + 1):
        row, place = LEFT_OUT + n, f'{PICK}&"/"&{n}'
        page.fill(row, range(1, LAST + 1), Look("row"))
        where = f'"Ledger row "&(MATCH({place},{column_of(ledger, "place")},0)+3)'
        category, amount, currency = (
            found(book, "Ledger", key, place, "place") for key in ("category", "amount", "currency")
        )
        saw = f'{category}&" “"&{amount}&"” "&{currency}'
        page.put(row, 1, Formula(f'=IFERROR({where},"")'), Look("row"))
        page.put(row, 3, Formula(f'=IFERROR({saw},"")'), Look("row"))
        page.put(row, 6, shown(found(book, "Ledger", "check", place, "place")), Look("row"))
        page.put(row, 10, shown(found(book, "Ledger", "note", place, "place")), Look("row"))


def _key(page: Page) -> None:
    row = LEFT_OUT + LEFT_OUT_LINES + 2
    key_lines(page, row, 1)


def key_lines(page: Page, row: int, col: int) -> None:
    """Lay the key: what a box, a steel number and a ± mean."""
    for n, (look, sample, words) in enumerate(
        (
            (Look("input", align="center", size="small"), "input", "boxed, on straw: yours to fill"),
            (Look("answer", align="center", size="small"), "answer", "steel, no box: worked out"),
            (Look("plus_minus", align="center"), "± 0.02", "about 19 times in 20 it lies within"),
        )
    ):
        page.put(row + n, col, sample, look)
        page.put(row + n, col + 1, words, Look("note", indent=1))
