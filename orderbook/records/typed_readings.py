"""A reading typed as text: the one number it stands for, and the unit if one stands in it."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from orderbook.errors import error
from orderbook.measures.lengths import length_mm, number_and_unit
from orderbook.records.cells import number_in

METRIC = ("mm", "cm", "1/100 mm")  # in these nobody writes a fraction
SAME = 1e-9


@dataclass(frozen=True, slots=True)
class TypedReading:
    """A number, and the unit that stood in the text with it; empty where none did."""

    number: Decimal
    unit: str = ""


def reading_in(text: str, *, unit: str, where: str) -> TypedReading:
    """Read a reading that was typed as text; `unit` is what stands in the cell beside it.

    Raises: OrderbookError for a text of no reading, or of two; a fraction without a unit is never mm.

    >>> reading_in("15,60", unit="mm", where=""), reading_in("6¾ ligne", unit="", where="")
    (TypedReading(number=Decimal('15.60'), unit=''), TypedReading(number=Decimal('6.75'), unit='ligne'))
    """
    exact, why = number_in(text, is_length=unit.casefold() in ("", *METRIC))
    if exact is not None:
        return TypedReading(exact)
    if why == "number_in_two_ways":
        raise error(why, where=where, saw=f"“{text}”")
    length_mm(text, where=where)  # says what is wrong with it
    size, word = number_and_unit(text, where=where)
    return TypedReading(Decimal(size.numerator) / Decimal(size.denominator), word)


def is_same_unit(word: str, mm: float) -> bool:
    """Say whether a word names the unit that is so many mm long.

    >>> is_same_unit("Zoll", 25.4), is_same_unit("mm", 25.4)
    (True, False)
    """
    return abs(length_mm(f"1 {word}") - mm) <= SAME * mm
