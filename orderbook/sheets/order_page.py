"""The Order sheet: pick a supplier and print what is due to be ordered, with packs, postage, tax and the whole sum."""

from __future__ import annotations

from orderbook.cautions import cautions_for
from orderbook.records.definition import BookDefinition
from orderbook.sheets.lookups import found, shown
from orderbook.xlsx.formulas import column_of
from orderbook.xlsx.page import Formula, Look, Page, band, letters

PICK = "$C$1"
LINES = 20
FIRST = 5  # row of the first line, from 0
GOODS, POSTAGE, TAX, IN_ALL = (FIRST + LINES + n for n in range(4))
WIDTHS = [8, 96, 150, 130, 96, 84, 84, 84, 84, 92, 84, 180]
LAST = len(WIDTHS) - 1
HEIGHTS = [26, 25, 5, 20, 30, *[19] * LINES, 19, 19, 19, 22, 8, 17, 17, 17, 17]
TIERS = 6
HELP = LAST + 2  # beyond the print: postage typed on a line, and the supplier's tiers
_SUM, _TAX = letters(9), letters(10)

_COLUMNS: tuple[tuple[str, str, str, str], ...] = (
    ("order", "Our number", "", "left"), ("item", "Item", "", "left"), ("restoration", "For", "", "left"),
    ("", "How many", "", "left"), ("width_mm", "Width\nmm", "mm", "right"),
    ("strength_mm", "Strength\nmm", "strength", "right"), ("length_mm", "Length\nmm", "length", "right"),
    ("price", "At", "money", "right"), ("", "Sum", "money", "right"), ("tax", "Tax", "money", "right"),
    ("note", "Note", "", "left"),
)  # fmt: skip


def order_page(book: BookDefinition, supplier: str) -> Page:
    """Lay out the Order sheet for one supplier; another is picked in its cell C1."""
    page = Page("Order sheet", widths=list(WIDTHS), heights=list(HEIGHTS), freeze=(FIRST, 0))
    page.area = (0, 0, len(HEIGHTS) - 1, LAST)
    _title(page, book, supplier)
    _lines(page, book)
    _tiers(page, book)
    _sums(page, book)
    _below(page, book)
    return page


def _title(page: Page, book: BookDefinition, supplier: str) -> None:
    page.put(0, 1, "Order to", Look("title"))
    page.put(0, 2, supplier, Look("input", format="picker", align="center", bold=True))
    page.drop_downs.append({"range": (0, 2, 0, 2), "list": "suppliers", "title": "Supplier", "show_help": True,
                            "help": "Pick a supplier; the lines that are due follow."})  # fmt: skip
    words = f'"all prices and sums in "&{_terms(book, "currency")}&" · a price is the price of a pack"'
    page.put(0, 3, Formula(f'=IFERROR({words},"pick a supplier in the box to the left")'), Look("piece", indent=1))
    page.put(1, 1, "Next", Look("next_tag"))
    page.fill(1, range(2, LAST + 1), Look("next"))
    page.put(1, 2, _next(book), Look("next", indent=1))
    band(page, 3, 1, LAST, "Please send", {2: "exactly these sizes, or ask before sending another"})


def _terms(book: BookDefinition, key: str) -> str:
    return found(book, "Suppliers", key, PICK)


def _count(book: BookDefinition, state: str) -> str:
    orders = book.tables["Orders"]
    return f'COUNTIFS({column_of(orders, "supplier")},{PICK},{column_of(orders, "sheet_state")},"{state}")'


def _next(book: BookDefinition) -> Formula:
    """Say how many lines are due and how many stay off, and why."""
    due, waits, other, unread = (_count(book, s) for s in ("due", "waits", "other currency", "not understood"))
    return Formula(
        f'=IF({PICK}="","pick a supplier",'
        f'IF({due}=0,"Nothing is due. ",{due}&IF({due}=1," line is due: when"," lines are due: when")'
        f'&" it has gone out, set State to ordered and Ordered on. ")'
        f'&IF({due}>{LINES},"Only the first {LINES} are listed. ","")'
        f'&IF({waits}>0,{waits}&IF({waits}=1," waits"," wait")&" for a verdict or an event. ","")'
        f'&IF({other}>0,{other}&" in another currency, left off. ","")'
        f'&IF({unread}>0,{unread}&" with a When that is not understood, left off.",""))'
    )


def _lines(page: Page, book: BookDefinition) -> None:
    for col, (key, head, _, align) in enumerate(_COLUMNS, 1):
        page.put(FIRST - 1, col, head, Look("head", align=align, indent=int(key == "note")))
    for n in range(1, LINES + 1):
        row = FIRST + n - 1
        for col, (key, head, form, align) in enumerate(_COLUMNS, 1):
            text = {"How many": _how_many, "Sum": _sum}[head](book, n) if not key else shown(_line(book, key, n))
            page.put(
                row,
                col,
                text,
                Look("row", format=form, align=align, indent=int(key == "note"), shrink=key in ("item", "note")),
            )
        page.put(row, HELP, shown(_line(book, "postage", n)), Look("note"))


def _line(book: BookDefinition, key: str, number: int) -> str:
    return found(book, "Orders", key, f'{PICK}&"/"&{number}', "sheet_place")


def _how_many(book: BookDefinition, number: int) -> Formula:
    packs, pack = _line(book, "sheet_packs", number), _line(book, "pack", number)
    many = f'IF({packs}=0,"from the pack above",{packs}&IF({packs}=1," pack of "," packs of ")&{pack})'
    return Formula(f'=IFERROR(IF(N({pack})>1,{many},{packs}&""),"")')


