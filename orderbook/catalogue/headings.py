"""A heading taken apart: what the column may mean, its unit, what is in doubt, the order of sizes in one column."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from typing import NamedTuple

from orderbook.catalogue.prices import YEAR, PriceWords, price_words, without_dates
from orderbook.catalogue.units import Unit, UnitDoubt, UnitPlace, units_in
from orderbook.catalogue.words import LONGEST, MEANINGS, Vocabulary, is_word, shipped_words, tokens

SIZES = ("width", "strength", "length")
BETWEEN = frozenset(["x", "/", "*", "-", "+", "&", ",", ";", "|", "–", "—"])
METRIC = frozenset(["mm", "cm", "dm", "m", "µm", "1/10 mm", "1/100 mm"])
LETTERS = {"w": "width", "b": "width", "h": "width", "s": "strength", "t": "strength", "e": "strength", "f": "strength",
           "d": "strength", "l": "length"}  # fmt: skip
LONGEST_HEADING = 120  # letters; more is a text


class SizePart(NamedTuple):
    """One number of a column that holds several: its meaning ("" for one that is not used) and its unit."""

    meaning: str
    unit: Unit | None


@dataclass(frozen=True, slots=True)
class Heading:
    """What a heading may mean (best first), its unit, and what is said of prices.

    doubt: a word of it that may be a unit, or a gauge; numbered: whether it speaks of a number or a gauge; order: what
    the numbers of one cell are, one after the other.
    """

    text: str
    claims: tuple[tuple[str, float], ...] = ()
    unit: Unit | None = None
    doubt: str = ""
    numbered: bool = False
    price: PriceWords = field(default_factory=PriceWords)
    order: tuple[SizePart, ...] = ()
    high: bool = False  # a height, which in some lists is the width of the strip and in others the barrel's

    @property
    def meaning(self) -> str:
        """The strongest claim, or "" for a heading that says nothing known."""
        return self.claims[0][0] if self.claims else ""

    @property
    def score(self) -> float:
        """How strongly the heading claims its meaning."""
        return self.claims[0][1] if self.claims else 0.0


def heading(text: str, words: Vocabulary) -> Heading:
    """Take a heading apart and say what it may mean.

    >>> h = heading("Thickness (1/100 mm)", shipped_words())
    >>> h.meaning, h.unit.name, h.doubt
    ('strength', '1/100 mm', '')
    >>> heading("Breite Linien", shipped_words()).doubt, heading("Width No.", shipped_words()).numbered
    ('linien', True)
    >>> [part.meaning for part in heading("Federhaus x Breite x Stärke x Länge", shipped_words()).order]
    ['', 'width', 'strength', 'length']
    """
    return _heading(" ".join(text.split()), words)


@lru_cache(maxsize=20_000)
def _heading(text: str, words: Vocabulary) -> Heading:
    if not text or len(text) > LONGEST_HEADING:
        return Heading(text)
    said = _glued_apart(tokens(without_dates(text)), words)
    spans = units_in(said, words)
    if _has_amount(said, spans):
        return Heading(text)
    if (order := _order(text, said, spans, words)) is not None:
        doubts = [span.unit.word for span in spans if isinstance(span.unit, UnitDoubt)]
        return Heading(text, (("sizes", 4.0),), _one_unit(spans), doubts[0] if doubts else "", order=order)
    price = price_words(text, words)
    rest = _without(said, spans, words)
    claims, phrases = _claims([t for t in rest if is_word(t) or t == "#"], words)
    priced, _ = _claims([t for t in price.left if is_word(t) or t == "#"], words)
    claims = _with_price(claims, priced, price)
    meaning = claims[0][0] if claims else ""
    left = _left_over(rest, phrases.get(meaning, ()), words) if meaning in (*SIZES, "gauge", "sizes") else []
    numbered = any(token in words.kind("number") or token in words.kind("gauge") or token == "#" for token in left)
    unit = _one_unit(spans)
    high = meaning == "width" and any(t in HEIGHTS for t in phrases.get(meaning, ()))
    return Heading(text, claims, unit, _doubt(spans, left, unit, words), numbered, price, high=high)


PER = frozenset(["per", "pro", "je", "par", "por", "les", "per", "cada", "ogni", "for"])
HEIGHTS = frozenset(
    [
        "height",
        "hohe",
        "hoehe",
        "federhohe",
        "klingenhohe",
        "hauteur",
        "haut",
        "altezza",
        "alt",
        "altura",
        "alto",
        "hoogte",
        "veerhoogte",
        "h",
    ]
)


def _has_amount(said: Sequence[str], spans: Sequence[UnitPlace]) -> bool:
    """Whether a text has a number that no heading has: with decimals, or above a thousand and no year."""
    taken = {at for span in spans for at in range(span.start, span.end)}
    for at, token in enumerate(said):
        if not token[0].isdigit() or at in taken or tuple(said[at + 1 : at + 2]) == ("%",) or "/" in token:
            continue
        if at and (said[at - 1] == "/" or said[at - 1] in PER):
            continue
        if "." in token or (len(token) > 3 and not YEAR.fullmatch(token)):
            return True
    return False


def _doubt(spans: Sequence[UnitPlace], left: Sequence[str], unit: Unit | None, words: Vocabulary) -> str:
    """What in a heading may be a unit and is not understood."""
    doubts = [span.unit.word for span in spans if isinstance(span.unit, UnitDoubt)]
    units = {span.unit.name: None for span in spans if isinstance(span.unit, Unit)}
    if doubts:
        return doubts[0]
    if len(units) > 1:
        return " or ".join(units)
    odd = [token for token in left if token not in words.vocabulary]
    numbers = [token for token in odd if token[0].isdigit() and not YEAR.fullmatch(token)]
    if numbers:  # mm x 10 is no mm
        return numbers[0]
    return odd[0] if odd and (unit is None or unit.name not in METRIC) else ""


def _one_unit(spans: Sequence[UnitPlace]) -> Unit | None:
    units = {span.unit for span in spans if isinstance(span.unit, Unit)}
    return units.pop() if len(units) == 1 and len({s.unit for s in spans}) == 1 else None


def _without(said: Sequence[str], spans: Sequence[UnitPlace], words: Vocabulary) -> list[str]:
    """The tokens without units, and without the "in" before one."""
    taken = {at for span in spans for at in range(span.start, span.end)}
    taken |= {span.start - 1 for span in spans if span.start and said[span.start - 1] in words.kind("preposition")}
    return [token for at, token in enumerate(said) if at not in taken]


def _with_price(
    claims: tuple[tuple[str, float], ...], priced: tuple[tuple[str, float], ...], price: PriceWords
) -> tuple[tuple[str, float], ...]:
    """A heading of money: words of tax, tiers and packs are not held against it, nor make it something else."""
    as_price = dict(priced).get("price", 0.0)
    top = priced[0] if priced else ("", 0.0)
    if as_price and as_price >= top[1]:
        others = [(m, s) for m, s in priced if m not in ("price", "unused", "pack", "unit")]
        return tuple(sorted([("price", max(as_price, dict(claims).get("price", 0.0))), *others], key=lambda c: -c[1]))
    bare = not any(is_word(token) for token in price.left)
    if bare and (price.currency or price.sign or price.tax):
        return (("price", 2.0),)
    if bare and price.tier:
        return (("price", 1.5),)
    return claims


def _left_over(rest: Sequence[str], phrase: tuple[str, ...], words: Vocabulary) -> list[str]:
    """The tokens that are neither the name of the size nor harmless beside it.

    A single letter is harmless only before a word (`hauteur d'une lame`): alone it may be short for a unit.
    """
    left = [token for token in rest if is_word(token) or token in "#%'\"$"]
    for word in phrase:
        if word in left:
            left.remove(word)
    harmless, about = words.kind("harmless"), words.kind("about")
    kept = []
    for token in left:
        leads = len(token) > 1 or any(a == token and is_word(b) and len(b) > 1 for a, b in pairwise(rest))
        if not ((token in harmless and leads) or token in about or token in BETWEEN):
            kept.append(token)
    return kept


def _claims(said: Sequence[str], words: Vocabulary) -> tuple[tuple[tuple[str, float], ...], dict[str, tuple[str, ...]]]:
    """What words may mean, best first, and by which phrase."""
    best: dict[str, float] = {}
    phrases: dict[str, tuple[str, ...]] = {}
    for start in range(len(said)):
        for end in range(start + 1, min(len(said), start + LONGEST) + 1):
            others = (*said[:start], *said[end:])
            left_over = sum(1 for t in others if t not in words.kind("harmless") and not t[0].isdigit())
            for meaning, weight in spoken_for(tuple(said[start:end]), words):
                if weight <= 1 and (left_over or any(t[0].isdigit() for t in others)):
                    continue  # a single letter among other words says nothing
                score = weight + 0.5 * (end - start - 1) - 0.25 * left_over
                if score > best.get(meaning, 0.0):
                    best[meaning], phrases[meaning] = score, tuple(said[start:end])
    return tuple(sorted(best.items(), key=lambda claim: (-claim[1], MEANINGS.index(claim[0])))), phrases


def spoken_for(phrase: tuple[str, ...], words: Vocabulary) -> Sequence[tuple[str, float]]:
    """What a phrase speaks for: as listed, as a compound word (Zugfederbreite), or cut short (Thickn.)."""
    if (known := words.phrases.get(phrase)) is not None:
        return known
    if len(phrase) > 1 or len(phrase[0]) < 3:
        return ()
    return _compound(phrase[0], words) or _cut_short(phrase[0], words)


def _compound(word: str, words: Vocabulary) -> Sequence[tuple[str, float]]:
    if len(word) < 8:
        return ()
    for cut in range(2, len(word) - 3):
        if (known := words.phrases.get((word[cut:],))) is not None and len(word) - cut >= 4:
            head = words.phrases.get((word[:cut],)) or words.phrases.get((word[:cut].removesuffix("s"),)) or ()
            if any(meaning == "unused" for meaning, _ in head):  # the width of a barrel
                return [("unused", 3.0)]
            return [(meaning, weight - 0.5) for meaning, weight in known if weight > 1]
    return ()


def _cut_short(word: str, words: Vocabulary) -> Sequence[tuple[str, float]]:
    """The one meaning that all longer words with this beginning share."""
    found: set[str] = set()
    for phrase, claims in words.phrases.items():
        if len(phrase) == 1 and len(phrase[0]) > max(len(word) + 1, 5) and phrase[0].startswith(word):
            found |= {meaning for meaning, weight in claims if weight >= 2}
    return [(found.pop(), 1.5)] if len(found) == 1 else ()


def _glued_apart(said: Sequence[str], words: Vocabulary) -> list[str]:
    """Take `breitemm` and `bxsxl` apart."""
    apart: list[str] = []
    for token in said:
        if re.fullmatch(r"[a-zø](?:x[a-zø]){1,4}", token):
            apart += " x ".join(token.split("x")).split()
        elif (cut := next((u for u in ("mm", "cm", "inch", "zoll") if token.endswith(u)), "")) and (
            token[: -len(cut)],
        ) in words.phrases:
            apart += [token.removesuffix(cut), cut]
        else:
            apart.append(token)
    return apart


def _order(
    text: str, said: Sequence[str], spans: Sequence[UnitPlace], words: Vocabulary
) -> tuple[SizePart, ...] | None:
    """What the numbers of one column are, if a heading names several sizes with a mark between them; else None.

    Empty where the names cannot be told apart.
    """
    starts = {span.start: span for span in spans}
    parts: list[SizePart] = []
    between, at = True, 0
    while at < len(said):
        token = said[at]
        if (span := starts.get(at)) is not None:
            if parts and isinstance(span.unit, Unit):
                parts[-1] = SizePart(parts[-1].meaning, span.unit)
            at = span.end
        elif token in BETWEEN:
            between, at = True, at + 1
        else:
            meaning, at = _one_size(said, at, words)
            if meaning and (not between or meaning in {part.meaning for part in parts if part.meaning}):
                if meaning != "length" or "l" not in text.split():
                    return () if _all_letters(said) else None
                meaning = "length"
            if meaning:
                parts.append(SizePart("" if meaning == "unused" else meaning, None))
                between = False
    sized = [part.meaning for part in parts if part.meaning]
    if len(sized) < 2 or not any(token in BETWEEN for token in said):
        return None
    if sized.count("length") == 2 and "width" not in sized:  # French writes l for the width and L for the length
        letters = iter(re.findall(r"\b[lL]\b", text))
        parts = [
            SizePart("width" if p.meaning == "length" and next(letters, "L") == "l" else p.meaning, p.unit)
            for p in parts
        ]
    if len({p.meaning for p in parts if p.meaning}) < len(sized):
        return ()
    units = [part.unit for part in parts]
    if units[-1] is not None and not any(units[:-1]):
        return tuple(SizePart(part.meaning, None) for part in parts)  # one unit for all: the heading's
    return tuple(parts)


def _one_size(said: Sequence[str], at: int, words: Vocabulary) -> tuple[str, int]:
    """The size that is named at a token, "unused" for a barrel, "" for neither; and where its name ends."""
    if said[at] in LETTERS and not any(is_word(t) and len(t) > 2 and t in HEIGHTS for t in said):
        return LETTERS[said[at]], at + 1
    for end in range(min(len(said), at + 4), at, -1):
        claims = spoken_for(tuple(said[at:end]), words) if all(map(is_word, said[at:end])) else ()
        meanings = {meaning for meaning, weight in claims if weight >= 1.5}
        if len(meanings) == 1 and (meaning := meanings.pop()) in (*SIZES, "unused"):
            return meaning, end
    return "", at + 1


def _all_letters(said: Sequence[str]) -> bool:
    return sum(token in LETTERS for token in said) >= 3


__all__ = ["SIZES", "Heading", "SizePart", "heading", "shipped_words", "spoken_for"]
