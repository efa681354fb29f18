"""Writes the type library that tells LibreOffice which methods the add-in has.

Source: the binary format as described in LibreOffice's own `unoidl/README.md`; no development kit is needed.
"""

from __future__ import annotations

import struct
from collections.abc import Iterable, Sequence

MAGIC = b"UNOIDL\xff\0"
MODULE, INTERFACE, IN = b"\0", b"\x05", b"\0"
BASE = "com.sun.star.uno.XInterface"
Arguments = Sequence[tuple[str, str]]  # (name, type)
ANYTHING, CELLS = "any", "com.sun.star.table.XCellRange"


def type_library(modules: Sequence[str], interface: str, methods: Iterable[tuple[str, Arguments]]) -> bytes:
    """Return a type library of one interface whose methods give rows of `any`s.

    Parameters: modules, the names around the interface from the outside in; methods, (name, arguments).

    >>> library = type_library(["org", "orderbook"], "XOrderbook", [("springTurns", [("bore", ANYTHING)])])
    >>> library[:6], b"springTurns" in library, struct.unpack("<I", library[12:16])
    (b'UNOIDL', True, (1,))
    """
    body = bytearray(MAGIC + bytes(8))  # the place of the root map is filled in at the end
    child, name = len(body), interface
    body += _interface(list(methods))
    for module in reversed(modules):
        place = len(body)
        body += name.encode() + b"\0"
        held = len(body)
        body += MODULE + _number(1) + _number(place) + _number(child)
        child, name = held, module
    place = len(body)
    body += name.encode() + b"\0"
    root = len(body)
    body += _number(place) + _number(child)
    body[8:16] = _number(root) + _number(1)
    return bytes(body)


def _interface(methods: list[tuple[str, Arguments]]) -> bytes:
    """One published base, no optional bases, no attributes, then the methods."""
    body = INTERFACE + _number(1) + _text(BASE) + _number(0) + _number(0) + _number(len(methods))
    return body + b"".join(_method(name, arguments) for name, arguments in methods)


def _method(name: str, arguments: Arguments) -> bytes:
    taken = b"".join(IN + _text(argument) + _text(kind) for argument, kind in arguments)
    return _text(name) + _text("[][]any") + _number(len(arguments)) + taken + _number(0)  # no exceptions


def _number(value: int) -> bytes:
    return struct.pack("<I", value)


def _text(value: str) -> bytes:
    return _number(len(value)) + value.encode("ascii")
