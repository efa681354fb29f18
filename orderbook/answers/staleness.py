"""Which of the answers that a book keeps were made from something else than it holds now."""

from __future__ import annotations

from orderbook.answers.fingerprint import differing, fingerprints
from orderbook.errors import Finding, finding
from orderbook.records.books import Books
from orderbook.records.index import index
from orderbook.records.tables import StoredAnswer


def stale_answers(books: Books) -> dict[str, Finding]:
    """Return barrel → why its stored answer is not up to date, for those that are not."""
    kept = {answer.barrel: answer for answer in books.answers if answer.barrel in index(books).barrels}
    found = {barrel: what_changed(books, answer) for barrel, answer in kept.items()}
    return {
        barrel: finding(
            "answers_stale", where=kept[barrel].row.place.of(), saw=f"{barrel}: changed since: {', '.join(parts)}"
        )
        for barrel, parts in found.items()
        if parts
    }


def what_changed(books: Books, kept: StoredAnswer) -> tuple[str, ...]:
    """Say in words what an answer was made from that is something else now; of a closed piece its own rows alone."""
    now = fingerprints(books)
    parts = differing(kept.kept_inputs, now.inputs.get(kept.barrel, ""), of_barrel=True)
    barrel = index(books).barrels.get(kept.barrel)
    piece = index(books).restorations.get(barrel.restoration) if barrel else None
    if piece is None or piece.state != "closed":
        parts += differing(kept.kept_lists, now.lists, of_barrel=False)
    return parts
