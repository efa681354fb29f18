"""One cell of a size column: a number with or without its unit, or several sizes such as `2.50 x 0.16 x 340`."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from orderbook.catalogue.headings import LETTERS, SIZES, Part, spoken_for
from orderbook.catalogue.marks import DIGITS, plain_number
from orderbook.catalogue.units import Unit, UnitDoubt, known_unit, said_unit
from orderbook.catalogue.words import one_spelling, shipped_words

# what a mainspring is: a reading outside is a misread column or a misprinted row. Common practice, no source.
SENSIBLE_MM = {"width": (0.5, 80.0), "strength": (0.03, 2.0), "length": (50.0, 12_000.0)}
UNITS_TRIED = ("mm", "1/100 mm", "1/10 mm", "cm", "m", "in", "thou", "ligne", "douzième", "µm", "ft")
MISSING = frozenset(["", "-", "–", "—", "--", "?", "n/a", "na", "n.a.", "none", "null", "nan", "k.a.", "k. a.", "."])
VULGAR = re.compile(r"([0-9])?\s?([¼½¾⅐-⅞])")
UNDER = "(?:2|3|4|5|6|8|10|12|16|32|64|100|1000)(?![0-9])"
FRACTION = rf"(?:[0-9]+(?:\s+|-))?[0-9]+\s*/\s*{UNDER}"
METRIC_UNDER = frozenset(["2", "4", "8", "100", "1000"])  # what stands under the stroke of a fraction of a millimetre
_NUMBER = rf"(?:{FRACTION}|{DIGITS})"
_UNIT_FIRST = re.compile(rf"(?P<unit>[a-z]{{2,12}}|m/m)\.?\s*(?P<number>{DIGITS})")
_FEET = re.compile(
    rf"([0-9]+)\s*(?:'|ft\b\.?|feet\b|foot\b)\s*[-,]?\s*({FRACTION}|[0-9]+(?:\.[0-9]+)?)\s*(?:\"|in\b\.?|ins\b\.?|inch\b|inches\b)"
)
_UNIT = r"(?:(?:mm|cms?|m|m/m|inch(?:es)?|ins?|thou|ft|lignes?|lig|zoll|pouces?|pollici|pulg|duim)\b\.?|'''|\"|')"
_PIECE = rf"{_NUMBER}\s*{_UNIT}?"
_TIMES = r"\s*(?:[x✕*]|\bby\b|\bmal\b|\bper\b)\s*"
_TIMES_NUMBER = re.compile(r"\s*(?:[x✕*]|\bby\b|\bmal\b)\s*(?=[.,]?[0-9])")
_WITHIN = re.compile(rf"(?<![0-9.,/]){_PIECE}(?:{_TIMES}{_PIECE}){{1,4}}(?!\s*[x*/]?\s*[0-9])")
_LABELLED = re.compile(rf"([a-zø]+)\s*[.:=]*\s*({_NUMBER}\s*{_UNIT}?)\s*(?:[x,;/|*-]|$)?\s*")
_BETWEEN_NUMBERS = r"(?:-|–|—|\.\.+|…|/|\b(?:bis|to|tot|hasta|fino a|jusqu a|and|und|et|or|oder|ou)\b|\b[aà]\b)"
_RANGE = re.compile(rf"[^0-9]*[0-9]+(?:[.,][0-9]+)?\s*{_UNIT}?\s*{_BETWEEN_NUMBERS}\s*[0-9.,]+.*")
_OPEN = re.compile(r"\s*(?:min|max|mind|bis|up to|from|ab|over|under|[<>≥≤]).*[0-9].*|.*[0-9]\s*(?:\+|±|\+/-).*")
MARGIN = 3.0  # a strip is more than three times as wide as it is thick, and longer than three times its width


class Written(NamedTuple):
    """A number as it is written, and its unit ("" for a bare number)."""

    number: str
    unit: str

    @property
    def is_fraction(self) -> bool:
        """Whether it is written as a fraction, so that it has no decimal mark."""
        return "/" in self.number

    @property
    def is_part_of_an_inch(self) -> bool:
        """Whether it is a fraction that nobody writes of a millimetre."""
        return self.is_fraction and self.number.rpartition("/")[2].strip() not in METRIC_UNDER


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
    """Take a cell apart into number and unit; None if it is not one number with a unit that is sure.

    >>> written("6¾‴"), written("0,16 mm"), written("0.0125\\""), written("2.50 x 0.16")
    (Written(number='6 3/4', unit="'''"), Written(number='0,16', unit='mm'), Written(number='0.0125', unit='"'), None)
    >>> written("8' 6\\""), written("mm 340"), written("3 lines")
    (Written(number='102', unit='in'), Written(number='340', unit='mm'), None)
    """
    plain = _one_spelling(text)
    match = _one().fullmatch(plain) or _UNIT_FIRST.fullmatch(plain)
    if match is not None:
        number, unit = match["number"].strip().rstrip(".,"), match["unit"].strip()
        if ".." in number:
            return None
        if not unit or isinstance(said_unit(unit), Unit):
            return Written(number, unit)
        return None
    feet = _FEET.fullmatch(plain)
    return _in_inches(feet[1], feet[2]) if feet else None


def why_not(text: str) -> Trouble:
    """Say why a cell is not one size: a range, a doubtful unit, or no length at all.

    >>> why_not("300-320").reason, why_not("3 lines").reason
    ("'300-320' is a range, not one size", "'3 lines': the word 'lines' may be one of several units")
    """
    plain = _one_spelling(text)
    if _RANGE.fullmatch(plain) or _OPEN.fullmatch(plain):
        return Trouble(f"{text!r} is a range, not one size", "Ask the supplier for the size of the piece.")
    match = _one().fullmatch(plain)
    if match is not None and isinstance(doubt := said_unit(match["unit"]), UnitDoubt):
        return Trouble(
            f"{text!r}: the word {doubt.word!r} may be one of several units", "Write the size in mm or in inches."
        )
    return Trouble(f"{text!r} is not a length", "Write one number with its unit, such as 0.16 mm.")


def pieces(text: str) -> tuple[Written, ...]:
    """Take `2.50 x 0.16 x 340 mm` apart; a unit after the last number only holds for all. Empty if it is not so.

    >>> [piece.number for piece in pieces("Feder 2,50 x 0,16 x 340 mm, Loch")]
    ['2,50', '0,16', '340']
    >>> [piece.number for piece in pieces("2,5/0,16/340")], len(pieces("65 x 18 x 0,40 x 1500"))
    (['2,5', '0,16', '340'], 4)
    """
    plain = _one_spelling(text)
    known = (
        _all_written(re.split(_TIMES_NUMBER, plain))
        or _all_written(_within(plain))
        or _all_written(_cut_otherwise(plain))
    )
    if not known:
        return ()
    units = [piece.unit for piece in known]
    shared = units[-1] if units[-1] and not any(units[:-1]) else ""
    return tuple(Written(piece.number, piece.unit or shared) for piece in known)


def labelled(text: str) -> dict[str, Written]:
    """Take `W 2.5 x T 0.16 x L 340` apart by its labels; empty if it is not so.

    >>> {size: one.number for size, one in labelled("B 2,5 mm, S 0,16 mm, L 340 mm").items()}
    {'width': '2,5', 'strength': '0,16', 'length': '340'}
    """
    plain = _one_spelling(text)
    found = _labels_behind(plain)
    at = len(plain) if found else 0
    while at < len(plain):
        match = _LABELLED.match(plain, at)
        size = _size_of_label(match[1]) if match else ""
        one = written(match[2]) if match else None
        if match is None or not size or one is None or size in found:
            return {}
        found[size] = one
        at = match.end()
    return found if len(found) > 1 else {}


def in_mm(size: Written, decimal: str, bare: str) -> float | None:
    """Return mm of a written size; None if its mark cannot be decided or the fraction is none.

    Parameters: decimal, the column's mark; bare, the unit of a number without one ("" if nobody said).

    >>> in_mm(Written("2,50", ""), ",", "mm"), in_mm(Written("1 1/2", '"'), ".", "mm")
    (2.5, 38.1)
    """
    factor = known_unit(size.unit or bare)
    if factor is None:
        return None
    if size.is_fraction:
        return _fraction(size.number, factor)
    number = plain_number(size.number, decimal)
    if number is None:
        return None
    return float(number) if factor == 1 else float(Fraction(number) * factor)


@cache
def _one() -> re.Pattern[str]:
    """One number with or without a unit, with or without a word for "about" before it."""
    about = "|".join(sorted(map(re.escape, shipped_words().kind("about")), key=len, reverse=True))
    return re.compile(rf"(?:(?:{about})\.?\s*|[~≈]\s*)?(?P<number>{_NUMBER})\s*(?P<unit>[^0-9]{{0,24}})")


def is_whole(size: Written) -> bool:
    """Whether a bare number has no decimals."""
    return not size.unit and size.number.isdigit()


def sensible(meaning: str, mm: float) -> bool:
    """Whether a mainspring can have this size.

    >>> sensible("strength", 0.16), sensible("strength", 16)
    (True, False)
    """
    low, high = SENSIBLE_MM[meaning]
    return low <= mm <= high


def by_meaning(values: Sequence[float], order: Sequence[Part]) -> Mapping[str, float] | None:
    """Tell the sizes of one cell apart, by the order that was said, or by their size: they are never near each other.

    None if they cannot be told apart: three numbers that are near each other, four whose order nobody said.

    >>> by_meaning((0.16, 2.5, 340.0), ())
    {'strength': 0.16, 'width': 2.5, 'length': 340.0}
    >>> by_meaning((65.0, 18.0, 0.4, 1500.0), ()) is None
    True
    """
    if order and (len(values) > 3 or not all(part.meaning and part.unit is None for part in order)):
        if len(order) != len(values):
            return None
        named = {part.meaning: value for part, value in zip(order, values, strict=True) if part.meaning}
    elif len(values) > 3:
        return None
    else:
        named = dict(zip(("strength", "width", "length"), sorted(values), strict=False))
    width, strength, length = (named.get(size) for size in SIZES)
    if width is not None and strength is not None and width < MARGIN * strength:
        return None
    if width is not None and length is not None and length < MARGIN * width:
        return None
    return named


def _labels_behind(plain: str) -> dict[str, Written]:
    """`2.5mm W x 0.16mm T x 340mm L`."""
    found: dict[str, Written] = {}
    for piece in re.split(_TIMES_NUMBER, plain):
        match = re.fullmatch(rf"({_NUMBER}\s*{_UNIT}?)\s*([a-z]+)", piece.strip(" ,;"))
        size = _size_of_label(match[2]) if match else ""
        one = written(match[1]) if match else None
        if one is None or not size or size in found:
            return {}
        found[size] = one
    return found


def _size_of_label(label: str) -> str:
    if label in LETTERS:
        return LETTERS[label]
    sure = {meaning for meaning, weight in spoken_for((label,), shipped_words()) if weight > 1}
    return sure.pop() if len(sure) == 1 and sure <= set(SIZES) else ""


def _all_written(cut: Sequence[str]) -> list[Written]:
    """The pieces as numbers with units, if there are two or more and each is one."""
    each = [written(piece) for piece in cut] if len(cut) > 1 else []
    known = [piece for piece in each if piece is not None]
    return known if len(known) == len(each) else []


def _within(plain: str) -> list[str]:
    """The one place of a text where numbers stand with a mark between them, if it does not go on before or behind."""
    found = list(_WITHIN.finditer(plain))
    if len(found) != 1 or re.search(r"(?:[x*/✕]|\bby|\bmal)\s*$", plain[: found[0].start()]):
        return []
    if re.match(r"\s*[^\W\d_]*\s*(?:[x*/✕]|\bby\b|\bmal\b)\s*[0-9]", plain[found[0].end() :]):
        return []
    return re.split(_TIMES, found[0].group())


def _cut_otherwise(plain: str) -> list[str]:
    """Three numbers or more and nothing else, with strokes, dashes or blanks between them."""
    for mark in (r"\s*/\s*", r"\s*-\s*|\s+-\s+", r"\s*;\s*|\s*\|\s*", r"\s+"):
        cut = re.split(mark, plain)
        if len(cut) > 2 and all(re.fullmatch(rf"(?:{DIGITS})\s*{_UNIT}?", piece) for piece in cut):
            return cut
    return []


def _in_inches(feet: str, inches: str) -> Written:
    total = 12 * int(feet) + _parts(inches)
    number = f"{float(total):.6f}".rstrip("0").rstrip(".")
    return Written(number + "0" if "." in number else number, "in")


def _parts(text: str) -> Fraction:
    whole, _, part = re.sub(r"\s*/\s*", "/", text.replace("-", " ")).rpartition(" ") if "/" in text else (text, "", "0")
    if whole.strip() and part.partition("/")[2] in ("10", "100", "1000"):
        raise ValueError("12 1/100: twelve and a bit, or twelve hundredths?")
    return Fraction(whole.strip() or 0) + Fraction(part or 0)


def _fraction(number: str, factor: Fraction) -> float | None:
    try:
        mm = float(_parts(number) * factor)
    except (ValueError, ZeroDivisionError):
        return None
    return mm if mm > 0 else None


def _one_spelling(text: str) -> str:
    plain = text.strip().replace("⁄", "/")
    if VULGAR.search(plain):
        plain = VULGAR.sub(
            lambda m: (f"{m[1]} " if m[1] else "") + unicodedata.normalize("NFKC", m[2]).replace("⁄", "/"), plain
        )
    if plain.isascii() and plain.islower() and "'" not in plain:
        return plain
    plain = re.sub(r"(?<=[0-9])·(?=[0-9])", ".", plain)
    return _without_letters_changed(plain)


def _without_letters_changed(plain: str) -> str:
    """One spelling of quotation marks, accents and case; figures of other alphabets and small raised ones stay."""
    odd = any(letter.isdigit() and not letter.isascii() for letter in plain)
    return plain if odd else one_spelling(plain)
