"""Prices of rows: amount, currency and pack from the price cell, its heading, and the columns beside it.

A price is not needed: one that cannot be read is unknown, its row is kept, and what stood there is told.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from orderbook.catalogue.blocks import Block, Coded
from orderbook.catalogue.marks import UNDECIDED, evidence
from orderbook.catalogue.naming import ListColumn
from orderbook.catalogue.plan import ReadingPlan
from orderbook.catalogue.prices import minor_units, one_of_many, pack_size, price_said
from orderbook.catalogue.sizes import is_missing
from orderbook.catalogue.words import SIGNS, Words, is_currency, tokens

Ints = NDArray[np.int64]
Bools = NDArray[np.bool_]


class Priced(NamedTuple):
    """A price cell read: whole minor units (-1: unknown), currency, pieces said (0: not, -1: each), rounded or not."""

    minor: int = -1
    currency: str = ""
    pack: int = 0
    rounded: bool = False


class Unread(NamedTuple):
    """Why a price is unknown (a code of the findings), and the text."""

    code: str
    text: str


@dataclass(slots=True)
class Prices:
    """Price, currency and pack of every row; what could not be read or was rounded, by rows."""

    minor: Ints
    currency: NDArray[np.object_]
    pack: Ints
    told: list[tuple[NDArray[np.int32], dict[int, Unread]]] = field(default_factory=list)

    def counted(self, kept: Bools) -> Counter[Unread]:
        """How many of the kept rows each thing is told of."""
        counts: Counter[Unread] = Counter()
        for codes, unread in self.told:
            rows = np.bincount(codes[kept], minlength=max(unread, default=0) + 1)
            counts.update({what: int(rows[code]) for code, what in unread.items() if rows[code]})
        return counts


def prices_of(block: Block, plan: ReadingPlan) -> Prices:
    """Read the prices of a block. A missing price, and one that cannot be read, is -1."""
    column, rows = plan.column("price"), len(block)
    prices = Prices(np.full(rows, -1, dtype=np.int64), _empty(rows), np.ones(rows, dtype=np.int64))
    if column is None:
        return prices
    cells, beside = block.columns[column.index], _cells("currency", block, plan)
    codes, pairs = _pairs(cells, beside)
    found = [_price(cells, i, column, plan, beside.texts[j] if beside else "") for i, j in pairs]
    known = [price if isinstance(price, Priced) else Priced() for price in found]
    told = {at: price for at, price in enumerate(found) if isinstance(price, Unread)}
    told |= {at: Unread("price_rounded", cells.texts[pairs[at][0]]) for at, price in enumerate(known) if price.rounded}
    prices.told.append((codes, told))
    prices.minor = np.array([price.minor for price in known] or [-1], dtype=np.int64)[codes]
    names = np.empty(len(known) or 1, dtype=object)
    names[: len(known)] = [price.currency for price in known]
    prices.currency = names[codes]
    own = np.array([price.pack for price in known] or [0], dtype=np.int64)[codes]
    _for_packs(prices, own, column, block, plan)
    return prices


def _for_packs(prices: Prices, own: Ints, column: ListColumn, block: Block, plan: ReadingPlan) -> None:
    """A price cell that says its pieces goes before the heading, the heading before the pack column."""
    counts, unread = _packs(block, plan)
    each = (own == -1) | ((own == 0) & column.each)
    known = prices.minor >= 0
    prices.pack = np.where(own > 0, own, counts)
    if column.pack:
        prices.pack = np.where((own == 0) & ~each, column.pack, prices.pack)
    else:  # a pack that cannot be read: what the price is for is not known
        lost = (counts == 0) & (own <= 0) & known
        prices.minor = np.where(lost, -1, prices.minor)
        if unread is not None:
            prices.told.append(unread)
    prices.pack = np.maximum(prices.pack, 1)
    prices.minor = np.where(each & (prices.minor >= 0), prices.minor * prices.pack, prices.minor)


def _empty(rows: int) -> NDArray[np.object_]:
    empty = np.empty(rows, dtype=object)
    empty[:] = ""
    return empty


def _cells(meaning: str, block: Block, plan: ReadingPlan) -> Coded | None:
    column = plan.column(meaning)
    return None if column is None else block.columns[column.index]


def _pairs(cells: Coded, beside: Coded | None) -> tuple[NDArray[np.int32], list[tuple[int, int]]]:
    """Code the pairs of price and currency cell, so that each is read once."""
    if beside is None:
        return cells.codes, [(i, 0) for i in range(len(cells.cells))]
    width = max(1, len(beside.cells))
    both, codes = np.unique(cells.codes.astype(np.int64) * width + beside.codes, return_inverse=True)
    return codes.astype(np.int32), [(pair // width, pair % width) for pair in both.tolist()]


def _price(cells: Coded, at: int, column: ListColumn, plan: ReadingPlan, currency_cell: str) -> Priced | Unread:
    text, cell = cells.texts[at], cells.cells[at]
    if cell is None or (is_missing(text) and "." not in text):
        return Priced() if cell is not None else Unread("price_not_read", text)
    price = price_said(text, plan.words)
    if price is None:
        return Unread("price_not_read" if any(map(str.isdigit, text)) else "price_is_words", text)
    if column.doubt:
        return Priced()  # told once, of the column
    said = _currency_said(currency_cell, plan.words)
    stated = {code for code in (price.currency, said, column.currency) if code}
    if said is None or (len(stated) > 1 and ((price.currency and said) or (said and column.currency))):
        return Unread("price_not_read", f"{text} {currency_cell}")
    sign = price.sign or ("" if price.currency or said or column.currency else column.sign)
    currency = price.currency or said or column.currency
    currency = currency or plan.currency
    if sign and not one_of_many(sign, currency):
        return Unread("price_sign_of_many", text if price.sign else f"{sign} {text}")
    in_minor = price.minor or (column.minor and not price.currency)
    number = price.number
    if isinstance(cell, float):  # a spreadsheet's number has a decimal point, whatever it looks like
        number = f"{number}0" if evidence(number) == UNDECIDED else number
    found = minor_units(number, column.decimal, currency, in_minor)
    if found is None:
        return Unread("price_not_read", text)
    minor, rounded = found
    return Priced(minor, currency, price.pack, rounded) if minor else Priced()


def _currency_said(text: str, words: Words) -> str | None:
    """The currency of a cell, "" for an empty one; None if it is none."""
    if is_missing(text):
        return ""
    code = SIGNS.get(text.strip(), text.strip().upper())
    if is_currency(code):
        return code
    return words.currencies.get(tuple(token for token in tokens(text) if token != "."))


def _packs(block: Block, plan: ReadingPlan) -> tuple[Ints, tuple[NDArray[np.int32], dict[int, Unread]] | None]:
    """How many pieces each row's pack has: 1 where nothing is said, 0 where it cannot be read."""
    cells = _cells("pack", block, plan)
    if cells is None:
        return np.ones(len(block), dtype=np.int64), None
    found = [1 if is_missing(text) else pack_size(text, plan.words, plan.mark) or 0 for text in cells.texts]
    unread = {at: Unread("pack_not_read", cells.texts[at]) for at, count in enumerate(found) if not count}
    counts = np.array(found or [1], dtype=np.int64)
    return counts[cells.codes], (cells.codes, unread)
