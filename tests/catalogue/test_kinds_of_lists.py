"""Thousands of lists of all kinds: no spring is misread, no row lost, and what a careful person could read is read."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from orderbook.catalogue import CatalogueReading, read_catalogue
from orderbook.errors import OrderbookError
from tests.catalogue.kinds_of_lists import MadeList, made_list

LISTS = 3_000
SHARES = 6


@dataclass(slots=True)
class Count:
    """What became of the rows of some lists."""

    lists: int = 0
    refused: int = 0
    rows: int = 0
    readable: int = 0
    read: int = 0
    priced: int = 0
    prices_read: int = 0
    misread: list[str] = field(default_factory=list)
    lost: list[str] = field(default_factory=list)
    unread: Counter[str] = field(default_factory=Counter)

    def add(self, made: MadeList, folder: Path) -> None:
        self.lists += 1
        self.rows += len(made.rows)
        self.readable += sum(row.readable for row in made.rows)
        self.priced += sum(row.readable and row.priced and row.price is not None for row in made.rows)
        try:
            reading = read_catalogue(made.write(folder), supplier="S")
        except OrderbookError as problem:
            self.refused += 1
            if any(row.readable for row in made.rows):
                self.unread[f"{made.name} {made.made} {problem}"] += sum(row.readable for row in made.rows)
            return
        finally:
            (folder / made.name).unlink()
        self._compare(made, reading)

    def _compare(self, made: MadeList, reading: CatalogueReading) -> None:
        found = {item: at for at, item in enumerate(reading.catalogue.item.tolist())}
        told = {cell for reject in reading.rejects for cell in reject.text.split(" | ")}
        told |= {cell.strip() for cell in told}
        for true in made.rows:
            at = found.get(true.item)
            if at is None:
                if not any(true.item in cell for cell in told):
                    self.lost.append(f"{made.name} {true.item} {made.made}")
                elif true.readable:
                    why = next(r.reason for r in reading.rejects if true.item in r.text)
                    self.unread[f"{made.name} {made.made} {why}"] += 1
                continue
            row = reading.catalogue.row(at)
            read = (row["width_mm"], row["strength_mm"], row["length_mm"])
            if any(abs(a - b) > 1e-6 * b for a, b in zip(read, (true.width, true.strength, true.length), strict=True)):
                self.misread.append(f"{made.name} {true} read {read} {made.made}")
                continue
            self.read += true.readable
            price = (row["price_minor"], row["currency"], row["pack"])
            if (price[0] >= 0 and true.price is not None and not _same_price(price, true.price)) or (
                price[0] >= 0 and true.price is None and not true.priced and made.made.get("price") != "none"
            ):
                self.misread.append(f"{made.name} {true} priced {price} {made.made}")
            self.prices_read += true.readable and true.priced and true.price is not None and price[0] >= 0


def _same_price(read: tuple[int, str, int], true: tuple[int, str, int]) -> bool:
    """The same price of a piece, in the same currency if the list says one."""
    return read[0] * true[2] == true[0] * read[2] and read[1] in ("", true[1])


def count_of(seeds: range, folder: Path) -> Count:
    count = Count()
    for seed in seeds:
        count.add(made_list(seed), folder)
    return count


@pytest.mark.parametrize("share", range(SHARES))
def test_no_spring_is_misread_and_no_row_is_lost(share: int, tmp_path: Path) -> None:
    each = LISTS // SHARES
    count = count_of(range(share * each, (share + 1) * each), tmp_path)
    assert not count.misread, count.misread[:3]
    assert not count.lost, count.lost[:3]
    assert count.read >= 0.97 * count.readable, (count.read, count.readable, count.unread.most_common(8))
    assert count.prices_read >= 0.97 * count.priced, (count.prices_read, count.priced)
    assert count.rows > 2_000
    assert count.refused > 20, "lists that nobody could read are among them"
