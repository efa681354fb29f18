"""Native formulas of the book, written by key and turned into structured references.

In a definition `{value}` is the cell of this row, `{Readings.value}` a whole column, `{top:value}` the first cell of a
column of this table, `{setting:currency}` a setting of the book, `{choice:kind}` a list of words, `{pm:bore}` the ± of
a quantity, `{words:hazard}` the test for words that call for a caution, `{tidy:barrel}` an identifier in its plain
spelling; `{told}`, `{mark}` and `{inputs}` are of what stored answers were made from. Structured references survive
moved and renamed sheets.
"""

from __future__ import annotations

import re

from orderbook.answers.fingerprint import (
    ERROR,
    FACTORS,
    LIST_LETTERS,
    MILLIONTHS,
    MODULUS,
    OF_BARREL,
    ROUNDING,
    SHARED,
)
from orderbook.measures.readings import T_FACTOR
from orderbook.records.definition import BookDefinition, Table
from orderbook.xlsx.page import letters as letters_of

_PLACE = re.compile(r"\{([A-Za-z_]+)(?:([.:])([A-Za-z_ ]+))?\}")
_SETTINGS = {"currency": "book currency", "digits": "decimals of money"}
# usual hazards of the work: a word only brings up a caution that defers to others (common practice, no source)
_WORDS = {
    "hazard": [
        "gild",
        "plating",
        "acid",
        "mercur",
        "cyanid",
        "solvent",
        "temper",
        "harden",
        "heat",
        "ammonia",
        "salts",
    ],
    "spring": ["mainspring", "wound", "let down", "barrel"],
}


def expand(formula: str, table: Table, book: BookDefinition) -> str:
    """Return a formula of the definition with structured references in place of keys."""
    return _PLACE.sub(lambda match: _reference(match, table, book), formula)


def column_of(table: Table, key: str) -> str:
    """Return the reference to a whole column, `Readings[Value]`."""
    return f"{table.name}[{_escaped(table.column(key).header)}]"


def own(table: Table, key: str) -> str:
    """Return the reference to the cell of this row, `Readings[[#This Row],[Value]]`."""
    return f"{table.name}[[#This Row],[{_escaped(table.column(key).header)}]]"


def setting(what: str, book: BookDefinition) -> str:
    """Return the formula that finds a setting of the book."""
    table = book.tables["Settings"]
    return f'INDEX({column_of(table, "value")},MATCH("{_SETTINGS[what]}",{column_of(table, "setting")},0))'


def plus_minus(what: str, barrel: str, book: BookDefinition) -> str:
    """Return the native formula of the ± of a quantity read for a barrel; twice the standard uncertainty.

    u² = (t·s)²/n + (a/√3)², t for two or three readings as in `measures`, s their scatter, a the instrument's.
    Source: JCGM 100:2008, 4.2.3, 4.3.7 and G.3.
    """
    readings = book.tables["Readings"]
    where = f'{column_of(readings, "barrel")},{barrel},{column_of(readings, "what")},"{what}"'
    n = f'COUNTIFS({where},{column_of(readings, "in_mm")},">-1E+99")'
    squares = f"SUMIFS({column_of(readings, 'off_squared')},{where})"
    width = f"AVERAGEIFS({column_of(readings, 'half_width')},{where})"
    t = f"IF({n}=2,{T_FACTOR[1]},IF({n}=3,{T_FACTOR[2]},1))"
    scatter = f"{t}^2*{squares}/({n}*MAX({n}-1,1))"
    return f'IFERROR(2*SQRT({scatter}+{width}^2/3),"")'


def _reference(match: re.Match[str], table: Table, book: BookDefinition) -> str:
    first, mark, second = match.groups()
    if mark == ".":
        return column_of(book.tables[first], second)
    if mark is None:
        whole = {"inputs": lambda: _inputs(table, book), "told": lambda: _told(table),
                 "mark": lambda: _mark_of(own(table, "mark_text"))}.get(first)  # fmt: skip
        return whole() if whole else own(table, first)
    return {
        "top": lambda: f"INDEX({column_of(table, second)},1)",
        "setting": lambda: setting(second, book),
        "choice": lambda: column_of(book.tables["Choices"], second),
        "pm": lambda: plus_minus(second, own(table, "barrel"), book),
        "words": lambda: _any_word(second, table),
        "tidy": lambda: _tidied(own(table, second)),
    }[first]()