def _sum(book: BookDefinition, number: int) -> Formula:
    price, packs = _line(book, "price", number), _line(book, "sheet_packs", number)
    listed = f'$B{FIRST + number}=""'
    return Formula(f'=IF({listed},"",IFERROR(IF(ISNUMBER({price}),{price}*{packs},"no price"),""))')


def _tiers(page: Page, book: BookDefinition) -> None:
    """Take tiers such as `0: 3.20; 20: 4.50` apart beyond the print: from, charge, and from where it is reached."""
    goods, postage = f"${_SUM}${GOODS + 1}", _terms(book, "postage")
    for n in range(TIERS):
        row = FIRST + n
        piece = f'TRIM(MID(SUBSTITUTE({postage},";",REPT(" ",60)),{n * 60 + 1},60))'
        start, charge = (f'LEFT({piece},FIND(":",{piece})-1)', f'MID({piece},FIND(":",{piece})+1,60)')
        page.put(row, HELP + 1, Formula(f'=IFERROR({_number(start)},"")'), Look("note"))
        page.put(row, HELP + 2, Formula(f'=IFERROR({_number(charge)},"")'), Look("note"))
        at = f"{letters(HELP + 1)}{row + 1}"
        page.put(row, HELP + 3, Formula(f'=IF(ISNUMBER({at}),IF({at}<={goods},{at},-1),"")'), Look("note"))


def _number(text: str) -> str:
    """Return the expression for a number written with a point or a comma, in a program of whatever country."""
    plain = f'SUBSTITUTE(TRIM({text}),",",".")'
    whole = f'VALUE(SUBSTITUTE({plain},".",""))'
    return f'IFERROR({whole}/10^(LEN({plain})-FIND(".",{plain})),VALUE({plain}))'


def _charge(book: BookDefinition) -> str:
    """Return the expression for the postage of the goods: free above a sum, flat, or of the tier that is reached."""
    first, last = FIRST + 1, FIRST + TIERS
    start, charge, reached = (f"${letters(HELP + n)}${first}:${letters(HELP + n)}${last}" for n in (1, 2, 3))
    free, postage = _terms(book, "free_above"), _terms(book, "postage")
    of_least, of_reached = (f"INDEX({charge},MATCH({which},{of},0))"
                            for which, of in ((f"MIN({start})", start), (f"MAX({reached})", reached)))  # fmt: skip
    tier = f"IF(MAX({reached})<0,{of_least},{of_reached})"
    flat = f'IF(ISNUMBER({postage}),{postage},IF({postage}="",0,{_number(postage)}))'
    ruled = f"IF(COUNT({start})>0,{tier},{flat})"
    return f"IF(ISNUMBER({free}),IF({_SUM}{GOODS + 1}>={free},0,{ruled}),{ruled})"


def _sums(page: Page, book: BookDefinition) -> None:
    lines = f"{FIRST + 1}:{{0}}{FIRST + LINES}"
    goods, taxes, typed = (f"{c}{lines.format(c)}" for c in (_SUM, _TAX, letters(HELP)))
    charge = f'IF(COUNTIF(B{FIRST + 1}:B{FIRST + LINES},"?*")=0,0,IF(COUNT({typed})>0,SUM({typed}),{_charge(book)}))'
    rows = (
        (GOODS, "Goods", f"=SUM({goods})"),
        (POSTAGE, "Postage", f'=IFERROR({charge},"ask")'),
        (TAX, "Tax", f"=SUM({taxes})"),
        (IN_ALL, "In all", f"={_SUM}{GOODS + 1}+N({_SUM}{POSTAGE + 1})+{_SUM}{TAX + 1}"),
    )
    for row, words, text in rows:
        look = "total" if row == IN_ALL else "row"
        page.fill(row, range(1, LAST + 1), Look(look, size="body"))
        page.put(row, 8, words, Look(look, align="right", size="body"))
        page.put(row, 9, Formula(text), Look(look, format="money", align="right", size="body"))
    page.put(IN_ALL, 10, Formula(f'=IFERROR({_terms(book, "currency")}&"","")'), Look("total", size="body", indent=1))


def _below(page: Page, book: BookDefinition) -> None:
    least = _terms(book, "minimum_order")
    goods = f"{_SUM}{GOODS + 1}"
    words = f'"Below the least order of "&FIXED({least},2)&"."'
    said = f'IF(AND({goods}>0,ISNUMBER({least})),IF({goods}<{least},{words},""),"")'
    page.put(IN_ALL + 2, 1, Formula(f'=IFERROR({said},"")'), Look("note"))
    packs = f'COUNTIF(E{FIRST + 1}:E{FIRST + LINES},"*pack*")'
    words = "Pieces over of a pack go to the drawer when they have come."
    page.put(IN_ALL + 3, 1, Formula(f'=IF({packs}>0,"{words}","")'), Look("note"))
    caution = str(cautions_for("mainspring")[0]).replace('"', '""')
    strengths = f"G{FIRST + 1}:G{FIRST + LINES}"
    for n, part in enumerate(_pieces(caution)):
        page.put(IN_ALL + 4 + n, 1, Formula(f'=IF(COUNT({strengths})>0,"{part}","")'), Look("note"))


def _pieces(words: str, longest: int = 190) -> list[str]:
    """Break a caution into lines: a formula holds no text of more than 255 letters, and a line of the sheet no more."""
    import textwrap

    return textwrap.wrap(words, longest)
