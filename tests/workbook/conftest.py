"""What several tests of the workbook share."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from orderbook.desk.demo_book import write_demo_book
from orderbook.desk.refresh import refresh
from tests.office import Office


@pytest.fixture(scope="session")
def office() -> Iterator[Office]:
    with Office() as found:
        yield found


@pytest.fixture(scope="session")
def demo_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's book with its answers worked out, made once; tests change documents, not the file."""
    path = tmp_path_factory.mktemp("demo") / "demo.xlsx"
    write_demo_book(path)
    refresh(path)
    return path
