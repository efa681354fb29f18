"""What a heading means: trade words in six languages, from `words/*.toml` and the user's own file."""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any

from orderbook.errors import OrderbookError, error
from orderbook.measures import unit_mm
from orderbook.measures.money import minor_digits

WEIGHTS = {"sure": 3.0, "likely": 2.0, "weak": 1.0}
FILLERS = frozenset(
    (
        "of",
        "the",
        "a",
        "in",
        "de",
        "der",
        "des",
        "die",
        "das",
        "la",
        "le",
        "les",
        "du",
        "d",
        "van",
        "per",
        "pro",
        "je",
        "del",
        "della",
        "di",
        "da",
        "el",
        "los",
        "en",
    )
)
SIGNS = {"£": "GBP", "€": "EUR"}  # the dollar, the yen and the crown are signs of several currencies
MANY_CURRENCIES = {
    "$": ("USD", "CAD", "AUD", "NZD", "SGD", "HKD", "MXN"),
    "¥": ("JPY", "CNY"),
    "kr": ("SEK", "NOK", "DKK", "ISK"),
    "fr": ("CHF",),
}
MEANINGS = (
    "supplier", "item", "width", "strength", "length", "sizes", "gauge", "end", "material",
    "price", "currency", "pack", "stock", "note", "description", "unused",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Words:
    """Phrases as folded tokens → the meanings and weights they speak for; and folded cell words by kind."""

    phrases: dict[tuple[str, ...], tuple[tuple[str, float], ...]]
    cells: dict[str, frozenset[str]]


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading taken apart: words without unit and currency, and what they may mean (best first)."""

    text: str
    tokens: tuple[str, ...]
    unit: str
    currency: str
    claims: tuple[tuple[str, float], ...]

    @property
    def meaning(self) -> str:
        """The strongest claim, or "" for a heading that says nothing known."""
        return self.claims[0][0] if self.claims else ""

    @property
    def score(self) -> float:
        """How strongly the heading claims its meaning."""
        return self.claims[0][1] if self.claims else 0.0


def fold(text: str) -> tuple[str, ...]:
    """Return the words of a text without case, accents and signs; `×` counts as x.

    >>> fold("Länge_mm"), fold("Breite × Stärke")
    (('lange', 'mm'), ('breite', 'x', 'starke'))
    """
    spaced = re.sub(r"(?<=[a-zà-ÿ])(?=[A-ZÀ-Ý])", " ", unicodedata.normalize("NFC", text))
    plain = unicodedata.normalize("NFKD", spaced.casefold().replace("×", " x ").replace("*", " x "))
    return tuple(re.findall(r"[^\W_]+|#", "".join(c for c in plain if not unicodedata.combining(c))))


def heading(text: str, words: Words) -> Heading:
    """Take a heading apart and say what it may mean.

    >>> h = heading("Thickness (1/100 mm)", shipped_words())
    >>> h.meaning, h.unit
    ('strength', '1/100 mm')
    >>> heading("Preis EUR", shipped_words()).currency
    'EUR'
    """
    rest, unit = _without_unit(text)
    rest, currency = _without_currency(rest)
    tokens = fold(rest)
    return Heading(text, tokens, unit, currency, _claims(tokens, words))


def is_currency(code: str) -> bool:
    """Whether a word is a currency code of ISO 4217.

    >>> is_currency("GBP"), is_currency("mm")
    (True, False)
    """
    return bool(re.fullmatch(r"[A-Z]{3}", code)) and _known(code)


@cache
def shipped_words(more: str | Path | None = None) -> Words:
    """Read the shipped words, and a user's file of the same shape after them.

    Raises: OrderbookError(words_not_read).
    """
    folder = files("orderbook.catalogue").joinpath("words")
    shipped = sorted((f for f in folder.iterdir() if f.name.endswith(".toml")), key=lambda f: f.name)
    tables = [tomllib.loads(f.read_text(encoding="utf-8")) for f in shipped]
    return _joined([*tables, _users_own(Path(more))] if more else tables)


def _users_own(path: Path) -> dict[str, Any]:
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise error("words_not_read", where=str(path), saw=str(problem)) from problem
    for meaning, entry in table.items():
        if meaning not in (*MEANINGS, "cells", "language"):
            raise error("words_not_read", where=str(path), saw=f"[{meaning}] is not a meaning of a column")
        for weight, phrases in entry.items() if isinstance(entry, dict) else ():
            if not (isinstance(phrases, list) and all(isinstance(p, str) for p in phrases)):
                raise error("words_not_read", where=str(path), saw=f"[{meaning}] {weight} is not a list of words")
            if meaning != "cells" and weight not in WEIGHTS:
                raise error("words_not_read", where=str(path), saw=f"[{meaning}] has {weight!r}")
    return table


def _joined(tables: Iterable[dict[str, Any]]) -> Words:
    phrases: dict[tuple[str, ...], dict[str, float]] = {}
    cells: dict[str, set[str]] = {}
    for table in tables:
        for meaning in MEANINGS:
            for weight, entries in table.get(meaning, {}).items():
                for phrase in entries:
                    claims = phrases.setdefault(fold(phrase), {})
                    claims[meaning] = max(WEIGHTS[weight], claims.get(meaning, 0))
        for kind, entries in table.get("cells", {}).items():
            cells.setdefault(kind, set()).update(" ".join(fold(entry)) for entry in entries)
    return Words(
        {phrase: tuple(claims.items()) for phrase, claims in phrases.items() if phrase},
        {kind: frozenset(entries) for kind, entries in cells.items()},
    )


def _claims(tokens: tuple[str, ...], words: Words) -> tuple[tuple[str, float], ...]:
    best: dict[str, float] = {}
    for start in range(len(tokens)):
        for end in range(start + 1, min(len(tokens), start + 8) + 1):
            left_over = sum(1 for t in (*tokens[:start], *tokens[end:]) if t not in FILLERS)
            for meaning, weight in _spoken_for(tokens[start:end], words):
                if weight <= 1 and left_over:
                    continue  # a single letter among other words says nothing
                score = weight + 0.5 * (end - start - 1) - 0.25 * left_over
                best[meaning] = max(best.get(meaning, 0.0), score)
    return tuple(sorted(best.items(), key=lambda claim: (-claim[1], MEANINGS.index(claim[0]))))


def _spoken_for(phrase: tuple[str, ...], words: Words) -> Sequence[tuple[str, float]]:
    if (known := words.phrases.get(phrase)) is not None:
        return known
    if len(phrase) == 1 and len(phrase[0]) > 7:  # compound words: Zugfederbreite ends in Breite
        for cut in range(2, len(phrase[0]) - 4):
            if (known := words.phrases.get((phrase[0][cut:],))) is not None:
                return [(meaning, weight - 0.5) for meaning, weight in known]
    return ()


def _without_unit(text: str) -> tuple[str, str]:
    for bracket in re.finditer(r"[(\[{]([^)\]}]*)[)\]}]", text):
        if (unit := _unit(bracket[1])) is not None:
            return text[: bracket.start()] + text[bracket.end() :], unit
    pieces = text.replace("_", " ").split()
    for count in (2, 1):
        if len(pieces) > count and (unit := _unit(" ".join(pieces[-count:]))) is not None:
            return " ".join(pieces[:-count]), unit
    if pieces and (match := re.fullmatch(r"(.*[^\W\d])(\"|″|''|'''|‴)", text.strip())):
        return match[1], match[2]
    return text, ""


def _unit(text: str) -> str | None:
    word = re.sub(r"^(in|en|in)\s+(?=\S)", "", text.strip().casefold()).strip(" ,:;")
    for known in (word, word.rstrip(".")):
        if known and unit_mm(known) is not None:
            return known
    return "1/100 mm" if re.fullmatch(r"1/100|0[.,]01\s*mm|1/100\s*mm", word) else None


def _without_currency(text: str) -> tuple[str, str]:
    for sign, code in SIGNS.items():
        if sign in text:
            return text.replace(sign, " "), code
    for word in re.findall(r"\b[A-Z]{3}\b", text):
        if is_currency(word):
            return re.sub(rf"\b{word}\b", " ", text), word
    return text, ""


@cache
def _known(code: str) -> bool:
    try:
        minor_digits(code)
    except OrderbookError:
        return False
    return True
