"""Reading one typed cell: what cannot be read becomes a finding that names the cell, never a guess."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from orderbook.errors import Finding, OrderbookError, finding
from orderbook.measures.money import minor_digits
from orderbook.records.identifiers import several, tidy
from orderbook.records.rows import Row

Reader = Callable[[Any, Row, str, list[Finding]], Any]

CELL_ERROR = re.compile(r"#(N/A|[A-Z0-9/_]+[!?])")  # as a worksheet shows it; an item may begin with # too
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_DOTTED = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})")
_SLASHED = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4})")
_NAMED = re.compile(r"(\d{1,2})\.?\s+([A-Za-z]{3})[a-z]*\.?,?\s+(\d{4})")
_MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)")
_GROUPED = re.compile(r"[+-]?\d{1,3}(?:([ '.,])\d{3})(?:\1\d{3})*(?:[.,]\d+)?")


def text(value: Any, row: Row, key: str, found: list[Finding]) -> str:
    """Read a cell as text; a whole number as its digits."""
    if value is None:
        return ""
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return str(value).strip()


def typed(value: Any, row: Row, key: str, found: list[Finding]) -> Any:
    """Leave a cell as it was typed: whether a number or a text stands there is part of what it says."""
    return value.strip() if isinstance(value, str) else value


def shown(value: Any, row: Row, key: str, found: list[Finding]) -> Decimal | None:
    """Take the number a formula shows; what else it shows, an error or nothing, is no number and no slip of a hand."""
    return Decimal(str(value)) if isinstance(value, (int, float, Decimal)) and not isinstance(value, bool) else None


def number(value: Any, row: Row, key: str, found: list[Finding]) -> Decimal | None:
    """Read a cell as an exact decimal: comma or point, thousands only where both marks or a gap leave no doubt."""
    exact = _decimal_of(value)
    if exact is not None and exact.is_finite():
        return exact
    if value is not None and str(value).strip():
        _tell("cell_not_a_number", value, row, key, found)
    return None


def _decimal_of(value: Any) -> Decimal | None:
    if isinstance(value, (int, float, Decimal)) and not isinstance(value, bool):
        return Decimal(str(value))
    plain = value.strip() if isinstance(value, str) else ""
    if _NUMBER.fullmatch(plain):
        return Decimal(plain.replace(",", "."))
    if (grouped := _GROUPED.fullmatch(plain)) and _is_clear(plain, grouped[1]):
        return Decimal(plain.replace(grouped[1], "").replace(",", "."))
    return None


def _is_clear(plain: str, mark: str) -> bool:
    others = {".", ","} - {mark}
    return mark in " '" or any(other in plain for other in others) or plain.count(mark) > 1


def whole(value: Any, row: Row, key: str, found: list[Finding]) -> int | None:
    """Read a cell as a whole number."""
    exact = number(value, row, key, found)
    if exact is None:
        return None
    if exact == exact.to_integral_value():
        return int(exact)
    _tell("cell_not_whole", value, row, key, found)
    return None


def day(value: Any, row: Row, key: str, found: list[Finding]) -> date | None:
    """Read a cell as a plain date; a text that could be two dates is not one."""
    if value is None or value == "":
        return None
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, date):
        return value
    if isinstance(value, str):
        return _day_of_text(value.strip(), row, key, found)
    _tell("date_not_read", value, row, key, found)
    return None


def _day_of_text(plain: str, row: Row, key: str, found: list[Finding]) -> date | None:
    if not plain:
        return None
    day_first, month_first = day_of(plain, day_first=True), day_of(plain, day_first=False)
    if day_first and month_first and day_first != month_first:
        saw = f"“{plain}” may be {_said(day_first)} or {_said(month_first)}"
        found.append(finding("date_in_two_orders", where=row.place.of(key), saw=saw))
        return None
    read = day_first or month_first
    if read is None:
        _tell("date_not_read", plain, row, key, found)
    return read


def day_of(plain: str, *, day_first: bool | None) -> date | None:
    """Read a text as a date: 2026-03-04, 4.3.2026, 4 Mar 2026, or with strokes in the order given.

    >>> day_of("04/03/2026", day_first=True), day_of("4 March 2026", day_first=None), day_of("March", day_first=None)
    (datetime.date(2026, 3, 4), datetime.date(2026, 3, 4), None)
    """
    if match := _ISO.fullmatch(plain):
        return _a_day(*match.groups())
    if match := _DOTTED.fullmatch(plain):
        return _a_day(match[3], match[2], match[1])
    if match := _NAMED.fullmatch(plain):
        month = match[2].casefold()
        return _a_day(match[3], _MONTHS.index(month) + 1, match[1]) if month in _MONTHS else None
    if (match := _SLASHED.fullmatch(plain)) and day_first is not None:
        return _a_day(match[3], match[2], match[1]) if day_first else _a_day(match[3], match[1], match[2])
    return None


def _a_day(year: Any, month: Any, day_of_month: Any) -> date | None:
    try:
        return date(int(year), int(month), int(day_of_month))
    except ValueError:
        return None


def _said(when: date) -> str:
    return f"{when.day} {_MONTHS[when.month - 1].capitalize()} {when.year}"


def identifier(value: Any, row: Row, key: str, found: list[Finding]) -> str:
    """Read a cell as one identifier in its plain spelling."""
    return tidy(text(value, row, key, found))


def currency(value: Any, row: Row, key: str, found: list[Finding]) -> str:
    """Read a cell as an ISO 4217 currency code."""
    said = text(value, row, key, found).upper()
    try:
        minor_digits(said)
    except OrderbookError:
        found.append(finding("currency_not_known", where=row.place.of(key), saw=f"“{value}”"))
        return ""
    return said


def identifiers(value: Any, row: Row, key: str, found: list[Finding]) -> tuple[str, ...]:
    """Read a cell as several identifiers."""
    return several(text(value, row, key, found))


def shows_error(value: Any) -> bool:
    """Say whether a cell shows an error of the worksheet.

    >>> shows_error("#DIV/0!"), shows_error("#N/A"), shows_error("#12 blue"), shows_error(3.0)
    (True, True, False, False)
    """
    return isinstance(value, str) and value[:1] == "#" and CELL_ERROR.fullmatch(value) is not None


def one_of(*words: str, begins: tuple[str, ...] = ()) -> Reader:
    """Return the reader of a cell that holds one of these words, or words that begin with one of `begins`."""

    def read(value: Any, row: Row, key: str, found: list[Finding]) -> str:
        said = " ".join(text(value, row, key, found).casefold().split())
        if said and said not in words and not said.startswith(begins or ("\0",)):
            listed = ", ".join(words + tuple(f"{b} …" for b in begins))
            saw = f"“{value}” is not one of the words used here"
            found.append(
                finding("word_not_listed", where=row.place.of(key), saw=saw, expected=f"Expected one of: {listed}.")
            )
        return said

    return read


def _tell(code: str, value: Any, row: Row, key: str, found: list[Finding]) -> None:
    found.append(finding(code, where=row.place.of(key), saw=f"“{value}”"))
