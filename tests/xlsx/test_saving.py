"""Saving a file in one step: books that were are kept, a protected one is refused, and a lock is never seen empty."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from orderbook.errors import OrderbookError
from orderbook.xlsx.saving import save, stamp


@pytest.fixture
def book(tmp_path: Path) -> Path:
    path = tmp_path / "book.xlsx"
    path.write_bytes(b"0")
    return path


def put(path: Path, data: bytes) -> None:
    save(path, lambda file: file.write(data) and None, since=stamp(path))


def test_the_three_books_before_are_kept_and_no_more(book: Path) -> None:
    for n in range(1, 6):
        put(book, str(n).encode())
    there = {path.name: path.read_bytes() for path in book.parent.iterdir()}
    assert there == {"book.xlsx": b"5", "book.xlsx.bak": b"4", "book.xlsx.bak2": b"3", "book.xlsx.bak3": b"2"}


def test_a_write_protected_book_is_refused_and_stays(book: Path) -> None:
    book.chmod(0o444)
    with pytest.raises(OrderbookError, match="write-protected") as caught:
        put(book, b"1")
    assert caught.value.code == "book_not_saved"
    assert [path.name for path in book.parent.iterdir()] == ["book.xlsx"]
    assert book.read_bytes() == b"0"


def test_a_link_to_a_book_stays_a_link(book: Path, tmp_path: Path) -> None:
    link = tmp_path / "link.xlsx"
    link.symlink_to(book)
    put(link, b"1")
    assert link.is_symlink()
    assert book.read_bytes() == b"1"


def test_the_lock_of_a_command_that_runs_is_named_and_one_left_behind_is_not_minded(book: Path) -> None:
    lock = book.with_name(".book.xlsx.orderbook-lock")
    lock.write_text(json.dumps({"pid": os.getpid(), "host": os.uname().nodename}))
    with pytest.raises(OrderbookError, match=lock.name):
        put(book, b"1")
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    lock.write_text(json.dumps({"pid": gone.pid, "host": os.uname().nodename}))
    put(book, b"1")
    assert not lock.exists()


def test_the_lock_is_whole_from_the_moment_it_is_there(book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each file that is opened to be written beside the book is looked at: the lock itself is never one of them."""
    lock, opened = ".book.xlsx.orderbook-lock", []
    real = Path.open

    def seen(path: Path, mode: str = "r", *rest: object, **named: object) -> object:
        if any(letter in mode for letter in "wx"):
            opened.append(path.name)
        return real(path, mode, *rest, **named)  # type: ignore[arg-type]

    monkeypatch.setattr(Path, "open", seen)
    held = []
    save(book, lambda file: held.append(json.loads((book.parent / lock).read_text())["pid"]), since=stamp(book))
    assert held == [os.getpid()]
    assert lock not in opened
