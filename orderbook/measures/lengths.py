"""Lengths as a restorer writes them, in millimetres.

Common units come from `units.toml` beside this file; rarer ones from pint, which is only asked for one word of
letters and never sees an expression (pint reads `2 1/2 in` as 1 inch, so fractions are taken apart here).
"""

from __future__ import annotations

import math
import re
import tomllib
import unicodedata
from collections.abc import Iterable
from fractions import Fraction
from functools import cache
from numbers import Real
from pathlib import Path
from typing import Any

from orderbook.errors import error

PLAIN_DECIMAL = re.compile(r"[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+")
_FRACTION = re.compile(r"(?:(?P<whole>[0-9]+)(?:\s+|\s*[-+]\s*|(?=\s*$)))?(?P<over>[0-9]+)\s*/\s*(?P<under>[0-9]+)")
_NUMBER = re.compile(
    r"""\s*(?P<number>
        (?:[0-9]+(?:\s+|[-+]))?[0-9]+\s*/\s*[0-9]+     # 1 1/2, 1-1/2, 3/4
        | [0-9][0-9.,\u00a0\u202f\u2009]*              # 34.02, 34,02, 1 234 with a narrow space
        | [.,][0-9]+                                   # .0125
    )\s*(?P<unit>.*?)\s*""",
    re.VERBOSE | re.DOTALL,
)
_LINE = {"line", "lines", "linie", "linien", "linea"}


def length_mm(text: str | float, *, where: str = "length", unit: str = "mm") -> float:
    """Read one length in any trade unit as millimetres.

    Parameters: text as typed, or a number; unit, the meaning of a bare number; where, named in an error.
    Returns: mm, above zero.
    Raises: OrderbookError(length_not_read | length_not_sensible) with what was seen and what to write.
    Source: units.toml; inch 25.4 mm exactly, ligne 1000/443.296 mm.

    >>> length_mm("34,02 mm"), length_mm("1 1/2 in"), length_mm("12 thou")
    (34.02, 38.1, 0.3048)
    >>> round(length_mm("6¾‴"), 4), round(length_mm("17 ligne"), 4)
    (15.2268, 38.3491)
    """
    if isinstance(text, bool) or not isinstance(text, (Real, str)):
        raise error("length_not_read", where=where, saw=repr(text))
    if isinstance(text, str):
        size, word = number_and_unit(text, where=where)
        if not word and unit == "mm" and _is_fraction(text):
            saw = f"{_shown(text)}, a fraction without a unit"
            raise error("length_not_read", where=where, saw=saw, try_this="Write its unit: 3/8 in, 6 3/4 ligne.")
        value = float(size * _unit(word or unit, text, where))
    else:
        value = float(text) * float(_unit(unit, unit, where))
    if not (math.isfinite(value) and value > 0):
        raise error("length_not_sensible", where=where, saw=_shown(text))
    return value


def lengths_mm(
    texts: str | float | Iterable[str | float], *, where: str = "length", unit: str = "mm"
) -> tuple[float, ...]:
    """Read repeats of one length: several texts, or one with semicolons, or plain numbers with spaces between.

    >>> lengths_mm("34.02 34.00 34,03")
    (34.02, 34.0, 34.03)
    >>> lengths_mm(["1 1/2 in", "38,2; 38,1"])
    (38.1, 38.2, 38.1)
    """
    given = [texts] if isinstance(texts, (str, int, float)) else list(texts)
    pieces = [piece for text in given for piece in _repeats(text)]
    if not pieces:
        raise error("length_not_read", where=where, saw="nothing was given")
    return tuple(length_mm(piece, where=where, unit=unit) for piece in pieces)


def number(text: str | float, *, where: str) -> float:
    """Read a plain number; a comma or a point is the decimal mark.

    Raises: OrderbookError(number_not_read).

    >>> number("5,5", where="⟨turns⟩"), number("1 1/2", where="⟨turns⟩"), number("5½", where="⟨turns⟩")
    (5.5, 1.5, 5.5)
    """
    if isinstance(text, bool) or not isinstance(text, (Real, str)):
        raise error("number_not_read", where=where, saw=repr(text))
    if isinstance(text, str):
        sign, bare = (-1, text.strip()[1:]) if text.strip()[:1] in ("-", "−") else (1, text)
        match = _NUMBER.fullmatch(taken_apart(bare))
        if match is None or match["unit"]:
            raise error("number_not_read", where=where, saw=_shown(text))
        return float(sign * _fraction(match["number"], text, where))
    if not math.isfinite(text):
        raise error("number_not_read", where=where, saw=_shown(text))
    return float(text)


