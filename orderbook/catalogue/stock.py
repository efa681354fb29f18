"""What a list says of its stock: pieces left, none, or nothing that could be counted."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from orderbook.catalogue.blocks import Block
from orderbook.catalogue.plan import ReadingPlan
from orderbook.catalogue.words import Words, fold, tokens

UNKNOWN = -1


def stock_of(block: Block, plan: ReadingPlan) -> NDArray[np.int64]:
    """Read how many pieces there are of each row; -1 where the list does not say."""
    column = plan.column("stock")
    if column is None:
        return np.full(len(block), UNKNOWN, dtype=np.int64)
    coded = block.columns[column.index]
    left = np.array([pieces_left(text, plan.words) for text in coded.texts] or [UNKNOWN], dtype=np.int64)
    return np.asarray(left[coded.codes])


def pieces_left(text: str, words: Words) -> int:
    """Read one cell; "more than 10" is 10, a word for "none" or a denied word is 0.

    >>> from orderbook.catalogue.words import shipped_words; words = shipped_words()
    >>> said = ("12 St.", "10+", "rupture de stock", "niet op voorraad", "auf Lager", "3,00")
    >>> [pieces_left(text, words) for text in said]
    [12, 10, 0, 0, -1, 3]
    """
    if text.isascii() and text.isdigit() and len(text) < 10:
        return int(text)
    said = tokens(text)
    numbers = [token for token in said if token[0].isdigit()]
    if len(numbers) == 1:
        whole, _, decimals = numbers[0].partition(".")
        return (
            int(whole)
            if len(whole) < 10 and not decimals.strip("0") and len(decimals) < 3 and "-" not in said
            else UNKNOWN
        )
    if numbers or not said:
        return UNKNOWN
    folded = fold(text)
    denied = any(word in words.kind("not_there") for word in folded)
    none_left = words.kind("none_left")
    if " ".join(folded) in none_left or (denied and any(word in _THINGS_TO_HAVE for word in folded)):
        return 0
    phrases = (" ".join(folded[at:end]) for at in range(len(folded)) for end in range(at + 2, len(folded) + 1))
    return 0 if any(phrase in none_left for phrase in phrases) else UNKNOWN


_THINGS_TO_HAVE = frozenset(
    [
        "stock",
        "lager",
        "lieferbar",
        "vorratig",
        "verfugbar",
        "disponible",
        "disponibile",
        "disponibili",
        "magazzino",
        "voorraad",
        "leverbaar",
        "beschikbaar",
        "available",
        "existencias",
        "am",
        "producion",
        "disponibles",
        "dispo",
        "giacenza",
    ]
)
