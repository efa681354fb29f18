"""From bytes to letters: UTF-8, UTF-16, or an older code page, with what was assumed."""

from __future__ import annotations

import codecs
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import BinaryIO

from orderbook.catalogue.opening import MEGABYTE
from orderbook.errors import Finding, error, finding

MARKS = {codecs.BOM_UTF8: "utf-8", codecs.BOM_UTF16_LE: "utf-16", codecs.BOM_UTF16_BE: "utf-16"}
OLD_PAGES = ["cp1252", "cp1250", "cp850", "mac_roman", "iso8859_15"]
USUAL_LETTERS = frozenset("äöüßÄÖÜéèêëàâçùûîïôœñòìáíóúæøåÉÈÀÇÑØÅŁłžšěřů")
USUAL_SIGNS = frozenset("£€°½¼¾×–’“”„…±ªº«»‴″′§µ ")
SAMPLE = 200_000
READ = 4 * MEGABYTE
LONGEST = 8 * MEGABYTE  # bytes without a line end that are held


@dataclass(frozen=True, slots=True)
class Letters:
    """How a list's bytes are read: the encoding, the older code page of lines that are not UTF-8, what to tell."""

    encoding: str = "utf-8"
    page: str = ""
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Text:
    """A whole text, the encoding it was read by, and what to tell about it."""

    text: str
    encoding: str
    findings: tuple[Finding, ...] = ()


def letters_of(open_stream: Callable[[], BinaryIO], where: str) -> Letters:
    """Look through a list's bytes and find how they are read.

    A byte order mark decides; else UTF-8 if it fits; else every line that is not UTF-8 by the likeliest of the older
    code pages, said in a finding.
    Raises: OrderbookError(list_not_readable) for what is not text.
    """
    with open_stream() as stream:
        head = stream.read(2000)
    encoding = next((name for mark, name in MARKS.items() if head.startswith(mark)), _utf16_without_mark(head))
    if encoding.startswith("utf-16"):
        return Letters(encoding)
    old, plain, odd = 0, 0, bytearray()
    with open_stream() as stream:
        for piece in _whole_lines(stream):
            if b"\x00" in piece:
                raise error("list_not_readable", where=where, saw="NUL bytes, which no text has")
            if piece.isascii() or _is_utf8(piece):
                plain += 0 if piece.isascii() else 1
                continue
            for line in piece.splitlines():
                if not _is_utf8(line):
                    old += 1
                    odd += line[:1000] + b" " if len(odd) < SAMPLE else b""
                elif not line.isascii():
                    plain += 1
    _refuse_binary(head.decode("latin-1"), where)
    if not old:
        return Letters()
    page = _likeliest_page(bytes(odd))
    which = "1 line is not UTF-8; it was" if old == 1 else f"{old} lines are not UTF-8; they were"
    saw = f"{which} read as {page}" + (", the others as UTF-8" if plain else "")
    return Letters("utf-8", page, (finding("letters_assumed", where=where, saw=saw),))


def decode(data: bytes, where: str) -> Text:
    """Read all bytes of a short text.

    Raises: OrderbookError(list_not_readable | list_damaged) for what is not text.

    >>> decode("Länge;Preis £".encode("cp1252"), "x").text
    'Länge;Preis £'
    """
    import io

    letters = letters_of(lambda: io.BytesIO(data), where)
    text = b"".join(utf8_pieces(io.BytesIO(data), letters, where)).decode("utf-8")
    _refuse_binary(text, where)
    return Text(text, letters.page or letters.encoding, letters.findings)


