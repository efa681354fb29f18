"""Decimal or thousand? Decided for a whole column from all its cells, never guessed for one."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass

SPACES = "\u00a0\u202f\u2009 "
DIGITS = rf"[0-9](?:[0-9.,]|['’{SPACES}](?=[0-9]{{3}}(?![0-9])))*|[.,][0-9]+"
_GROUP_SIGN = re.compile(rf"(?<=[0-9])[{SPACES}'’](?=[0-9]{{3}}(?![0-9]))")
UNREADABLE, UNDECIDED = "unreadable", "undecided"


@dataclass(frozen=True, slots=True)
class DecimalMark:
    """The decimal mark of a column: "." or ",", "" where no cell needs one, "mixed" where cells differ.

    `why` says how it was decided; `undecided` is a cell that could be read both ways, if nothing decided.
    """

    decimal: str
    why: str
    undecided: str = ""


def evidence(digits: str) -> str:
    """What one number says of its column: ".", ",", "" (nothing), "undecided" or "unreadable".

    >>> [evidence(text) for text in ("2,5", "0,125", "1.234,50", "1,234,567", "1,234", "12", "1.23.4")]
    [',', ',', ',', '.', 'undecided', '', 'unreadable']
    """
    plain = _GROUP_SIGN.sub("", digits)
    points, commas = plain.count("."), plain.count(",")
    if re.search(r"[^0-9.,]", plain):
        return UNREADABLE
    if points + commas == 0:
        return ""
    mark = "." if plain.rfind(".") > plain.rfind(",") else ","
    other = "," if mark == "." else "."
    if points + commas == 1:
        before, _, after = plain.partition(mark)
        sure = plain != digits or len(after) != 3 or not before or len(before) > 3 or before.startswith("0")
        return mark if sure else UNDECIDED
    if points and commas:
        return mark if _decimal_with_groups(plain, mark, other) else UNREADABLE
    return other if _grouped(plain, mark) else UNREADABLE


def plain_number(digits: str, decimal: str) -> str | None:
    """Write a number with a decimal point and no group marks; None if it cannot be read so.

    A number that decides for itself is read by its own mark; an undecided one by the column's.

    >>> plain_number("1.234,50", ","), plain_number("1,234", "."), plain_number("1,234", ",")
    ('1234.50', '1234', '1.234')
    """
    own = evidence(digits)
    plain = _GROUP_SIGN.sub("", digits)
    if own == UNREADABLE or (own == UNDECIDED and decimal not in (".", ",")):
        return None
    mark = decimal if own == UNDECIDED else own
    if not mark:
        return plain
    other = "," if mark == "." else "."
    return plain.replace(other, "").replace(mark, ".")


def decide(numbers: Iterable[str], sensible: Callable[[str, str], bool]) -> DecimalMark:
    """Decide the decimal mark of a column from all its numbers.

    Cells that can be read one way only decide. If there are none, the reading decides by which every undecided
    cell is `sensible` (asked with the number as written and as read) for the meaning of the column, if the other
    reading makes any of them senseless. Else the column is undecided.

    >>> decide(["2,5", "1,234"], lambda digits, number: True).decimal
    ','
    >>> decide(["1,234", "2,500"], lambda digits, number: float(number) > 50).decimal
    '.'
    >>> decide(["1,234"], lambda digits, number: True)
    DecimalMark(decimal='', why='no cell decides', undecided='1,234')
    """
    seen: dict[str, str] = {}
    undecided: list[str] = []
    for digits in numbers:
        said = evidence(digits)
        if said in (".", ","):
            seen.setdefault(said, digits)
        elif said == UNDECIDED:
            undecided.append(digits)
    if len(seen) == 2:
        return DecimalMark("mixed", f"{seen['.']} has a point, {seen[',']} a comma", undecided[0] if undecided else "")
    if seen:
        ((mark, example),) = seen.items()
        return DecimalMark(mark, f"from {example}")
    if not undecided:
        return DecimalMark("", "no cell has a mark")
    return _by_size(undecided, sensible)


def both_readings(digits: str) -> str:
    """Say the two ways a number can be read.

    >>> both_readings("1,234")
    '1,234 could be 1.234 (decimal comma) or 1234 (thousands)'
    """
    mark = "," if "," in digits else "."
    name = "comma" if mark == "," else "point"
    return f"{digits} could be {digits.replace(mark, '.')} (decimal {name}) or {digits.replace(mark, '')} (thousands)"


def _by_size(undecided: list[str], sensible: Callable[[str, str], bool]) -> DecimalMark:
    fits = [mark for mark in (".", ",") if all(sensible(d, plain_number(d, mark) or "") for d in undecided)]
    if len(fits) == 1:
        return DecimalMark(fits[0], f"{both_readings(undecided[0])}, and only one is a size that such a spring has")
    return DecimalMark("", "no cell decides", undecided[0])


def _grouped(plain: str, mark: str) -> bool:
    return re.fullmatch(rf"[1-9][0-9]{{0,2}}(\{mark}[0-9]{{3}})+", plain) is not None


def _decimal_with_groups(plain: str, mark: str, other: str) -> bool:
    whole, _, _ = plain.rpartition(mark)
    return plain.count(mark) == 1 and _grouped(whole, other)
