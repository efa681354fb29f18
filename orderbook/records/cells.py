"""Reading one typed cell: what cannot be read becomes a finding that names the cell, never a guess."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from orderbook.errors import Finding, OrderbookError, finding
from orderbook.measures.lengths import taken_apart
from orderbook.measures.money import minor_digits
from orderbook.records.identifiers import several, tidy
from orderbook.records.rows import Row

DAY_0 = date(1899, 12, 30)  # the day a worksheet counts from
Reader = Callable[[Any, Row, str, list[Finding]], Any]

CELL_ERROR = re.compile(r"#(N/A|[A-Z0-9/_]+[!?])")  # as a worksheet shows it; an item may begin with # too
_ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_DOTTED = re.compile(r"(\d{1,2})\.\s?(\d{1,2})\.\s?(\d{4})")
_SLASHED = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4})")
_NAMED = re.compile(r"(\d{1,2})\.?\s+([A-Za-z]{3})[a-z]*\.?,?\s+(\d{4})")
_MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)")
_GROUPED = re.compile(r"[+-]?\d{1,3}(?:([ '.,])\d{3})(?:\1\d{3})*(?:[.,]\d+)?")
_THREE_AFTER_MARK = re.compile(r"[+-]?[1-9]\d{0,2}([.,])\d{3}")  # 1,234: thousands of one country, decimals of another
_FRACTION = re.compile(r"([+-]?)(?:(\d+) +)?(\d+) ?/ ?(\d+)")
_CLOCK = re.compile(r"(\d{1,3}):([0-5]\d)(?::([0-5]\d))?")
_GAPS = re.compile("[\u00a0\u2007\u2009\u202f]")  # spaces that keep what they part on one line


def text(value: Any, row: Row, key: str, found: list[Finding]) -> str:
    """Read a cell as text; a whole number as its digits."""
    if value is None:
        return ""
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    if isinstance(value, (date, timedelta)):
        _tell("cell_holds_day", value, row, key, found)
    return str(value).strip()


def typed(value: Any, row: Row, key: str, found: list[Finding]) -> Any:
    """Leave a cell as it was typed: whether a number or a text stands there is part of what it says."""
    return value.strip() if isinstance(value, str) else value


def shown(value: Any, row: Row, key: str, found: list[Finding]) -> Decimal | None:
    """Take the number a formula shows; what else it shows, an error or nothing, is no number and no slip of a hand."""
    return Decimal(str(value)) if isinstance(value, (int, float, Decimal)) and not isinstance(value, bool) else None


def number(value: Any, row: Row, key: str, found: list[Finding]) -> Decimal | None:
    """Read a cell as an exact decimal: comma or point, thousands only where both marks or a gap leave no doubt."""
    exact, why = _decimal_of(value, row, key)
    if exact is None and why:
        _tell(why, value, row, key, found)
    return exact


def _decimal_of(value: Any, row: Row, key: str) -> tuple[Decimal | None, str]:
    """Return the number a cell holds, or why it holds none; nothing at all for an empty cell."""
    if isinstance(value, (date, timedelta)):
        return None, "cell_holds_day"
    if isinstance(value, bool) or value is None:
        return None, "" if value is None else "cell_not_a_number"
    if isinstance(value, (int, float, Decimal)):
        exact = Decimal(str(value))
        return (exact, "") if exact.is_finite() else (None, "cell_not_a_number")
    text = value.strip() if isinstance(value, str) else ""
    if not text:
        return None, ""
    return number_in(text, is_length=key.endswith("_mm"), is_file=not row.place.sheet)


def number_in(text: str, *, is_length: bool = False, is_file: bool = False) -> tuple[Decimal | None, str]:
    """Return the one number a text stands for, or the code of what is wrong with it.

    A fraction without a unit is never taken for mm (`is_length`). In a file of text a point is the decimal mark.

    >>> number_in("1.250,00"), number_in("12 1/2"), number_in("−5"), number_in("1,234")
    ((Decimal('1250.00'), ''), (Decimal('12.5'), ''), (Decimal('-5'), ''), (None, 'number_in_two_ways'))
    """
    plain = _GAPS.sub(" ", text.strip()).replace("−", "-")
    if _NUMBER.fullmatch(plain):
        doubtful = _THREE_AFTER_MARK.fullmatch(plain)
        if doubtful and (doubtful[1] == "," or not is_file):
            return None, "number_in_two_ways"
        return Decimal(plain.replace(",", ".")), ""
    if (grouped := _GROUPED.fullmatch(plain)) and _is_clear(plain, grouped[1]):
        return Decimal(plain.replace(grouped[1], "").replace(",", ".")), ""
    if not is_length and (parts := _FRACTION.fullmatch(taken_apart(plain))) and int(parts[4]):
        size = Decimal(parts[2] or 0) + Decimal(parts[3]) / Decimal(parts[4])
        return (-size if parts[1] == "-" else size), ""
    return None, "cell_not_a_number"


def _is_clear(plain: str, mark: str) -> bool:
    others = {".", ","} - {mark}
    return mark in " '" or any(other in plain for other in others) or plain.count(mark) > 1


def hours(value: Any, row: Row, key: str, found: list[Finding]) -> Decimal | None:
    """Read a cell as hours; a time such as 1:30 is one and a half of them."""
    if is_time(value):
        seconds = value.total_seconds() if isinstance(value, timedelta) else float(value) * 86_400
        return _hours(Decimal(round(seconds)))
    if isinstance(value, str) and (clock := _CLOCK.fullmatch(value.strip())):
        return _hours(Decimal(clock[1]) * 3600 + Decimal(clock[2]) * 60 + Decimal(clock[3] or 0))
    return number(value, row, key, found)


def is_time(value: Any) -> bool:
    """Say whether a cell of hours holds a time of day: shown as one, or a part of a day to the minute.

    A program that keeps the cell's own format makes 0.0625 of a typed 1:30; nobody counts hours to ten-thousandths.

    >>> is_time(0.0625), is_time(2 / 24), is_time(0.25), is_time(1.5)
    (True, True, False, False)
    """
    if isinstance(value, timedelta):
        return True
    if not isinstance(value, float) or not 0 < value < 1 or round(value, 3) == value:
        return False
    minutes = value * 1440
    return abs(minutes - round(minutes)) < 1e-6


def _hours(seconds: Decimal) -> Decimal:
    return round(seconds / 3600, 6).normalize() + 0


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