def utf8_pieces(stream: BinaryIO, letters: Letters, where: str, piece_bytes: int = READ) -> Iterator[bytes]:
    """Yield a list's text in UTF-8 without byte order mark, with line ends of one kind, in pieces that end anywhere.

    Raises: OrderbookError(list_damaged | list_not_readable).
    """
    ended_in_cr, first = False, True
    for piece in _recoded(stream, letters, where, piece_bytes):
        if first:
            piece, first = piece.removeprefix(codecs.BOM_UTF8), False
            _refuse_binary(piece[:SAMPLE].decode("utf-8", errors="replace"), where)
        if b"\r" in piece or ended_in_cr:
            piece = piece[1:] if ended_in_cr and piece.startswith(b"\n") else piece
            ended_in_cr = piece.endswith(b"\r")
            piece = piece.replace(b"\r\n", b"\n").replace(b"\r", b"\n")
        yield piece


def _recoded(stream: BinaryIO, letters: Letters, where: str, piece_bytes: int) -> Iterator[bytes]:
    if letters.encoding != "utf-8":
        decoder = codecs.getincrementaldecoder(letters.encoding)()
        while True:
            data = stream.read(piece_bytes)
            try:
                text = decoder.decode(data, final=not data)
            except UnicodeDecodeError:
                raise error("list_damaged", where=where, saw="UTF-16 text that breaks off or is damaged") from None
            if "\x00" in text:
                raise error("list_not_readable", where=where, saw="NUL bytes, which no text has")
            yield text.encode("utf-8", "replace")
            if not data:
                return
    elif not letters.page:
        while data := stream.read(piece_bytes):
            yield data
    else:
        for piece in _whole_lines(stream, piece_bytes):
            yield piece if _is_utf8(piece) else b"".join(_line(line, letters.page) for line in piece.splitlines(True))


def _line(line: bytes, page: str) -> bytes:
    return line if _is_utf8(line) else line.decode(page, errors="replace").encode()


def _whole_lines(stream: BinaryIO, piece_bytes: int = READ) -> Iterator[bytes]:
    """Yield pieces that end at a line end, where there are any."""
    data = b""
    while more := stream.read(piece_bytes):
        data += more
        end = max(data.rfind(b"\n"), data.rfind(b"\r")) + 1
        if end == len(data) and data.endswith(b"\r"):
            end -= 1  # the other half of the line end may follow
        end = len(data) if not end and len(data) > LONGEST else end
        if end:
            yield data[:end]
            data = data[end:]
    if data:
        yield data


def _is_utf8(data: bytes) -> bool:
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return False
    return True


def _utf16_without_mark(data: bytes) -> str:
    sample = data[:2000]
    if len(sample) < 4:
        return ""
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    if odd > 0.4 * len(sample) / 2 and not even:
        return "utf-16-le"
    return "utf-16-be" if even > 0.4 * len(sample) / 2 and not odd else ""


def _likeliest_page(data: bytes) -> str:
    """The code page by which the bytes above 127 are most like letters of the six languages within words.

    >>> _likeliest_page("Höhe Stärke".encode("cp850")), _likeliest_page("Höhe £ 4".encode("cp1252"))
    ('cp850', 'cp1252')
    """
    return max(OLD_PAGES, key=lambda page: _like_words(data[:SAMPLE].decode(page, errors="replace")))


def _like_words(text: str) -> int:
    score = 0
    for at, letter in enumerate(text):
        if letter.isascii():
            continue
        before, after = text[at - 1 : at], text[at + 1 : at + 2]
        within = before.isalpha() and after.isalpha()
        alone = not before.isalpha() and not after.isalpha()
        if letter in USUAL_LETTERS:
            score += 0 if alone else 2
        else:
            score += 2 if letter in USUAL_SIGNS and not within else -2
        if within and letter.isupper() and before.islower():
            score -= 3
    return score


def _refuse_binary(text: str, where: str) -> None:
    if "\x00" in text:
        raise error("list_not_readable", where=where, saw="NUL bytes, which no text has")
    sample = text[:SAMPLE]
    odd = len(re.findall(r"[\x01-\x08\x0e-\x1a\x1c-\x1f]", sample))
    if odd > max(4, len(sample) // 200):
        raise error("list_not_readable", where=where, saw="bytes that are no text")
