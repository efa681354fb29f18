"""The CSV files that are written while lists are read: rejects of each list, and springs if asked for."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import ExitStack, contextmanager
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from orderbook.catalogue import CatalogueReading

Write = Callable[[Iterable[list[str]]], None]
TERMINATED = 128 + signal.SIGTERM


class ListFiles:
    """Takes readings one after the other; no file is in its place before the last one is written whole."""

    def __init__(self, lists: Sequence[Path], springs: Path | None) -> None:
        """Look at what is there already.

        Raises: OrderbookError(file_is_not_ours) if a file of someone else's is in the way.
        """
        from orderbook.catalogue.writing import CANONICAL, REJECTS, refuse_others

        self._files = ExitStack()
        self._springs = springs
        self._lists = list(dict.fromkeys(path.name for path in lists))
        self._rejects: dict[str, Write] = {}
        self._write: Write | None = None
        self.rejected: list[Path] = []
        if springs is not None:
            refuse_others(springs, CANONICAL)
        for name in self._lists:
            refuse_others(_rejects(name), REJECTS)

    def __enter__(self) -> ListFiles:
        """Begin the files that are there already, so that they say nothing old."""
        from orderbook.catalogue.writing import CANONICAL, csv_file

        self._files.enter_context(ended_in_order())
        if self._springs is not None:
            self._write = self._files.enter_context(csv_file(self._springs, CANONICAL))
        for name in self._lists:
            if _rejects(name).exists():
                self._begin_rejects(name)
        return self

    def __exit__(self, *stopped: object) -> None:
        """Put the files in their place, or leave everything as it was if the reading was stopped."""
        self._files.__exit__(*stopped)  # type: ignore[arg-type]

    def take(self, reading: CatalogueReading) -> None:
        """Write the springs and the rejects of a reading."""
        from orderbook.catalogue.writing import canonical_rows, reject_rows

        if self._write is not None:
            self._write(canonical_rows(reading.catalogue))
        for name, own in groupby(reading.rejects, key=lambda reject: self._list_of(reject.file)):
            if name not in self._rejects:
                self._begin_rejects(name)
            if _rejects(name) not in self.rejected:
                self.rejected.append(_rejects(name))
            self._rejects[name](reject_rows(own))

    def told(self) -> list[str]:
        """Where the rejects are."""
        return [f"Rows that cannot be used, with their reasons: {place}" for place in self.rejected]

    def _list_of(self, label: str) -> str:
        """The list a row is of; a row of one of several sheets has the sheet's name behind the list's."""
        return next((name for name in self._lists if label.startswith(f"{name}: ")), label)

    def _begin_rejects(self, name: str) -> None:
        from orderbook.catalogue.writing import REJECTS, csv_file

        self._rejects[name] = self._files.enter_context(csv_file(_rejects(name), REJECTS))


@contextmanager
def ended_in_order() -> Iterator[None]:
    """While files are being written, let a process that is told to end clear up what is half done first."""
    if threading.current_thread() is not threading.main_thread():
        yield  # only the main thread may say what a signal does
        return
    before = signal.signal(signal.SIGTERM, _end)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def _end(*_: object) -> None:
    raise SystemExit(TERMINATED)


def _rejects(name: str) -> Path:
    return Path(f"{name}.rejects.csv")
