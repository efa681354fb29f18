"""Reads the XML parts of a package safely: no entities, no network, no strict-only books."""

from __future__ import annotations

from typing import Any

from orderbook.errors import error

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
RELATIONS = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
PACKAGE_RELATIONS = "http://schemas.openxmlformats.org/package/2006/relationships"
CONTENT_TYPES = "http://schemas.openxmlformats.org/package/2006/content-types"
_STRICT = b"http://purl.oclc.org/ooxml/"


def tree(data: bytes, *, where: str, part: str) -> Any:
    """Parse one part.

    Raises: OrderbookError for entities or a document type, for a strict book, for XML that is broken.
    """
    from lxml import etree

    refuse_entities(data[:4096], where=where, part=part)
    if _STRICT in data[:4096]:
        raise error("book_strict", where=where, saw="the book is saved as strict Open XML")
    parser = etree.XMLParser(resolve_entities=False, no_network=True, huge_tree=False, load_dtd=False)
    try:
        root = etree.fromstring(data, parser)
    except etree.XMLSyntaxError as problem:
        raise error("book_damaged", where=where, saw=f"its part {part} is broken ({problem})") from None
    document: Any = root.getroottree().docinfo
    if document.doctype:
        raise error("book_entities", where=where, saw=f"its part {part} has a document type")
    return root


def refuse_entities(head: bytes, *, where: str, part: str) -> None:
    """Refuse a part that begins with a document type, or is not UTF-8."""
    if b"<!DOCTYPE" in head or b"<!ENTITY" in head:
        raise error("book_entities", where=where, saw=f"its part {part} defines entities")
    if head[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise error("book_damaged", where=where, saw=f"its part {part} is not in UTF-8")


def tag(name: str) -> str:
    """Return a name of the main namespace as lxml writes it."""
    return f"{{{MAIN}}}{name}"


def serialise(root: Any) -> bytes:
    """Return a part's bytes, with the declaration spreadsheet programs write."""
    from lxml import etree

    data: bytes = etree.tostring(root, xml_declaration=True, encoding="UTF-8", standalone=True)
    return data
