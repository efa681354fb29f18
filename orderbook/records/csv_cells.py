"""Text in a CSV file that no spreadsheet takes for a formula, and the same text read back.

A cell that begins with = + - @, a tab or a line end may be run as a formula when the file is opened. An apostrophe in
front makes it text; reading takes it away again. Plain numbers keep their sign.
"""

from __future__ import annotations

import re

_RISKY = re.compile(r"'*\s*[=+\-@\t\r\n＝＋－＠]")
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?")
_MADE_HARMLESS = re.compile(r"'+\s*[=+\-@\t\r\n＝＋－＠]")


def harmless(text: str) -> str:
    """Return the text of a cell so that no program runs it.

    >>> harmless('=HYPERLINK("x")'), harmless("-4.50"), harmless("'=1"), harmless("old spring")
    ('\\'=HYPERLINK("x")', '-4.50', "''=1", 'old spring')
    """
    return "'" + text if _RISKY.match(text) and not _NUMBER.fullmatch(text) else text


def as_typed(text: str) -> str:
    """Return the text that was made harmless.

    >>> [as_typed(harmless(text)) for text in ("=1+1", "-4.50", "'=1", "'tis")]
    ['=1+1', '-4.50', "'=1", "'tis"]
    """
    return text[1:] if _MADE_HARMLESS.match(text) else text
