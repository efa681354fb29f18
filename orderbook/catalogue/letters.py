"""From bytes to letters: UTF-8, UTF-16, or an older code page, with what was assumed."""

from __future__ import annotations

import codecs
import re
from dataclasses import dataclass

from orderbook.errors import Finding, error, finding

MARKS = {codecs.BOM_UTF8: "utf-8-sig", codecs.BOM_UTF16_LE: "utf-16", codecs.BOM_UTF16_BE: "utf-16"}
OLD_PAGES = ["cp1252", "cp1250", "cp850", "mac_roman", "iso8859_15"]
SAMPLE = 200_000


@dataclass(frozen=True, slots=True)
class Letters:
    """A list's text, the encoding it was read by, and what to tell about it."""

    text: str
    encoding: str
    findings: tuple[Finding, ...] = ()


def decode(data: bytes, where: str) -> Letters:
    """Read bytes as text.

    A byte order mark decides; else UTF-8 if it fits; else every line that is not UTF-8 by the older code page that
    charset-normalizer finds likeliest, said in a finding.
    Raises: OrderbookError(list_not_readable) for what is not text.

    >>> decode("Länge;Preis £".encode("cp1252"), "x").text
    'Länge;Preis £'
    """
    encoding = next((name for mark, name in MARKS.items() if data.startswith(mark)), _utf16_without_mark(data))
    try:
        text = data.decode(encoding or "utf-8")
    except UnicodeDecodeError:
        if encoding == "utf-16":
            raise error("list_damaged", where=where, saw="UTF-16 text that breaks off or is damaged") from None
        return _older(data.removeprefix(codecs.BOM_UTF8), where)
    _refuse_binary(text, where)
    return Letters(text.removeprefix("\ufeff"), encoding or "utf-8")


def _utf16_without_mark(data: bytes) -> str:
    sample = data[:2000]
    if len(sample) < 4:
        return ""
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    if odd > 0.4 * len(sample) / 2 and not even:
        return "utf-16-le"
    return "utf-16-be" if even > 0.4 * len(sample) / 2 and not odd else ""


def _older(data: bytes, where: str) -> Letters:
    _refuse_binary(data[:SAMPLE].decode("latin-1"), where)
    page = _likeliest_page(data)
    lines = data.splitlines(keepends=True) if b"\n" in data or b"\r" in data else [data]
    decoded, old = [], 0
    for line in lines:
        try:
            decoded.append(line.decode("utf-8"))
            old += 0
        except UnicodeDecodeError:
            decoded.append(line.decode(page, errors="replace"))
            old += 1
    text = "".join(decoded)
    _refuse_binary(text, where)
    mixed = any(not line.isascii() for line in decoded) and old < sum(not line.isascii() for line in lines)
    which = "1 line is not UTF-8; it was" if old == 1 else f"{old} lines are not UTF-8; they were"
    saw = f"{which} read as {page}" + (", the others as UTF-8" if mixed else "")
    return Letters(text, page, (finding("letters_assumed", where=where, saw=saw),))


def _likeliest_page(data: bytes) -> str:
    """The code page of the bytes above 127; cp1252 unless it lacks a letter that is there."""
    odd = re.sub(rb"[\x00-\x7f]{40,}", b" ", data)[:SAMPLE]
    try:
        odd.decode("cp1252")
    except UnicodeDecodeError:
        from charset_normalizer import from_bytes

        best = from_bytes(odd, cp_isolation=OLD_PAGES[1:]).best()
        return best.encoding if best else "iso8859_15"
    return "cp1252"


def _refuse_binary(text: str, where: str) -> None:
    if "\x00" in text:
        raise error("list_not_readable", where=where, saw="NUL bytes, which no text has")
    sample = text[:SAMPLE]
    odd = len(re.findall(r"[\x01-\x08\x0e-\x1a\x1c-\x1f]", sample))
    if odd > max(4, len(sample) // 200):
        raise error("list_not_readable", where=where, saw="bytes that are no text")
