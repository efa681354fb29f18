"""Native formulas of the book, written by key and turned into structured references.

In a definition `{value}` is the cell of this row, `{Readings.value}` a whole column, `{top:value}` the first cell of a
column of this table, `{setting:currency}` a setting of the book, `{choice:kind}` a list of words, `{pm:bore}` the ± of
a quantity, `{words:hazard}` the test for words that call for a caution and `{mark:value}` a number that stands for a
text. Structured references survive moved and renamed sheets.
"""

from __future__ import annotations

import re

from orderbook.measures.readings import T_FACTOR
from orderbook.records.definition import BookDefinition, Table

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
# what the answers of a barrel are made from, beside its readings
INPUT_COLUMNS = ("turns_asked", "turns_used", "run_hours", "clearance_mm", "fill", "set_up_turns", "set_up_clicks",
                 "ratchet_teeth")  # fmt: skip
INPUT_WORDS = ("train", "drive", "stop_work", "end", "wheels", "fusee", "material", "rod_test", "free_shape")
INPUT_READINGS = ("bore", "arbor", "depth", "fitted width", "fitted strength", "fitted length", "barrel outside",
                  "chain height")  # fmt: skip


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
        return _inputs(table, book) if first == "inputs" else own(table, first)
    return {
        "top": lambda: f"INDEX({column_of(table, second)},1)",
        "setting": lambda: setting(second, book),
        "choice": lambda: column_of(book.tables["Choices"], second),
        "pm": lambda: plus_minus(second, own(table, "barrel"), book),
        "words": lambda: _any_word(second, table),
        "mark": lambda: _text_mark(own(table, second)),
    }[first]()


def _any_word(kind: str, table: Table) -> str:
    """Return the test whether a need's words hold one that calls for a caution; word by word, for every engine."""
    text = '&" "&'.join(own(table, key) for key in ("part", "reason", "note"))
    return "OR(" + ",".join(f'ISNUMBER(SEARCH("{word}",{text}))' for word in _WORDS[kind]) + ")"


def _text_mark(cell: str) -> str:
    """Return a number that changes with a text; places in an alphabet, for codes differ between programs."""
    letters = "0123456789.,/ abcdefghijklmnopqrstuvwxyz¼½¾′″‴"
    one = [f'MID({cell}&"{" " * 12}",{n},1)' for n in range(1, 13)]
    terms = [f'FIND({letter},"{letters}"&{letter})*{n}' for n, letter in enumerate(one, 1)]
    return f"LEN({cell})*10000+" + "+".join(terms)


def _inputs(table: Table, book: BookDefinition) -> str:
    """Join what the answers are made from into one text: whole hundred-thousandths, the same in every language."""
    readings = book.tables["Readings"]
    barrel = own(table, "barrel")
    mine = f"{column_of(readings, 'barrel')},{barrel}"
    pieces = [own(table, key) for key in INPUT_WORDS]
    pieces += [
        f"IF(ISNUMBER({own(table, key)}),ROUND({own(table, key)}*100000,0),{own(table, key)})" for key in INPUT_COLUMNS
    ]
    for what in INPUT_READINGS:
        where = f'{mine},{column_of(readings, "what")},"{what}"'
        pieces.append(f"ROUND(SUMIFS({column_of(readings, 'in_mm')},{where})*100000,0)")
    pieces.append(f"COUNTIFS({mine})")
    pieces.append(f"ROUND(SUMIFS({column_of(readings, 'off_squared')},{mine})*100000,0)")
    pieces.append(f"ROUND(SUMIFS({column_of(readings, 'half_width')},{mine})*100000,0)")
    pieces.append(f"SUMIFS({column_of(readings, 'text_mark')},{mine})")
    return f'IF({barrel}="","",' + '&"|"&'.join(pieces) + ")"


def _escaped(header: str) -> str:
    return re.sub(r"(['\[\]#@])", r"'\1", header)
