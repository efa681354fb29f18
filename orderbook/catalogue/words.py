"""Words of the trade in six languages, from `words/*.toml` and the user's own file: headings, units, currencies, cells.

Everything a list says in words goes through `tokens` first, so that case, accents, full stops, hyphens and the many
kinds of quotation marks do not count.
"""

from __future__ import annotations

import re
import tomllib
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from orderbook.errors import OrderbookError, error
from orderbook.measures.money import minor_digits

WEIGHTS = {"sure": 3.0, "likely": 2.0, "weak": 1.0}
SIGNS = {"£": "GBP", "€": "EUR"}  # the dollar, the yen and the crown are signs of several currencies
MANY_CURRENCIES = {
    "$": ("USD", "CAD", "AUD", "NZD", "SGD", "HKD", "MXN"),
    "¥": ("JPY", "CNY"),
    "kr": ("SEK", "NOK", "DKK", "ISK"),
    "fr": ("CHF",),
}
MEANINGS = (
    "supplier", "item", "width", "strength", "length", "sizes", "gauge", "end", "material",
    "price", "currency", "pack", "stock", "note", "description", "unit", "unused",
)  # fmt: skip
LONGEST = 8  # words of a phrase
_QUOTES = str.maketrans(
    dict.fromkeys("″“”„‟ʺ˝＂", '"') | dict.fromkeys("′’‘‚ʹ´`＇", "'") | {"‴": "'''", "⁄": "/", "№": "no", "×": " x "}
)
_CAMEL = re.compile(r"(?<=[a-zß-ÿ]{2})(?=[A-ZÀ-Þ])")
_TOKEN = re.compile(
    r"[0-9]+/[0-9]+|[0-9]*[.,][0-9]+|[0-9]+"
    r"|(?<![a-z])[mcd]/m(?![a-z])|[^\W\d_]+"
    r"|'''|\"|'|[§#%€£₤$¥¢<>+±≥≤&*/x()\[\]{}:;,.|–—-]"
)


@dataclass(frozen=True, slots=True, eq=False)
class Words:
    """Phrases as tokens → what they speak for: meanings of columns with weights, units, currencies; cell words by kind.

    `vocabulary` are the words of headings, that say nothing of a unit when they stand beside the name of a size.
    """

    phrases: dict[tuple[str, ...], tuple[tuple[str, float], ...]]
    cells: dict[str, frozenset[str]]
    units: dict[tuple[str, ...], str]
    currencies: dict[tuple[str, ...], str]
    vocabulary: frozenset[str]

    def kind(self, name: str) -> frozenset[str]:
        """The cell words of a kind, such as "dozen"."""
        return self.cells.get(name, frozenset())


def one_spelling(text: str) -> str:
    """Write a text without case and accents, and each kind of quotation mark in one way.

    >>> one_spelling("Länge ″"), one_spelling("6¾‴"), one_spelling("N° d’article")
    ('lange "', "63/4'''", 'n° d article')
    """
    if text.isascii():
        plain = text if text.islower() else _CAMEL.sub(" ", text).lower()
    else:
        spaced = _CAMEL.sub(" ", unicodedata.normalize("NFC", text)).translate(_QUOTES)
        plain = unicodedata.normalize("NFKD", spaced.casefold()).translate(_QUOTES)
        plain = "".join(letter for letter in plain if not unicodedata.combining(letter))
    if "'" not in plain:
        return plain
    plain = re.sub(r"\"'|'\"", "'''", plain)
    plain = re.sub(r"(?<!')''(?!')", '"', plain)
    return re.sub(r"(?<=[a-z])'(?=[a-z])", " ", plain)


def tokens(text: str) -> tuple[str, ...]:
    """Take a text apart into words, numbers and signs.

    >>> tokens("Stärke (1/100 mm)"), tokens("Larg. m/m"), tokens('Width "')
    (('starke', '(', '1/100', 'mm', ')'), ('larg', '.', 'm/m'), ('width', '"'))
    """
    return tuple(_number(token) for token in _TOKEN.findall(one_spelling(text).replace("_", " ")))


