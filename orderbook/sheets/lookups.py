"""Formula texts the sheets to look at are made of: find a value by key, show nothing where there is none."""

from __future__ import annotations

from orderbook.records.definition import BookDefinition
from orderbook.xlsx.formulas import column_of
from orderbook.xlsx.page import Formula

BARREL, PIECE = "Bench!$D$1", "Account!$C$1"


def found(book: BookDefinition, table: str, key: str, place: str, by: str | None = None) -> str:
    """Return the expression for the value of a column in the row whose key column holds `place`."""
    own = book.tables[table]
    return f"INDEX({column_of(own, key)},MATCH({place},{column_of(own, by or own.counts_when)},0))"


def shown(expression: str, empty: str = "") -> Formula:
    """Return a formula that shows a value, or `empty` where there is none or it cannot be had."""
    return Formula(f'=IFERROR(IF({expression}="","{empty}",{expression}),"{empty}")')


def placed(book: BookDefinition, table: str, key: str, barrel: str, number: int) -> Formula:
    """Return a formula that shows a value of the row `barrel/number` of an answer table."""
    return shown(found(book, table, key, f'{barrel}&"/"&{number}', "place"))


def day(expression: str) -> str:
    """Return the expression for a day in words; months are spelt here, for TEXT's codes change with the language."""
    months = '"Jan","Feb","Mar","Apr","May","Jun","Jul","Aug","Sep","Oct","Nov","Dec"'
    return f'DAY({expression})&" "&CHOOSE(MONTH({expression}),{months})&" "&YEAR({expression})'
