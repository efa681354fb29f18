"""Settings for the whole run, and what is costly to make: made once in each process, never changed by a test.

Books are kept as bytes; a test writes its own copy (`path.write_bytes(demo_bytes)`) and changes that.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

from orderbook.addin.calc.extension import build
from orderbook.book.demo_book import write_demo_book
from orderbook.book.refresh import refresh
from tests.office import Office

settings.register_profile("house", deadline=None, max_examples=60)
settings.register_profile("ci", deadline=None, max_examples=60, derandomize=True)
settings.load_profile("ci" if os.environ.get("CI") else "house")

collect_ignore = [
    "office_driver.py",  # these two run in the office's own Python, which has uno
    "office_windows.py",
    "book/python_script.py",  # a person's script, which wants a book beside it: test_python_script runs it
]


@pytest.fixture(scope="session")
def demo_bytes(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The demo's book as it is first written, no answers in it yet."""
    path = tmp_path_factory.mktemp("demo") / "demo.xlsx"
    write_demo_book(path)
    return path.read_bytes()


@pytest.fixture(scope="session")
def refreshed_demo_bytes(demo_bytes: bytes, tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The demo's book with its answers worked out."""
    path = tmp_path_factory.mktemp("demo") / "demo.xlsx"
    path.write_bytes(demo_bytes)
    refresh(path)
    return path.read_bytes()


@pytest.fixture(scope="session")
def demo_book(refreshed_demo_bytes: bytes, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """The demo's book with its answers, as one file that everybody reads and nobody writes."""
    path = tmp_path_factory.mktemp("demo") / "demo.xlsx"
    path.write_bytes(refreshed_demo_bytes)
    yield path
    assert path.read_bytes() == refreshed_demo_bytes, "a test changed the book that others share"


@pytest.fixture(scope="session")
def office() -> Iterator[Office]:
    """A LibreOffice without the add-in; a test opens, changes and closes its own documents in it."""
    with Office() as found:
        yield found


@pytest.fixture(scope="session")
def office_with_addin(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Office]:
    """A LibreOffice in which the add-in is installed."""
    with Office(build(tmp_path_factory.mktemp("extension") / "orderbook.oxt")) as found:
        yield found
