"""One cell of a size column: a number with or without its unit, or a whole `2.50 x 0.16 x 340`."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from orderbook.catalogue.marks import DIGITS, plain_number
from orderbook.errors import OrderbookError
from orderbook.measures import length_mm, unit_mm

# what a mainspring is: a reading outside is a misread column or a misprinted row. Common practice, no source.
SENSIBLE_MM = {"width": (0.5, 80.0), "strength": (0.03, 2.0), "length": (50.0, 12_000.0)}
UNITS_TRIED = ("mm", "1/100 mm", "cm", "m", "in", "thou", "ligne", "douzième", "µm")
MISSING = frozenset(["", "-", "–", "—", "--", "?", "n/a", "na", "n.a.", "none", "null", "nan", "k.a.", "k. a.", "."])
VULGAR = re.compile(r"([0-9])?\s?([¼½¾⅐-⅞])")
FRACTION = r"(?:[0-9]+(?:\s+|-))?[0-9]+\s*/\s*[0-9]+"
_NUMBER = rf"(?P<number>{FRACTION}|{DIGITS})"
_ONE = re.compile(rf"(?:(?:ca|approx|about|abt|circa)\.?\s*|[~≈Øø]\s*)?{_NUMBER}\s*(?P<unit>[^0-9]{{0,24}})")
_TIMES = re.compile(r"\s*(?:[x×✕*]|\bby\b|\bmal\b)\s*", re.IGNORECASE)
_UNIT = r"mm\b|cm\b|m\b|inches|inch|in\b\.?|thou|ft\b\.?|lignes?|lig\b\.?|'''|‴|''|″|\""
_PIECE = rf"(?:{FRACTION}|(?:{DIGITS}))\s*(?:{_UNIT})?"
_TIMES_WORD = r"\s*(?:[x×✕*]|\bby\b)\s*"
_WITHIN = re.compile(rf"(?<![0-9.,/]){_PIECE}(?:{_TIMES_WORD}{_PIECE}){{1,2}}(?![0-9/])", re.IGNORECASE)
MARGIN = 3.0  # a strip is more than three times as wide as it is thick, and longer than three times its width


class Written(NamedTuple):
    """A number as it is written, and its unit ("" for a bare number)."""

    number: str
    unit: str

    @property
    def is_fraction(self) -> bool:
        """Whether it is written as a fraction, so that it has no decimal mark."""
        return "/" in self.number


@dataclass(frozen=True, slots=True)
class Trouble:
    """Why a cell cannot be used, and what to try."""

    reason: str
    try_this: str


def is_missing(text: str) -> bool:
    """Whether a cell says nothing: empty, a dash, n/a.

    >>> is_missing(" - "), is_missing("0")
    (True, False)
    """
    return len(text) < 8 and text.strip().casefold() in MISSING


def written(text: str) -> Written | None:
    """Take a cell apart into number and unit; None if it is not one number.

    >>> written("6¾‴"), written("0,16 mm"), written("0.0125\\""), written("2.50 x 0.16")
    (Written(number='6 3/4', unit='‴'), Written(number='0,16', unit='mm'), Written(number='0.0125', unit='"'), None)
    """
    match = _ONE.fullmatch(_taken_apart(text))
    if match is None:
        return None
    unit = match["unit"].strip()
    return Written(match["number"], unit) if not unit or known_unit(unit) else None


def pieces(text: str) -> tuple[Written, ...]:
    """Take `2.50 x 0.16 x 340 mm` apart; a unit after the last number only holds for all. Empty if it is not so.

    >>> [piece.number for piece in pieces("Feder 2,50 x 0,16 x 340 mm, Loch")]
    ['2,50', '0,16', '340']
    """
    found = _WITHIN.findall(_taken_apart(text))
    if len(found) != 1:
        return ()
    each = [written(piece) for piece in _TIMES.split(found[0])]
    known = [piece for piece in each if piece is not None]
    if len(known) != len(each):
        return ()
    units = [piece.unit for piece in known]
    shared = units[-1] if units[-1] and not any(units[:-1]) else ""
    return tuple(Written(piece.number, piece.unit or shared) for piece in known)


def in_mm(size: Written, decimal: str, bare: str) -> float | None:
    """Return mm of a written size; None if its mark cannot be decided or the fraction is none.

    Parameters: decimal, the column's mark; bare, the unit of a number without one ("" if nobody said).

    >>> in_mm(Written("2,50", ""), ",", "mm"), in_mm(Written("1 1/2", '"'), ".", "mm")
    (2.5, 38.1)
    """
    unit = size.unit or bare
    if size.is_fraction:
        return _by_measures(size.number, unit)
    number = plain_number(size.number, decimal)
    if number is None:
        return None
    factor = known_unit(unit)
    if factor == 1:
        return float(number)
    return float(Fraction(number) * factor) if factor else _by_measures(number, unit)


@cache
def known_unit(unit: str) -> Fraction | None:
    """Return mm of one unit, as the trade writes it or as pint knows it; None if it is no length."""
    word = unit.strip().rstrip(".,;").strip() or unit
    if (known := unit_mm(word)) is not None:
        return known
    try:
        return Fraction(length_mm("1", unit=word)).limit_denominator(10**6)  # pint gives 304.79999999999995 for a foot
    except OrderbookError:
        return None


def sensible(meaning: str, mm: float) -> bool:
    """Whether a mainspring can have this size.

    >>> sensible("strength", 0.16), sensible("strength", 16)
    (True, False)
    """
    low, high = SENSIBLE_MM[meaning]
    return low <= mm <= high


def in_order(values: tuple[float, ...]) -> tuple[float, float, float | None] | None:
    """Tell width, strength and length apart by size: they are never near each other. None if they are.

    >>> in_order((0.16, 2.5, 340.0))
    (2.5, 0.16, 340.0)
    """
    strength, width, *length = sorted(values)
    if width < MARGIN * strength or (length and length[0] < MARGIN * width):
        return None
    return width, strength, length[0] if length else None


def _by_measures(number: str, unit: str) -> float | None:
    try:
        return length_mm(number, unit=unit)
    except OrderbookError:
        return None


def _taken_apart(text: str) -> str:
    plain = text.strip().replace("⁄", "/")
    if not VULGAR.search(plain):
        return plain
    return VULGAR.sub(
        lambda m: (f"{m[1]} " if m[1] else "") + unicodedata.normalize("NFKC", m[2]).replace("⁄", "/"), plain
    )
