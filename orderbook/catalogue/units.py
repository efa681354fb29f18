"""Units of length as lists write them, in six languages: what is sure, and what a person must be asked about.

A unit is a word (`pouces`), a sign (`"`), or a part of one (`1/16 in`, `dixièmes de mm`). A tenth or a hundredth alone
is of the millimetre, as metric lists have it; any other part alone, a line, a point or a foot of one country or another
is a doubt: nobody can be sure of it, so it is never read.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from orderbook.catalogue.words import Words, is_word, shipped_words, tokens
from orderbook.measures import unit_mm

PARTS = {
    "tenth": Fraction(1, 10), "hundredth": Fraction(1, 100), "thousandth": Fraction(1, 1000),
    "twelfth": Fraction(1, 12), "sixteenth": Fraction(1, 16), "thirtysecond": Fraction(1, 32),
    "sixtyfourth": Fraction(1, 64),
}  # fmt: skip
OF_A_MM = ("tenth", "hundredth")
NAMES = {"douzieme": "douzième", "micrometre": "µm"}
OF = frozenset(
    [
        "of",
        "a",
        "an",
        "the",
        "de",
        "d",
        "di",
        "del",
        "della",
        "des",
        "du",
        "en",
        "eines",
        "einer",
        "von",
        "van",
        "e",
        "el",
        "er",
        "eme",
        "emes",
        "th",
        "ths",
        "st",
        "tel",
        "stel",
        "'",
        "-",
    ]
)


class Unit(NamedTuple):
    """A unit of length: its name as shown, and how many mm it is."""

    name: str
    mm: Fraction


class UnitDoubt(NamedTuple):
    """A word that may be a unit of length, or one of several."""

    word: str


class UnitPlace(NamedTuple):
    """Where in a text a unit stands, from one token to before another."""

    start: int
    end: int
    unit: Unit | UnitDoubt


def unit_at(said: Sequence[str], at: int, words: Words) -> UnitPlace | None:
    """Find the unit that begins at a token.

    >>> words = shipped_words()
    >>> unit_at(tokens("1/16 in"), 0, words).unit.name, unit_at(tokens("dixièmes de mm"), 0, words).unit.name
    ('1/16 in', '1/10 mm')
    >>> unit_at(tokens("Linien"), 0, words).unit
    Doubt(word='linien')
    """
    end, name = _longest(said, at, words)
    if not name:
        return None
    if name not in PARTS:
        word, over = " ".join(said[at:end]), said[end : end + 2]
        if name != "doubtful" and len(over) == 2 and over[0] == "/" and over[1] in ("10", "100", "1000"):  # mm/100
            part = Fraction(1, int(over[1]))
            return UnitPlace(at, end + 2, Unit(f"{part} {NAMES.get(name, name)}", part * _mm(name)))
        return UnitPlace(at, end, UnitDoubt(word) if name == "doubtful" else Unit(NAMES.get(name, name), _mm(name)))
    base_at = end
    while base_at < len(said) and said[base_at] in OF:
        base_at += 1
    base_end, base = _longest(said, base_at, words)
    if not base and base_at < len(said) and said[base_at] == "in":
        base_end, base = base_at + 1, "in"
    part = PARTS[name]
    if base and base != "doubtful" and base not in PARTS:
        return UnitPlace(at, base_end, Unit(f"{part} {NAMES.get(base, base)}", part * _mm(base)))
    if base:
        return UnitPlace(at, base_end, UnitDoubt(" ".join(said[at:base_end])))
    while end < len(said) and said[end] in OF and is_word(said[end]):
        end += 1
    if name in OF_A_MM:
        return UnitPlace(at, end, Unit(f"{part} mm", part))
    return UnitPlace(at, end, UnitDoubt(" ".join(said[at:end])))


def units_in(said: Sequence[str], words: Words) -> list[UnitPlace]:
    """Find all units of a heading or another short text; `in` is the inch where it ends the text or a bracket.

    >>> [span.unit.name for span in units_in(tokens("Width in mm"), shipped_words())]
    ['mm']
    >>> [span.unit.name for span in units_in(tokens("Width (in)"), shipped_words())]
    ['in']
    """
    found, at = [], 0
    while at < len(said):
        span = unit_at(said, at, words)
        if span is None and said[at] == "in" and not _goes_on(said, at + 1, words):
            span = UnitPlace(at, at + 1, Unit("in", _mm("in")))
        if span is not None:
            found.append(span)
        at = span.end if span else at + 1
    return found


@cache
def known_unit(text: str) -> Fraction | None:
    """Return mm of one unit, as lists write it; None if it is no length, or a doubtful one.

    >>> known_unit("pouces"), known_unit("1/100 mm"), known_unit("lines")
    (Fraction(127, 5), Fraction(1, 100), None)
    """
    found = said_unit(text)
    return found.mm if isinstance(found, Unit) else None


@cache
def said_unit(text: str) -> Unit | UnitDoubt | None:
    """Read a text that is a unit and nothing else: a cell of a line of units, what stands behind a number.

    >>> said_unit("(mm)"), said_unit("lines"), said_unit("hole")
    (Unit(name='mm', mm=Fraction(1, 1)), Doubt(word='lines'), None)
    """
    words = shipped_words()
    said = [token for token in tokens(text) if is_word(token) or token in "\"'''"]
    if said and said[0] in words.kind("preposition") and len(said) > 1:
        said = said[1:]
    if said == ["in"]:
        return Unit("in", _mm("in"))
    if said and (span := unit_at(said, 0, words)) is not None and span.end == len(said):
        return span.unit
    word = text.strip().rstrip(".,;").strip("()[] ")
    mm = unit_mm(word) if word and not said else None
    return Unit(word, mm) if mm is not None else None


def _goes_on(said: Sequence[str], at: int, words: Words) -> bool:
    """Whether words or a unit follow in the same bracket, so that "in" is no inch."""
    return any(is_word(token) or (token,) in words.units for token in _clause(said, at))


def _clause(said: Sequence[str], at: int) -> Sequence[str]:
    """The tokens from a place to the end of its bracket."""
    for end in range(at, len(said)):
        if said[end] in ")]}":
            return said[at:end]
    return said[at:]


def _longest(said: Sequence[str], at: int, words: Words) -> tuple[int, str]:
    for end in range(min(len(said), at + 5), at, -1):
        if (name := words.units.get(tuple(said[at:end]))) is not None:
            return end, name
    return at, ""


@cache
def _mm(name: str) -> Fraction:
    inch = unit_mm("in") or Fraction(254, 10)
    own = {"dm": Fraction(100), "ft": 12 * inch, "yd": 36 * inch}
    word = {"douzieme": "douzième", "micrometre": "µm"}.get(name, name)
    return own[name] if name in own else unit_mm(word) or Fraction(1)