def fold(text: str) -> tuple[str, ...]:
    """Return the words and numbers of a text; `×` counts as x.

    >>> fold("Länge_mm"), fold("Breite × Stärke")
    (('lange', 'mm'), ('breite', 'x', 'starke'))
    """
    return tuple(token for token in tokens(text) if is_word(token) or token == "#")


def is_word(token: str) -> bool:
    """Whether a token is a word or a number, no sign."""
    return token[0].isalnum()


def is_currency(code: str) -> bool:
    """Whether a word is a currency code of ISO 4217.

    >>> is_currency("GBP"), is_currency("mm")
    (True, False)
    """
    return bool(re.fullmatch(r"[A-Z]{3}", code)) and _known(code)


def shipped_words(more: str | Path | None = None) -> Words:
    """Read the shipped words, and a user's file of the same shape after them.

    Raises: OrderbookError(words_not_read).
    """
    return _read_words(more)


@cache
def _read_words(more: str | Path | None) -> Words:
    shipped = sorted(Path(__file__).with_name("words").glob("*.toml"))
    tables = [tomllib.loads(f.read_text(encoding="utf-8")) for f in shipped]
    return _joined([*tables, _users_own(Path(more))] if more else tables)


def _number(token: str) -> str:
    if token[0] in ".," and len(token) > 1:
        return "0." + token[1:]
    return token.replace(",", ".") if token[0].isdigit() else token


def _users_own(path: Path) -> dict[str, Any]:
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as problem:
        raise error("words_not_read", where=str(path), saw=str(problem)) from problem
    for meaning, entry in table.items():
        if meaning not in (*MEANINGS, "cells", "units", "currencies", "language"):
            raise error("words_not_read", where=str(path), saw=f"[{meaning}] is not a meaning of a column")
        for weight, phrases in entry.items() if isinstance(entry, dict) else ():
            if not (isinstance(phrases, list) and all(isinstance(p, str) for p in phrases)):
                raise error("words_not_read", where=str(path), saw=f"[{meaning}] {weight} is not a list of words")
            if meaning in MEANINGS and weight not in WEIGHTS:
                raise error("words_not_read", where=str(path), saw=f"[{meaning}] has {weight!r}")
    return table


def _joined(tables: Iterable[dict[str, Any]]) -> Words:
    phrases: dict[tuple[str, ...], dict[str, float]] = {}
    cells: dict[str, set[str]] = {}
    units: dict[tuple[str, ...], str] = {}
    currencies: dict[tuple[str, ...], str] = {}
    for table in tables:
        for meaning in MEANINGS:
            for weight, entries in table.get(meaning, {}).items():
                for phrase in entries:
                    claims = phrases.setdefault(fold(phrase), {})
                    claims[meaning] = max(WEIGHTS[weight], claims.get(meaning, 0))
        for kind, entries in table.get("cells", {}).items():
            cells.setdefault(kind, set()).update(" ".join(fold(entry)) for entry in entries)
        for name, entries in table.get("units", {}).items():
            units.update((tokens(entry), name) for entry in entries)
        for code, entries in table.get("currencies", {}).items():
            currencies.update((_joined_signs(entry), code) for entry in entries)
    known = {word for phrase in phrases for word in phrase if len(word) > 2}
    known -= {word for phrase, claims in phrases.items() if "unit" in claims for word in phrase}
    known |= {word for entry in cells.get("harmless", ()) for word in entry.split() if len(word) > 1}
    doubts = {word for phrase, name in units.items() if name == "doubtful" for word in phrase}
    for kind in ("number", "gauge"):
        doubts |= cells.get(kind, set())
    return Words(
        {phrase: tuple(claims.items()) for phrase, claims in phrases.items() if phrase},
        {kind: frozenset(entries) for kind, entries in cells.items()},
        units,
        currencies,
        frozenset(known - doubts),
    )


def _joined_signs(entry: str) -> tuple[str, ...]:
    return tuple(token for token in tokens(entry) if is_word(token) or token in "€£₤$¥")


@cache
def _known(code: str) -> bool:
    try:
        minor_digits(code)
    except OrderbookError:
        return False
    return True
