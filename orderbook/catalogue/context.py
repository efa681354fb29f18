"""What title lines, remarks and sheet names say of the rows below them: units, prices, and what is in doubt.

`Width in mm, thickness in 1/100 mm` gives each size its unit; `all sizes in inches` gives it to all. A number before a
unit is a size and declares nothing (`springs of 8 to 19 lignes`).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from orderbook.catalogue.headings import SIZES, spoken_for
from orderbook.catalogue.prices import price_words
from orderbook.catalogue.units import Unit, UnitDoubt, UnitPlace, unit_at
from orderbook.catalogue.words import Words, is_word, tokens

ALL = "all"  # sizes that are not named one by one
PLAIN = frozenset(["mm", "cm", "in", "ligne"])  # units that are no other word
NO_UNITS_HERE = frozenset(
    ["my", "mu", "po", "poll", "el", "mill", "m", "ft", "'", '"', "'''", "point", "points", "pie"]
)
PER = frozenset(["per", "pro", "je", "par", "por", "la", "les", "à", "a", "cada", "ogni", "alla", "al"])
STOPS = frozenset(".;|–—")
UNCLEAR = -1  # pieces are spoken of, but not what the price is for


@dataclass(frozen=True, slots=True)
class Hints:
    """What was said: units and doubtful words by size (or for all of them), and of prices.

    `sure` are the sizes whose unit was said of sizes (`sizes in mm`), not only mentioned (`mm springs`).
    """

    units: dict[str, Unit] = field(default_factory=dict)
    doubts: dict[str, str] = field(default_factory=dict)
    sure: frozenset[str] = frozenset()
    currency: str = ""
    pack: int = 0
    each: bool = False
    tax: str = ""
    text: str = ""

    @property
    def says_something(self) -> bool:
        """Whether anything was said that the reading of rows depends on."""
        return bool(self.units or self.doubts or self.currency or self.pack or self.each or self.tax)

    def over(self, base: Hints) -> Hints:
        """What holds below this line, where `base` held above it: it goes before in all that it says."""
        units, doubts = dict(base.units), dict(base.doubts)
        if ALL in self.units or ALL in self.doubts:
            units, doubts = {}, {}
        for size in (*self.units, *self.doubts):
            units.pop(size, None)
            doubts.pop(size, None)
        pack, each = (self.pack, self.each) if self.pack or self.each else (base.pack, base.each)
        return Hints(
            units | self.units, doubts | self.doubts, self.sure, self.currency or base.currency, pack, each,
            self.tax or base.tax, self.text or base.text,
        )  # fmt: skip


@lru_cache(maxsize=5_000)
def hints_of(text: str, words: Words) -> Hints:
    """Read one line of text.

    >>> from orderbook.catalogue.words import shipped_words; words = shipped_words()
    >>> {size: unit.name for size, unit in hints_of("Width in mm, thickness in 1/100 mm", words).units.items()}
    {'width': 'mm', 'strength': '1/100 mm'}
    >>> hints_of("Sizes in lines", words).doubts, hints_of("Watch springs of 8 to 19 lignes", words).units
    ({'all': 'lines'}, {})
    >>> said = hints_of("Preise je Dutzend, zzgl. MwSt.", words); said.pack, said.tax
    (12, 'without')
    """
    said = tokens(text)[:200]
    found = Hints(text=text)
    units, doubts, sure = _sizes(said, words)
    currency, pack, each, tax = _prices(text, words)
    return Hints(units, doubts, frozenset(sure), currency, pack, each, tax, found.text)


def together(lines: Iterable[Hints]) -> Hints:
    """Join what several lines say: what is said of sizes counts before what is mentioned, else the later line.

    Two lines that give the same size different units make a doubt.
    """
    units: dict[str, Unit] = {}
    doubts: dict[str, str] = {}
    sure: set[str] = set()
    currency, pack, each, tax, texts = "", 0, False, "", []
    for one in lines:
        for size, unit in one.units.items():
            if size in units and units[size] != unit and (size in sure) == (size in one.sure):
                doubts[size] = f"{units[size].name} or {unit.name}"
            if size not in units or size in one.sure or size not in sure:
                units[size] = unit
        for size, word in one.doubts.items():
            doubts.setdefault(size, word)
        sure |= one.sure
        currency, tax = one.currency or currency, one.tax or tax
        pack, each = (one.pack, one.each) if one.pack or one.each else (pack, each)
        texts += [one.text] if one.says_something else []
    return Hints(units, doubts, frozenset(sure), currency, pack, each, tax, " / ".join(texts))


def _sizes(said: Sequence[str], words: Words) -> tuple[dict[str, Unit], dict[str, str], set[str]]:
    units: dict[str, Unit] = {}
    doubts: dict[str, str] = {}
    sure: set[str] = set()
    named: list[str] = []
    before: Unit | None = None
    after_unit, at = False, 0
    while at < len(said):
        if said[at] in STOPS and said[at - 1 : at] and is_word(said[at - 1]) and len(said[at - 1]) > 3:
            named, after_unit = [], False
        size = _size_named(said, at, words)
        if size and before is not None:  # `mm: width, strength`
            units[size] = before
            sure.add(size)
        elif size:
            named, after_unit = ([size], False) if after_unit else ([*named, size], False)
        if (span := _declared(said, at, bool(named), words)) is not None:
            for which in dict.fromkeys(named or [ALL]):
                if isinstance(span.unit, UnitDoubt):
                    doubts[which] = span.unit.word
                elif which in units and units[which] != span.unit:
                    doubts[which] = f"{units[which].name} or {span.unit.name}"
                else:
                    units[which] = span.unit
                if named or _leads(said, at, words):
                    sure.add(which)
            leads = not named and isinstance(span.unit, Unit) and said[span.end : span.end + 1] == (":",)
            before = span.unit if leads and isinstance(span.unit, Unit) else None
            if before is not None:
                units.pop(ALL, None)
            after_unit, at = True, span.end
        else:
            if named and (said[at] in words.kind("gauge") or said[at] == "lehre"):
                doubts.update(dict.fromkeys(named, said[at]))
            at += 1
    return units, doubts, sure


def _size_named(said: Sequence[str], at: int, words: Words) -> str:
    if said[at] in words.kind("size_words"):
        return ALL
    for meaning, weight in spoken_for((said[at],), words) if is_word(said[at]) and len(said[at]) > 3 else ():
        if meaning in SIZES and weight >= 2:
            return meaning
        if meaning == "sizes":
            return ALL
    return ""


def _declared(said: Sequence[str], at: int, named: bool, words: Words) -> UnitPlace | None:
    """The unit, or the doubtful word, that a text declares at a token."""
    if at and said[at - 1][0].isdigit():
        return None
    leads = _leads(said, at, words)
    span = unit_at(said, at, words)
    if span is None:
        return _unknown(said, at, words) if named and leads and said[at - 1] != "(" else None
    word = said[at]
    if isinstance(span.unit, Unit) and (span.end < len(said) and said[span.end] == "="):
        return None
    if leads or (named and word not in NO_UNITS_HERE):
        return span if word not in "\"'''" or leads else None
    plain = isinstance(span.unit, Unit) and span.unit.name.split()[-1] in PLAIN and word not in NO_UNITS_HERE
    return span if plain else None


def _leads(said: Sequence[str], at: int, words: Words) -> bool:
    """Whether a preposition or a bracket leads to the token."""
    return bool(at) and (said[at - 1] in words.kind("preposition") or said[at - 1] in "([:=")


def _unknown(said: Sequence[str], at: int, words: Words) -> UnitPlace | None:
    """A word nobody knows where a unit would stand: `sizes in frobs`."""
    word, rest = said[at], said[at + 1 : at + 2]
    known = word in words.vocabulary or word in words.kind("all") or not is_word(word) or word[0].isdigit()
    if known or (rest and is_word(rest[0])) or (word,) in words.currencies:
        return None
    return UnitPlace(at, at + 1, UnitDoubt(word))


def _prices(text: str, words: Words) -> tuple[str, int, bool, str]:
    said = tokens(text)
    priced = next((at for at, token in enumerate(said) if token in words.kind("price_words")), -1)
    found = price_words(text, words)
    currency = found.currency
    if currency and priced < 0:
        mark = next((at for at, t in enumerate(said) if (t,) in words.currencies or t == currency.casefold()), -1)
        if mark < 1 or said[mark - 1] not in words.kind("preposition"):
            currency = ""
    if found.unclear in words.currencies.values():  # in two currencies
        currency = ""
    pack, each = 0, False
    if priced >= 0:
        pack, each = _priced_per(said, priced, words)
    elif found.pack > 1 and _speaks_of_packs(said, words):
        pack = UNCLEAR
    return currency, pack, each, found.tax


def _speaks_of_packs(said: Sequence[str], words: Words) -> bool:
    """Whether a text without a word of prices speaks of dozens, or of packs of so many."""
    packs = words.kind("pack")
    for at, token in enumerate(said):
        near = said[max(0, at - 3) : at + 4]
        if token in words.kind("dozen") or (token in packs and any(one[0].isdigit() for one in near)):
            return True
    return False


def _priced_per(said: Sequence[str], priced: int, words: Words) -> tuple[int, bool]:
    """What "prices" are said to be for: per dozen, je 10 Stück, for packs of 10, pro Stück."""
    begin = max([at + 1 for at in range(priced) if said[at] in STOPS], default=0)
    end = next((at for at in range(priced, len(said)) if said[at] in STOPS), len(said))
    clause = said[begin:end]
    for at, token in enumerate(clause):
        if (token in PER or token == "/") and clause[at + 1 : at + 2] and clause[at + 1] in words.kind("each"):
            return 1, True
    for at, token in enumerate(clause):
        follows = clause[at + 1 : at + 4]
        strict = token in PER or token == "/"
        loose = token in words.kind("per") and any(t in words.kind("pack") or t in words.kind("each") for t in follows)
        found = price_words(" ".join(("§", token, *follows)), words, in_cell=True) if strict or loose else None
        if found is not None and found.pack:
            return found.pack, False
    counted = price_words(
        " ".join(t for t in clause if t not in words.kind("price_words") and not t[0].isdigit()), words
    )
    return counted.pack, False
