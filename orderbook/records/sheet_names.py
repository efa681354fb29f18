"""What a sheet takes for the same name, and what it does not: a stray blank or another dash is another name to it.

The sheet's own sums look names up letter by letter, capitals apart. So that both come to the same, a row whose piece,
need or word the sheet does not find is not added here either, and both say so.
"""

from __future__ import annotations

from orderbook.errors import Finding, finding
from orderbook.records.books import Books
from orderbook.records.identifiers import tidy
from orderbook.records.index import index
from orderbook.records.rows import Row
from orderbook.records.tables import LedgerLine, Work


def no_such_piece(books: Books, record: LedgerLine | Work) -> Finding | None:
    """Say why a row belongs to no piece's account: it names none, one that is not there, or spells it otherwise."""
    key = "restoration" if isinstance(record, LedgerLine) else "need"
    name, where = getattr(record, key), record.row.place.of(key)
    found = index(books)
    if not name:
        return finding("row_not_added", where=where, saw=f"no {key}", try_this="Type whose it is.")
    need = found.needs.get(name) if key == "need" else None
    piece = need.restoration if need else name
    if piece not in found.restorations:
        saw = f"{name} is not in Restorations" if key == "restoration" else f"{name} is no need or piece of the book"
        saw = f"{name} belongs to {piece or 'no piece'}, which is not in Restorations" if need else saw
        return finding("row_not_added", where=where, saw=saw, try_this="Look at the number, or add the piece.")
    there = need.row if need else found.restorations[name].row
    own = "need" if need else "restoration"
    if not _alike(record.row, key, there, own):
        return _other_spelling(record.row, key, name)
    if need and not _alike(need.row, "restoration", found.restorations[piece].row, "restoration"):
        return _other_spelling(need.row, "restoration", piece)
    return None


def spelled_otherwise(record: LedgerLine | Work, key: str) -> Finding | None:
    """Say where a word of a list has a stray blank, so that the sheet does not know it."""
    seen = record.row.get(key)
    if record.row.place.sheet and isinstance(seen, str) and seen.casefold() != str(getattr(record, key)).casefold():
        return _other_spelling(record.row, key, str(getattr(record, key)))
    return None


def _alike(row: Row, key: str, other: Row, other_key: str) -> bool:
    if not (row.place.sheet and other.place.sheet):
        return True  # a file of text has no sums of its own
    return str(row.get(key)).casefold() == str(other.get(other_key)).casefold()


def _other_spelling(row: Row, key: str, name: str) -> Finding:
    seen = row.get(key)
    saw = f"“{seen}” is not letter by letter {name}: a stray blank or another dash"
    try_this = f"Type {name} there again; ⟨!check fix⟩ does it."
    return finding("row_not_added", where=row.place.of(key), saw=saw, try_this=try_this)


def stray_spelling(row: Row, key: str, name: str) -> bool:
    """Return whether a cell of a sheet spells a name with blanks or dashes that do not belong there.

    >>> from orderbook.records.rows import Place
    >>> row = Row({"restoration": "R–007 "}, Place("Ledger", 4, "Ledger"))
    >>> stray_spelling(row, "restoration", "R-007")
    True
    """
    seen = row.get(key)
    return bool(row.place.sheet) and isinstance(seen, str) and seen.upper() != name.upper() and tidy(seen) == tidy(name)
