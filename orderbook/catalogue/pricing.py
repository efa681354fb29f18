"""Prices of rows: amount, currency and pack from the price cell, its heading, and the columns beside it."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from orderbook.catalogue.blocks import Block, Coded
from orderbook.catalogue.naming import Column
from orderbook.catalogue.plan import Plan
from orderbook.catalogue.prices import PriceText, minor_units, one_of_many, pack_size, price_text
from orderbook.catalogue.sizes import Trouble, is_missing
from orderbook.catalogue.words import SIGNS, is_currency

Ints = NDArray[np.int64]


@dataclass(slots=True)
class Prices:
    """Price, currency and pack of every row; troubles of distinct cells; texts that are no price, like "ask"."""

    minor: Ints
    currency: NDArray[np.object_]
    pack: Ints
    troubles: list[tuple[str, NDArray[np.int32], dict[int, Trouble]]]
    codes: NDArray[np.int32] | None = None
    unread: dict[int, str] = field(default_factory=dict)


def prices_of(block: Block, plan: Plan) -> Prices:
    """Read the prices of a block. A missing price is -1; a price that has digits but cannot be read is a trouble."""
    column, rows = plan.column("price"), len(block)
    pack, troubles = _packs(block, plan)
    empty = np.empty(rows, dtype=object)
    empty[:] = ""
    if column is None:
        return Prices(np.full(rows, -1, dtype=np.int64), empty, pack, troubles)
    cells = block.columns[column.index]
    beside = _currency_cells(block, plan)
    codes, pairs = _pairs(cells, beside)
    found = [_price(cells, i, column, plan, beside.texts[j] if beside else "") for i, j in pairs]
    known = [price if not isinstance(price, Trouble) else (-1, "", 0) for price in found]
    if bad := {n: price for n, price in enumerate(found) if isinstance(price, Trouble)}:
        troubles.append((column.header, codes, bad))
    minor, currency, own_pack = _columns(known, codes)
    unread = {i: text for i, text in enumerate(cells.texts) if _only_words(text)}
    return _for_packs(Prices(minor, currency, pack, troubles, cells.codes, unread), own_pack, column)


def _for_packs(prices: Prices, own_pack: Ints, column: Column) -> Prices:
    """A price cell that says its pieces goes before the heading, the heading before the pack column."""
    if column.each:  # printed for one piece: what a pack costs is exact
        each = (own_pack <= 1) & (prices.minor >= 0)
        prices.minor = np.where(each, prices.minor * prices.pack, prices.minor)
    elif column.pack:
        prices.pack = np.full_like(prices.pack, column.pack)
    prices.pack = np.where(own_pack > 1, own_pack, prices.pack)
    return prices


def _pairs(cells: Coded, beside: Coded | None) -> tuple[NDArray[np.int32], list[tuple[int, int]]]:
    """Code the distinct pairs of a price cell and the currency cell beside it."""
    if beside is None:
        return cells.codes, [(i, 0) for i in range(len(cells.cells))]
    width = len(beside.cells)
    joint, codes = np.unique(cells.codes.astype(np.int64) * width + beside.codes, return_inverse=True)
    return codes.astype(np.int32), [divmod(pair, width) for pair in joint.tolist()]


def _price(cells: Coded, index: int, column: Column, plan: Plan, beside: str) -> tuple[int, str, int] | Trouble:
    text = cells.texts[index]
    said, trouble = _currency_said(beside)
    if trouble:
        return trouble
    if isinstance(cells.cells[index], float):
        return _in_minor(PriceText(repr(cells.cells[index]), "", "", 1), text, ".", said or column.currency)
    if cells.cells[index] is None:
        return Trouble("a spreadsheet made a date of the price", "Write the price as a number in the sheet.")
    if is_missing(text) or _only_words(text):
        return -1, "", 0
    price = price_text(text, plan.words)
    if price is None:
        return Trouble(f"{text!r} cannot be read as a price", "Write one amount, such as 12.50 GBP or 30.00/12.")
    if price.currency and said and price.currency != said:
        return Trouble(f"{text!r} says {price.currency}, the currency column {said}", "Ask the supplier.")
    return _in_minor(price, text, column.decimal, price.currency or said or column.currency)


def _in_minor(price: PriceText, text: str, decimal: str, currency: str) -> tuple[int, str, int] | Trouble:
    if price.sign and not one_of_many(price.sign, currency):
        saw = f"{text!r}: the sign {price.sign} belongs to several currencies"
        return Trouble(saw, "Say which one with --currency, or in the column map.")
    minor = minor_units(price.number, decimal, currency)
    if minor is None:
        return Trouble(f"{text!r} is not an amount of {currency or 'money'}", "Look at the decimal mark.")
    return (minor, currency, price.pack) if minor else (-1, "", 0)


def _currency_cells(block: Block, plan: Plan) -> Coded | None:
    column = plan.column("currency")
    return None if column is None else block.columns[column.index]


def _currency_said(text: str) -> tuple[str, Trouble | None]:
    if is_missing(text):
        return "", None
    code = SIGNS.get(text, text.upper())
    if is_currency(code):
        return code, None
    return "", Trouble(f"{text!r} is not a currency code", "Write three letters, such as GBP.")


def _packs(block: Block, plan: Plan) -> tuple[Ints, list[tuple[str, NDArray[np.int32], dict[int, Trouble]]]]:
    column = plan.column("pack")
    if column is None:
        return np.ones(len(block), dtype=np.int64), []
    cells = block.columns[column.index]
    found = [1 if is_missing(text) else pack_size(text, plan.words) for text in cells.texts]
    bad = {
        i: Trouble(f"{cells.texts[i]!r} is not a number of pieces", "Write how many pieces the price is for.")
        for i, count in enumerate(found)
        if count is None
    }
    counts = np.array([count or 1 for count in found] or [1], dtype=np.int64)
    return counts[cells.codes], [(column.header, cells.codes, bad)]


def _columns(known: list[tuple[int, str, int]], codes: NDArray[np.int32]) -> tuple[Ints, NDArray[np.object_], Ints]:
    names = np.empty(len(known) or 1, dtype=object)
    names[: len(known)] = [price[1] for price in known]
    minor = np.array([price[0] for price in known] or [-1], dtype=np.int64)
    pack = np.array([price[2] for price in known] or [0], dtype=np.int64)
    return minor[codes], names[codes], pack[codes]


def _only_words(text: str) -> bool:
    return bool(text) and not is_missing(text) and not any(letter.isdigit() for letter in text)