def number_and_unit(text: str, *, where: str) -> tuple[Fraction, str]:
    """Take a text apart into its number and the word behind it, which may be empty and is not looked at.

    Raises: OrderbookError(length_not_read | several_marks).

    >>> number_and_unit("6¾ ligne", where="⟨bore⟩")
    (Fraction(27, 4), 'ligne')
    """
    match = _NUMBER.fullmatch(taken_apart(text))
    if match is None:
        raise error("length_not_read", where=where, saw=_shown(text))
    return _fraction(match["number"], text, where), match["unit"]


def unit_mm(word: str) -> Fraction | None:
    """Return how many mm a unit of the trade table is, or None if the table lacks the word.

    >>> unit_mm("in")
    Fraction(127, 5)
    """
    return _table().get(" ".join(unicodedata.normalize("NFC", word).casefold().split()))


def _repeats(text: str | float) -> list[str | float]:
    if not isinstance(text, str):
        return [text]
    parts = [part.strip() for part in text.split(";") if part.strip()]
    return [
        piece
        for part in parts
        for piece in (part.split() if all(PLAIN_DECIMAL.fullmatch(p) for p in part.split()) else [part])
    ]


def taken_apart(text: str) -> str:
    """Write ¾ as 3/4, with a space after the whole number before it.

    >>> taken_apart("6¾ ligne")
    '6 3/4 ligne'
    """
    return re.sub(r"([0-9])?([¼½¾⅐-⅞])", lambda m: (f"{m[1]} " if m[1] else "") + _vulgar(m[2]), text.replace("⁄", "/"))


def _vulgar(letter: str) -> str:
    return unicodedata.normalize("NFKC", letter).replace("⁄", "/")


def _is_fraction(text: str) -> bool:
    return "/" in taken_apart(text)


def _fraction(written: str, text: str, where: str) -> Fraction:
    if match := _FRACTION.fullmatch(written.strip()):
        if int(match["under"]) == 0:
            raise error("length_not_read", where=where, saw=_shown(text))
        if match["whole"] and match["under"] in ("10", "100", "1000"):
            saw = f"{_shown(text)}: {match['whole']} and a bit, or {match['whole']} of that fraction of a unit?"
            raise error("length_not_read", where=where, saw=saw, try_this="Write it with a decimal mark.")
        return int(match["whole"] or 0) + Fraction(int(match["over"]), int(match["under"]))
    digits = re.sub(r"[\u00a0\u202f\u2009]", "", written)
    return Fraction(_one_decimal_mark(digits, text, where))


def _one_decimal_mark(digits: str, text: str, where: str) -> str:
    """Write the number with one decimal point; marks that can be read in two ways are an error."""
    points, commas = digits.count("."), digits.count(",")
    if points + commas <= 1:
        return digits.replace(",", ".")
    mark = "." if digits.rfind(".") > digits.rfind(",") else ","
    other = "," if mark == "." else "."
    whole, _, rest = digits.rpartition(mark)
    if points and commas and digits.count(mark) == 1 and re.fullmatch(rf"[0-9]{{1,3}}(?:\{other}[0-9]{{3}})+", whole):
        return whole.replace(other, "") + "." + rest
    raise error("several_marks", where=where, saw=_shown(text), expected=_both_readings(digits))


def _both_readings(digits: str) -> str:
    pieces = re.split(r"[.,]", digits)
    paired = [".".join(pieces[i : i + 2]) for i in range(0, len(pieces), 2)]
    return f"It could be {' and '.join(paired)}, or {', '.join(pieces)}."


def _unit(word: str, text: str, where: str) -> Fraction:
    if (known := unit_mm(word)) is not None:
        return known
    if word.casefold() in _LINE:
        raise error(
            "length_not_read",
            where=where,
            saw=f"{_shown(text)}: a line may be the Paris ligne (2.256 mm) or a twelfth of an inch (2.117 mm)",
            try_this="Write ligne for the watchmaker's line, or give inches.",
        )
    if (rarer := _by_pint(word)) is not None:
        return rarer
    raise error("length_not_read", where=where, saw=f"{_shown(text)}, and {word!r} is not a unit of length")


@cache
def _by_pint(word: str) -> Fraction | None:
    if not re.fullmatch(r"[^\W\d_]{1,40}", word):
        return None
    import pint

    registry = _registry()
    try:
        unit = registry.Unit(word)
    except (AttributeError, pint.PintError, ValueError):
        return None
    if unit.dimensionality != {"[length]": 1}:
        return None
    return Fraction(repr(float(registry.Quantity(1, unit).to("millimetre").magnitude)))


@cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry()


@cache
def _table() -> dict[str, Fraction]:
    entries = tomllib.loads(Path(__file__).with_name("units.toml").read_text(encoding="utf-8"))
    return {word.casefold(): Fraction(entry["exact"]) for entry in entries.values() for word in entry["words"]}


def _shown(text: str | float) -> str:
    shown = repr(text) if isinstance(text, str) else str(text)
    return shown if len(shown) <= 60 else shown[:57] + "…'"
