"""Which of the answers that a book keeps were made from other inputs than it holds now."""

from __future__ import annotations

from orderbook.errors import Finding, finding
from orderbook.records.books import Books
from orderbook.records.index import index


def stale_answers(books: Books) -> dict[str, Finding]:
    """Return the barrels whose stored answers are not of the readings the book holds now."""
    barrels = index(books).barrels
    return {
        kept.barrel: finding("answers_stale", where=kept.row.place.of(), saw=f"{kept.barrel}: readings changed since")
        for kept in books.answers
        if kept.kept_inputs and kept.barrel in barrels and barrels[kept.barrel].inputs_now != kept.kept_inputs
    }