def _any_word(kind: str, table: Table) -> str:
    """Return the test whether a need's words hold one that calls for a caution; word by word, for every engine."""
    text = '&" "&'.join(own(table, key) for key in ("part", "reason", "note"))
    return "OR(" + ",".join(f'ISNUMBER(SEARCH("{word}",{text}))' for word in _WORDS[kind]) + ")"


def _tidied(cell: str) -> str:
    """Return an identifier in its plain spelling, as `records.identifiers.tidy` gives it."""
    for other, plain in ((" ", ""), ("\u00a0", ""), ("–", "-"), ("−", "-")):
        cell = f'SUBSTITUTE({cell},"{other}","{plain}")'
    return f"UPPER({cell})"


def _told(table: Table) -> str:
    """Join what the answers take from a row into one text; see `answers.fingerprint`."""
    key = "for_barrel" if table.name in OF_BARREL else table.counts_when
    pieces = [_cell_told(own(table, c.key), c.format == "date") for c in table.columns if c.answers]
    joined = '&"|"&'.join(pieces)
    text = f'IFERROR({joined},"{ERROR}")'
    if table.answers_when:
        looked_at = _PLACE.sub(lambda match: own(table, match[1]), table.answers_when)
        text = f'IF({looked_at},{text},"")'
    return f'IF({own(table, key)}="","",{text})'


def _cell_told(cell: str, is_day: bool) -> str:
    number = f"INT(N({cell})*{MILLIONTHS}+{ROUNDING})"
    if is_day:
        number = f"IF(N({cell})>0,YEAR({cell})*10000+MONTH({cell})*100+DAY({cell}),0)"
    return f"T({cell})&{number}&COUNTA({cell})"


def _mark_of(text: str) -> str:
    """Return the formula of the number that stands for a text."""
    places = f"ROW(INDEX($A:$A,1):INDEX($A:$A,LEN({text})))"
    letters = f"_xlfn.UNICODE(MID({text},{places},1))"
    return f'IF({text}="","",MOD(SUMPRODUCT({letters}*{letter_weight(places)}),{MODULUS})^2)'


def letter_weight(place: str) -> str:
    """Return the formula of the weight of the letter at a place of a text."""
    square, once, modulus = FACTORS
    return f"(MOD({square}*{place}^2+{once}*{place},{modulus})+1)"


def _inputs(table: Table, book: BookDefinition) -> str:
    """Join the marks of all that the answers of a barrel alone are made from."""
    barrel = _tidied(own(table, "barrel"))
    pieces = [own(table, "mark")]
    for name in OF_BARREL:
        rows = book.tables[name]
        pieces.append(f"SUMIFS({column_of(rows, 'mark')},{column_of(rows, 'for_barrel')},{barrel})")
    return f'IF({own(table, "barrel")}="","",' + '&"."&'.join(pieces) + ")"


def lists_now(book: BookDefinition, catalogue: str) -> str:
    """Join the book's currency, the mark of the list, which stands in the cell `catalogue`, and those of the terms."""
    sums = [f"SUM({column_of(book.tables[name], 'mark')})" for name in SHARED]
    return '&"."&'.join([setting("currency", book), catalogue, *sums])


def list_mark(book: BookDefinition) -> str:
    """Return the formula of the mark of the list: letter by letter over all its rows; see `answers.fingerprint`.

    It does without IF and IFERROR inside the sum, which older programs do not work out there row by row.
    """
    listed = book.tables["Catalogue"]
    joined = '&"|"&'.join(column_of(listed, c.key) for c in listed.columns if c.answers)
    padded = f'SUBSTITUTE({joined},",",".")&REPT(" ",{LIST_LETTERS})'
    letters = f"_xlfn.UNICODE(MID({padded},COLUMN($A$1:${letters_of(LIST_LETTERS - 1)}$1),1))"
    total = f"MMULT({letters},{letter_weight(f'ROW($A$1:$A${LIST_LETTERS})')})"
    return f'IFERROR(SUMPRODUCT(({column_of(listed, "supplier")}<>"")*MOD({total},{MODULUS})^2),-1)'


def _escaped(header: str) -> str:
    return re.sub(r"(['\[\]#@])", r"'\1", header)
