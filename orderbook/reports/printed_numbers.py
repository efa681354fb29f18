"""Numbers as a country prints them: the decimal mark and the mark between thousands; the words stay as they are."""

from __future__ import annotations

import re
from collections.abc import Iterable

from orderbook.errors import error

# 0.175, 1,234.50, 226,374; no part of a name, a path, a date or a number with more marks
NUMBER = r"(?<![\w.,/\\'\"-])-?(?P<whole>[0-9]{1,3}(?:,[0-9]{3})+|[0-9]+)(?P<decimals>\.[0-9]+)?(?!\w|[.,/-][\w])"
MARKED = re.compile(r"[0-9][.,][0-9]")


def in_locale(text: str, locale: str, keep: Iterable[str] = ()) -> str:
    """Print the numbers of a text with the marks of a locale.

    Parameters: a text whose numbers have a decimal point and commas between thousands; locale, a language with or
    without its country, such as `de` or `de_CH`; keep, texts of the user's own that may look like numbers (item
    numbers), which are left as they are.
    Raises: OrderbookError(locale_not_known).
    Source: Unicode Common Locale Data Repository, through Babel.

    >>> in_locale("strength 0.175 ± 0.005 mm of NW-1.5: 1,234.50 GBP, on 2026-11-25", "de")
    'strength 0,175 ± 0,005 mm of NW-1.5: 1.234,50 GBP, on 2026-11-25'
    """
    decimal, group = _marks(locale)
    kept = sorted({re.escape(own) for own in keep if MARKED.search(own)}, key=len, reverse=True)
    pattern = re.compile("|".join([*(f"(?<!\\w){own}(?!\\w)" for own in kept), NUMBER]))

    def printed(found: re.Match[str]) -> str:
        if found["whole"] is None:
            return found[0]
        return found[0].translate({ord(","): group, ord("."): decimal})

    return pattern.sub(printed, text)


def _marks(locale: str) -> tuple[str, str]:
    from babel import Locale, UnknownLocaleError
    from babel.numbers import get_decimal_symbol, get_group_symbol

    try:
        told = Locale.parse(locale.strip().replace("-", "_").partition(".")[0])
    except (ValueError, UnknownLocaleError):
        raise error("locale_not_known", where="⟨locale⟩", saw=repr(locale)) from None
    return get_decimal_symbol(told), get_group_symbol(told)
