"""Stay beside an open book: answers at each save, written when the program lets go of it."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from orderbook.book.refresh import Refreshed, refresh
from orderbook.errors import OrderbookError
from orderbook.xlsx.saving import Stamp, stamp

PAUSE_S = 0.5
WAITING = ("book_open_elsewhere", "book_changed")


def watched(
    path: Path, barrels: Iterable[str] = (), *, goes_on: Callable[[], bool] = lambda: True, pause_s: float = PAUSE_S
) -> Iterator[Refreshed | str]:
    """Yield what refresh finds at each save of a book; a text where something stands in the way.

    While a program holds the book its answers are worked out and shown only; they are written once it is closed.
    """
    names = tuple(barrels)
    seen: Stamp | None = None
    owed = False
    while goes_on():
        now = stamp(path) if path.exists() else None
        if now is not None and (now != seen or (owed and _is_free(path))):
            try:
                done = _once(path, names)
                owed = not done.written
                yield done
            except OrderbookError as problem:
                owed = False
                yield str(problem)
            seen = stamp(path) if path.exists() else None
        time.sleep(pause_s)


def _once(path: Path, names: tuple[str, ...]) -> Refreshed:
    try:
        return refresh(path, names)
    except OrderbookError as problem:
        if problem.code not in WAITING:
            raise
        return refresh(path, names, write=False)


def _is_free(path: Path) -> bool:
    from orderbook.xlsx.saving import refuse_if_open

    try:
        refuse_if_open(path)
    except OrderbookError:
        return False
    return True
