"""One cell of a price column: amount, currency, and for how many pieces."""

from __future__ import annotations

import re
from typing import NamedTuple

from orderbook.catalogue.marks import DIGITS, plain_number
from orderbook.catalogue.words import MANY_CURRENCIES, SIGNS, Words, fold, is_currency
from orderbook.measures.money import minor_digits

UNKNOWN_DIGITS = 2  # decimals of an amount whose currency the list does not say
PACKS = {"dozen": 12, "gross": 144, "each": 1}
SPELLED = {"EUR", "GBP", "USD", "CHF"}
_DASHED = re.compile(r"(?<=[0-9])[.,]\s*[-–—]{1,2}(?![0-9])")
_TOO_BIG = 10**15


class PriceText(NamedTuple):
    """A price as written: its digits, currency ("" if not said), a sign of several currencies, and pieces."""

    number: str
    currency: str
    sign: str
    pack: int


def price_text(text: str, words: Words) -> PriceText | None:
    """Take a price cell apart; None if it is not a price.

    >>> from orderbook.catalogue.words import shipped_words; words = shipped_words()
    >>> price_text("12,50 €", words), price_text("£9.00 per doz.", words), price_text("CHF 1'250.–", words)
    (PriceText(number='12,50', currency='EUR', sign='', pack=1),
     PriceText(number='9.00', currency='GBP', sign='', pack=12),
     PriceText(number="1'250", currency='CHF', sign='', pack=1))
    >>> price_text("3 for 10.00", words).pack, price_text("on request", words)
    (3, None)
    """
    rest, currency, sign = _currency(_DASHED.sub("", text.strip()))
    numbers = list(re.finditer(DIGITS, rest))
    if not 1 <= len(numbers) <= 2 or re.search(r"[-−]\s*[0-9]|/\s*[-–]", rest):
        return None
    around = _around(rest, numbers)
    if len(numbers) == 1:
        pack = _pack_of_words(around, words)
        return PriceText(numbers[0].group(), currency, sign, pack) if pack else None
    return _for_several(rest, numbers, PriceText("", currency, sign, 1), words)


def minor_units(number: str, decimal: str, currency: str) -> int | None:
    """Return whole minor units of an amount; None if it has more decimals than the currency, or cannot be read.

    >>> minor_units("12,5", ",", "EUR"), minor_units("0.125", ".", "GBP"), minor_units("1,250", ".", "JPY")
    (1250, None, 1250)
    """
    plain = plain_number(number, decimal)
    if plain is None:
        return None
    digits = minor_digits(currency) if currency else UNKNOWN_DIGITS
    whole, _, decimals = plain.partition(".")
    if decimals[digits:].strip("0"):
        return None
    minor = int((whole or "0") + decimals[:digits].ljust(digits, "0"))
    return minor if minor < _TOO_BIG else None


def pack_size(text: str, words: Words) -> int | None:
    """Read how many pieces a pack has; None if it cannot be read.

    >>> from orderbook.catalogue.words import shipped_words; words = shipped_words()
    >>> pack_size("3", words), pack_size("per Dutzend", words), pack_size("10 Stk.", words)
    (3, 12, 10)
    """
    numbers = re.findall(r"[0-9]+(?:[.,]0+)?", text)
    if len(numbers) > 1:
        return None
    said = _pack_of_words(re.sub(r"[0-9]+(?:[.,]0+)?", " ", text), words)
    count = int(re.split(r"[.,]", numbers[0])[0]) if numbers else 1
    return count * said if said and 0 < count <= 100_000 else None


def one_of_many(sign: str, currency: str) -> bool:
    """Whether a sign of several currencies can stand for this one.

    >>> one_of_many("$", "USD"), one_of_many("$", "GBP")
    (True, False)
    """
    return currency in MANY_CURRENCIES.get(sign, ())


def _currency(text: str) -> tuple[str, str, str]:
    for sign, code in SIGNS.items():
        if sign in text:
            return text.replace(sign, " "), code, ""
    for word in re.findall(r"(?<![^\W\d_])[A-Za-z]{3}(?![^\W\d_])", text):
        if is_currency(word) or word.upper() in SPELLED:
            return text.replace(word, " "), word.upper(), ""
    for sign in MANY_CURRENCIES:
        pattern = re.escape(sign) if not sign.isalpha() else rf"(?<![^\W\d_])s?{sign}\.?(?![^\W\d_])"
        if re.search(pattern, text, re.IGNORECASE):
            rest = re.sub(pattern, " ", text, flags=re.IGNORECASE)
            only = MANY_CURRENCIES[sign]
            return (rest, only[0], "") if len(only) == 1 else (rest, "", sign)
    return text, "", ""


def _around(text: str, numbers: list[re.Match[str]]) -> str:
    kept = list(text)
    for number in numbers:
        kept[number.start() : number.end()] = " " * (number.end() - number.start())
    return "".join(kept)


def _pack_of_words(text: str, words: Words) -> int:
    """Pieces that words speak of: "per dozen" 12; 0 if a word is none of ours."""
    pack = 1
    for word in fold(text):
        kinds = [kind for kind in ("dozen", "gross", "each", "pack", "per") if word in words.cells.get(kind, ())]
        if not kinds:
            return 0
        pack *= next((PACKS[kind] for kind in kinds if kind in PACKS), 1)
    return pack


def _for_several(text: str, numbers: list[re.Match[str]], found: PriceText, words: Words) -> PriceText | None:
    first, second = numbers
    between = text[first.end() : second.start()].strip()
    outside = text[: first.start()] + " " + text[second.end() :]
    joins = between == "/" or (bool(fold(between)) and _pack_of_words(between, words))
    if not joins or not _pack_of_words(outside, words):
        return None
    per_last = re.fullmatch(r"[1-9][0-9]{0,4}", second.group())
    per_first = re.fullmatch(r"[1-9][0-9]{0,4}", first.group())
    if per_first and not per_last and between != "/":
        return found._replace(number=second.group(), pack=int(first.group()))
    if per_last and not per_first:
        return found._replace(number=first.group(), pack=int(second.group()))
    return None  # "3 for 10" could be three for ten or ten pieces for three
