"""Small invented lists for the tests: three springs that are known in mm, written the way a test asks for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple

import pytest

from orderbook.catalogue import CatalogueReading, read_catalogue
from orderbook.errors import OrderbookError

INCH, LIGNE = 25.4, 1000 / 443.296


class Spring(NamedTuple):
    item: str
    width: float
    strength: float
    length: float


WATCH = (Spring("A-1", 2.5, 0.16, 340), Spring("A-2", 1.8, 0.11, 300), Spring("A-3", 2.1, 0.14, 380))
CLOCK = (Spring("C-1", 18, 0.40, 1500), Spring("C-2", 35, 0.45, 2250), Spring("C-3", 22, 0.36, 1750))


def listed(folder: Path, text: str | bytes, name: str = "list.csv") -> Path:
    path = folder / name
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    return path


def written(
    headings: Sequence[str],
    springs: Sequence[Spring] = WATCH,
    factors: Sequence[float] = (1, 1, 1),
    rows_between: Sequence[str] = (),
    title: Sequence[str] = (),
    number: Callable[[float], str] = lambda mm: f"{mm:.10g}",
) -> str:
    """A list with semicolons: item and three sizes, each in a unit of so many mm."""
    lines = [*title, ";".join(headings), *rows_between]
    for spring in springs:
        sizes = (number(mm / factor) for mm, factor in zip(spring[1:], factors, strict=True))
        lines.append(";".join([spring.item, *sizes]))
    return "\n".join(lines) + "\n"


def springs_of(reading: CatalogueReading) -> list[Spring]:
    c = reading.catalogue
    return [Spring(*row) for row in zip(c.item.tolist(), c.width_mm, c.strength_mm, c.length_mm, strict=True)]


def assert_reads(path: Path, springs: Sequence[Spring] = WATCH, **ways: object) -> CatalogueReading:
    reading = read_catalogue(path, **ways)  # type: ignore[arg-type]
    found = springs_of(reading)
    assert [s.item for s in found] == [s.item for s in springs]
    for read, true in zip(found, springs, strict=True):
        assert read[1:] == pytest.approx(true[1:], rel=2e-4), reading.columns
    return reading


def refusal(path: Path, **ways: object) -> OrderbookError:
    reading = refusal_or_reading(path, **ways)
    assert isinstance(reading, OrderbookError), f"read as {springs_of(reading)}"
    return reading


def refusal_or_reading(path: Path, **ways: object) -> OrderbookError | CatalogueReading:
    """What was read, or why it was refused; a refusal names no flag."""
    try:
        return read_catalogue(path, **ways)  # type: ignore[arg-type]
    except OrderbookError as problem:
        refused = problem
    assert "--" not in str(refused)
    return refused


def misread(path: Path) -> list[Spring]:
    """The springs of a list that should give none."""
    found = refusal_or_reading(path)
    return [] if isinstance(found, OrderbookError) else springs_of(found)


def price_of(reading: CatalogueReading, item: str) -> tuple[int, str, int]:
    """Price in minor units, currency and pieces."""
    at = reading.catalogue.item.tolist().index(item)
    row = reading.catalogue.row(at)
    return row["price_minor"], row["currency"], row["pack"]


def codes(reading: CatalogueReading) -> set[str]:
    return {found.code for found in reading.findings}
