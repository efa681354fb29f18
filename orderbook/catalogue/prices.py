"""What is said of a price, in a cell, a heading or a title: amount, currency, for how many pieces, with or without tax.

Words are taken one after the other from what is said. A number is a pack only where a word says so (`per 10`,
`3er-Pack`, `VPE 10`); a tax rate, a year and a tier (`10-24`, `ab 10`) are none; a number that nothing explains makes
the price unclear.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import NamedTuple

from orderbook.catalogue.marks import DIGITS, plain_number
from orderbook.catalogue.words import MANY_CURRENCIES, Words, is_currency, is_word, one_spelling, tokens
from orderbook.measures.money import minor_digits

UNKNOWN_DIGITS = 2  # decimals of an amount whose currency the list does not say
PER = frozenset(["per", "pro", "je", "par", "por", "cada", "ogni"])
# "of 10" is a pack only beside a word for one
LOOSE = frozenset(["of", "de", "da", "di", "a", "in", "von", "van", "zu", "p", "l", "el", "il", "al", "by"])
COUNTS = {"dozen": 12, "gross": 144, "hundred": 100}
IN_MINOR = {"p": "GBP", "pence": "GBP", "penny": "GBP", "rappen": "CHF", "rp": "CHF"}
NOT_IN_HEADINGS = frozenset((
    "ALL", "TOP", "CUP", "PEN", "TRY", "MOP", "BAM", "COP", "MAD", "GEL",
    "SOS", "ANG", "AWG", "BOB", "PAB", "STK", "SET", "DIM", "BND", "XXX",
))  # fmt: skip
PER_PACK = "a pack"  # of as many pieces as another column says
AMOUNT = "§"  # stands for an amount while the words around it are read
_TOO_BIG = 10**15
_DASHED = re.compile(r"(?<=[0-9])[.,:]\s*[-–—]{1,2}(?![0-9])")
_SIGN_FOR_MARK = re.compile(r"(?<![0-9.,])([0-9]+)\s?([€£])\s?([0-9]{2})(?![0-9.,])")
_DATE = re.compile(
    r"[0-9]{1,2}\s?[./-]\s?[0-9]{1,2}\s?[./-]\s?(?:[0-9]{4}|[0-9]{2})(?![0-9])|[0-9]{4}-[0-9]{2}-[0-9]{2}"
)
YEAR = re.compile(r"(?:19|20)[0-9]{2}(?:/[0-9]{2,4})?")
_WHOLE = re.compile(r"[1-9][0-9]{0,4}")


@dataclass(slots=True)
class PriceWords:
    """What words say of prices; `left` are the tokens that say nothing of them.

    pack: pieces a price is for (0: not said); each: whether "each" is said; tax: "with", "without" or ""; tier: pieces
    from which a price holds (0: not said); minor: pence or cents; unclear: a number that nothing explains.
    """

    currency: str = ""
    sign: str = ""
    minor: bool = False
    pack: int = 0
    each: bool = False
    tax: str = ""
    tier: int = 0
    old: bool = False
    recommended: bool = False
    unclear: str = ""
    left: tuple[str, ...] = field(default=())

    @property
    def says_something(self) -> bool:
        """Whether anything was said of prices."""
        return bool(self.currency or self.sign or self.minor or self.pack or self.each or self.tax or self.tier)


class PriceText(NamedTuple):
    """A price as written: its digits, currency ("" if not said), a sign of several currencies, pieces, cents, tax.

    pack is 0 where the cell does not say it, and negative for "each".
    """

    number: str
    currency: str
    sign: str
    pack: int
    minor: bool = False
    tax: str = ""


def price_words(text: str, words: Words, in_cell: bool = False) -> PriceWords:
    """Read what a heading or a title says of prices.

    >>> from orderbook.catalogue.words import shipped_words; words = shipped_words()
    >>> said = price_words("Preis EUR inkl. 19% MwSt", words); said.currency, said.tax, said.pack, said.left
    ('EUR', 'with', 0, ('preis',))
    >>> price_words("Price per 10 (GBP)", words).pack, price_words("ab 10 Stück", words).tier
    (10, 10)
    """
    found = PriceWords()
    text = _iso_code(without_dates(text), found, in_cell)
    said = list(tokens(text))
    for take in (_currency, _rates, _minor, _tax, _packs, _each, _kinds):
        said = take(said, found, words)
    if not in_cell:
        said = _tiers(said, found, words)
        found.unclear = (
            found.unclear or next((t for t in said if t[0].isdigit() and t != "1"), "") or _per_what(said, words)
        )
    found.left = tuple(said)
    return found


def price_said(text: str, words: Words) -> PriceText | None:
    """Take a price cell apart; None if it is not one price.

    >>> from orderbook.catalogue.words import shipped_words; words = shipped_words()
    >>> price_said("12,50 €", words), price_said("£9.00 per doz.", words).pack, price_said("CHF 1'250.–", words).number
    (PriceText(number='12,50', currency='EUR', sign='', pack=0, minor=False, tax=''), 12, "1'250")
    >>> packs = [price_said(text, words).pack for text in ("3 for 10.00", "3er-Pack 9,75 €")]
    >>> *packs, price_said("on request", words)
    (3, 3, None)
    """
    plain = _SIGN_FOR_MARK.sub(r"\1.\3 \2", _DASHED.sub(" ", text.strip()))
    if re.search(
        r"(?:^|[^0-9A-Za-z.,\s])\s*[-−]\s*[£€$]?\s*[0-9]|[0-9]\s*[-−]\s*(?:$|[A-Z€£$])|\(\s*[£€$]?\s*[0-9.,]+\s*\)|^\s*[-−]",
        plain,
    ):
        return None  # an amount below zero, a range
    numbers = list(re.finditer(DIGITS, plain))
    amounts = [m for m in numbers if not _is_count(plain, m, numbers, words)]
    if len(amounts) != 1:
        return None
    amount = amounts[0]
    found = price_words(plain[: amount.start()] + f" {AMOUNT} " + plain[amount.end() :], words, in_cell=True)
    if any(token not in f"{AMOUNT}()[]*:;,.|&" and token not in words.kind("price_words") for token in found.left):
        return None
    pack = found.pack or (-1 if found.each else 0)
    return PriceText(amount.group(), found.currency, found.sign, pack, found.minor, found.tax)


def minor_units(number: str, decimal: str, currency: str, in_minor: bool = False) -> tuple[int, bool] | None:
    """Return whole minor units of an amount, and whether it was rounded; None if it cannot be read.

    More decimals than the currency has are rounded, a half upwards.

    >>> minor_units("12,5", ",", "EUR"), minor_units("6.800039999999999", ".", "GBP"), minor_units("1,250", ".", "JPY")
    ((1250, False), (680, True), (1250, False))
    """
    plain = plain_number(number, decimal)
    if plain is None:
        return None
    digits = 0 if in_minor else minor_digits(currency) if currency else UNKNOWN_DIGITS
    if in_minor and (plain != number or "." in plain):
        return None  # 4,80 is no number of pence
    whole, _, decimals = plain.partition(".")
    minor = int((whole or "0") + decimals[:digits].ljust(digits, "0"))
    rounded = bool(decimals[digits:].strip("0"))
    minor += rounded and decimals[digits] >= "5"
    return (minor, rounded) if minor < _TOO_BIG else None


def pack_size(text: str, words: Words, mark: str = "") -> int | None:
    """Read how many pieces a pack has; None if it cannot be read.

    Parameters: mark, the decimal mark of the list: `1,000` is one piece in a list with decimal commas, and may be one
    or a thousand in any other.

    >>> from orderbook.catalogue.words import shipped_words; words = shipped_words()
    >>> said = ("3", "per Dutzend", "10 Stk.", "3er-Pack", "pack of 3", "EA", "2 doz", "?")
    >>> [pack_size(text, words) for text in said]
    [3, 12, 10, 3, 3, 1, 24, None]
    >>> pack_size("1,000", words, ","), pack_size("1,000", words, ".")
    (1, None)
    """
    said = list(tokens(text))
    numbers = [token for token in said if token[0].isdigit()]
    if len(numbers) > 1 or not said:
        return None
    count = _pieces(re.sub(r"[^0-9.,]", "", text), mark) if numbers else 1
    counts = [count for kind, count in COUNTS.items() for token in said if token in words.kind(kind)]
    known = {"er", "of", "-", "/", ".", "(", ")", *numbers}
    for kind in ("each", "pack", "per", *COUNTS):
        known |= {word for entry in words.kind(kind) for word in entry.split()}
    if not count or len(counts) > 1 or any(token not in known for token in said):
        return None
    return count * (counts[0] if counts else 1)


def _pieces(number: str, mark: str) -> int | None:
    number = number.strip(".,")
    if match := re.fullmatch(r"([1-9][0-9]{0,4})(?:([.,])(0+))?", number):
        return int(match[1]) if len(match[3] or "") != 3 or match[2] == mark else None
    return None


def one_of_many(sign: str, currency: str) -> bool:
    """Whether a sign of several currencies can stand for this one.

    >>> one_of_many("$", "USD"), one_of_many("$", "GBP")
    (True, False)
    """
    return currency in MANY_CURRENCIES.get(sign, ())


def without_dates(text: str) -> str:
    """Leave dates out of a text: their numbers are neither amounts nor packs.

    >>> without_dates("Preis ab 1. 3. 2026").split()
    ['Preis', 'ab']
    """
    return _DATE.sub(" ", text)


def _iso_code(text: str, found: PriceWords, in_cell: bool) -> str:
    for word in re.findall(r"(?<![^\W_])[A-Z]{3}(?![^\W\d_])", text):
        if is_currency(word) and (in_cell or word not in NOT_IN_HEADINGS):
            found.currency = word
            return re.sub(rf"(?<![^\W_]){word}(?![^\W\d_])", " ", text)
    return text


def _currency(said: list[str], found: PriceWords, words: Words) -> list[str]:
    for length in (3, 2, 1):
        for at in range(len(said) - length + 1):
            if (code := words.currencies.get(tuple(said[at : at + length]))) is not None:
                if found.currency and found.currency != code:
                    found.unclear = code  # two currencies
                    continue
                found.currency = code
                return _currency(said[:at] + said[at + length :], found, words) if code else said
    for sign in MANY_CURRENCIES:
        if not found.currency and sign in said and (not sign.isalpha() or AMOUNT in said):
            found.sign = sign
            return [token for token in said if token != sign]
    return [token for token in said if not (token == "$" and found.currency)]


def _rates(said: list[str], found: PriceWords, words: Words) -> list[str]:
    """A percentage and a year say nothing of the price itself."""
    kept = []
    for at, token in enumerate(said):
        rate = token[0].isdigit() and said[at + 1 : at + 2] == ["%"]
        if not rate and token != "%" and not YEAR.fullmatch(token):
            kept.append(token)
    return kept


def _minor(said: list[str], found: PriceWords, words: Words) -> list[str]:
    for at, token in enumerate(said):
        alone = len(token) > 1 or (at and (said[at - 1] in (AMOUNT, "(") or at == len(said) - 1))
        if (token in words.kind("minor") or token == "¢") and alone and found.currency != token:
            found.minor = True
            found.currency = found.currency or IN_MINOR.get(token, "")
            return said[:at] + said[at + 1 :]
    return said


def _tax(said: list[str], found: PriceWords, words: Words) -> list[str]:
    """Take out the words of tax, if others are left or they speak of a tax; `gross` may be a dozen dozens."""
    tax = [token for token in said if token in words.kind("tax")]
    kept, at = [], 0
    while at < len(said):
        length, kind = _tax_phrase(said, at, words, bool(tax))
        if kind and not found.tax:
            found.tax = kind
        if not length:
            kept.append(said[at])
        at += length or 1
    return kept if found.tax or tax else said


def _tax_phrase(said: list[str], at: int, words: Words, tax: bool) -> tuple[int, str]:
    for length in (3, 2, 1):
        phrase = " ".join(said[at : at + length])
        for kind in ("without_tax", "with_tax"):
            sure = tax or length > 1 or phrase in SAY_TAX
            if phrase in words.kind(kind) and sure:
                return length, kind.removesuffix("_tax")
        if phrase in words.kind("tax"):
            return length, ""
    return 0, ""


SAY_TAX = frozenset(
    [
        "ht",
        "ttc",
        "netto",
        "net",
        "nett",
        "brutto",
        "neto",
        "netos",
        "netti",
        "nets",
        "nettopreis",
        "nettopreise",
        "bruttopreis",
        "ivata",
        "ivato",
    ]
)


def _packs(said: list[str], found: PriceWords, words: Words) -> list[str]:
    at, kept = 0, []
    while at < len(said):
        end, pack = _pack_at(said, at, words)
        if pack and found.pack not in (0, pack):
            found.unclear = said[at]
        if pack:
            found.pack = pack
            at = end
        else:
            kept.append(said[at])
            at += 1
    return kept


def _pack_at(said: list[str], at: int, words: Words) -> tuple[int, int]:
    """A pack that begins at a token: where it ends, and its pieces (0: there is none)."""
    per, packs, each = _kind(words, "per"), _kind(words, "pack"), _kind(words, "each")
    fill, end = (*per, "of", "-", ".", "(", ":", "=", "a"), at
    if said[at] in per or said[at] == "/" or said[at] in packs:
        end = at + 1
        while end < len(said) and (said[end] in fill or said[end] in packs):
            end += 1
        count = _count(said[end], words) if end < len(said) else 0
        counted = any(one in packs for one in said[at:end]) or said[end + 1 : end + 2] in ([one] for one in each)
        if count and (said[at] not in LOOSE or counted or not _WHOLE.fullmatch(said[end])):
            return _past(said, end + 1, (*packs, *each, ".", ")")), count
        return at, 0
    if not (count := _count(said[at], words)):
        return at, 0
    end = at + 1
    if not said[at][0].isdigit():  # a dozen
        return _past(said, end, (*packs, ".")), count
    while end < len(said) and said[end] in ("er", "-", "."):
        end += 1
    if end < len(said) and (said[end] in packs or (said[end - 1] == "er" and end - at > 1)):
        return _past(said, end, (*packs, ".")), count
    if end < len(said) and end == at + 1 and (dozens := _count(said[end], words)) and not said[end][0].isdigit():
        return _past(said, end + 1, (*packs, ".")), count * dozens
    if AMOUNT in said and end < len(said) and end == at + 1 and said[end] in each:
        return _past(said, end, (*each, ".")), count
    if AMOUNT in said and end < len(said) - 1 and said[end] in per and said[end + 1] == AMOUNT:
        return end + 1, count
    return at, 0


def _past(said: Sequence[str], at: int, kinds: Sequence[str]) -> int:
    while at < len(said) and said[at] in kinds:
        at += 1
    return at


def _count(token: str, words: Words) -> int:
    if _WHOLE.fullmatch(token):
        return int(token)
    return next((count for kind, count in COUNTS.items() if token in words.kind(kind)), 0)


def _per_what(said: Sequence[str], words: Words) -> str:
    """What a price is for that is no number of pieces: a metre, a set; or a money that is no more."""
    old = words.kind("other_money")
    for at, token in enumerate(said):
        phrase = " ".join(said[at : at + 2])
        if token in old or phrase in old:
            return token
        follows = [one for one in said[at + 1 :] if is_word(one) and one not in _kind(words, "per")]
        if (token in PER or token == "/") and follows and follows[0] not in words.kind("price_words"):
            return PER_PACK if follows[0] in _kind(words, "pack") else follows[0]
    return ""


def _kind(words: Words, name: str) -> frozenset[str]:
    """The single words of a kind."""
    return frozenset(word for word in words.kind(name) if " " not in word)


def _each(said: list[str], found: PriceWords, words: Words) -> list[str]:
    """Take out "each", "pro Stück", "la pièce"; and what is left of words such as "per"."""
    each = _kind(words, "each")
    if found.pack or not any(token in each for token in said):
        return said
    counted = any(_WHOLE.fullmatch(a) and b in each for a, b in pairwise(said))
    if counted:  # "10 Stück": a tier, or a pack, as other words say
        return said
    found.each = True
    per = (*_kind(words, "per"), "/")
    return [
        word
        for word, following in pairwise([*said, ""])
        if word not in each and not (word in per and following in each)
    ]


def _kinds(said: list[str], found: PriceWords, words: Words) -> list[str]:
    found.old = any(token in words.kind("old") for token in said)
    found.recommended = any(token in words.kind("recommended") for token in said)
    return said


def _tiers(said: list[str], found: PriceWords, words: Words) -> list[str]:
    """Take out `10-24`, `25+`, `ab 10 Stück`, `from 10`."""
    each = (*_kind(words, "each"), ".")
    plain = [token for token in said if token not in ".()[]"]
    for at, token in enumerate(plain):
        if not _WHOLE.fullmatch(token):
            continue
        before, after = plain[max(0, at - 1) : at], plain[at + 1 : at + 2]
        starts = [n for n in (3, 2, 1) if " ".join(plain[max(0, at - n) : at]) in words.kind("from")]
        first = starts[0] if starts else int(bool(before) and before[0] in (">", "≥"))
        ends = after and (
            after[0] in ("-", "–", "—", "+") or after[0] in words.kind("up") or after[0] in words.kind("to")
        )
        if first or ends or (after and after[0] in each):
            found.tier = int(token)
            end = at + 2 if ends else at + 1
            if ends and end < len(plain) and _WHOLE.fullmatch(plain[end]):
                end += 1
            end = _past(plain, end, (*each, *words.kind("up"), "+"))
            return plain[: at - first] + plain[end:]
    return said


def _is_count(text: str, match: re.Match[str], numbers: list[re.Match[str]], words: Words) -> bool:
    """Whether a number of a price cell counts pieces, or is a tax rate or a date, and is not the amount."""
    if len(numbers) == 1:
        return False
    before, after = one_spelling(text[: match.start()]), one_spelling(text[match.end() :])
    if after.lstrip().startswith("%"):
        return True
    if not _WHOLE.fullmatch(match.group()):
        return False
    last = (tokens(before) or ("",))[-1]
    before_last = (tokens(before) or ("", ""))[-2:-1]
    next_ = [token for token in tokens(after)[:2] if token not in "-."] or [""]
    per, packs, each = _kind(words, "per"), _kind(words, "pack"), _kind(words, "each")
    first_is_money = bool(numbers) and numbers[0] is not match
    if last in packs or (last in per and (first_is_money or (before_last and before_last[0] in packs))):
        return True
    if last == "/" and first_is_money and not _WHOLE.fullmatch(numbers[0].group()):
        return True
    if next_[0] in packs or next_[0] == "er" or next_[0] in each:
        return not (next_[0] in each and numbers[-1] is match and not first_is_money)
    return next_[0] in per and numbers[-1] is not match and not _WHOLE.fullmatch(numbers[-1].group())


def _is_sign(token: str) -> bool:
    return not is_word(token)
