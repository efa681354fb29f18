"""What is going on, on stderr of a terminal and nowhere else, and gone when it is over."""

from __future__ import annotations

import sys
import threading
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

import click

MEGABYTE = 1_000_000
SOON = 1.0  # seconds after which there is something to be said
EVERY = 0.5


class ListProgress:
    """Says how far the reading of lists has come: in seconds, and in megabytes where they are counted."""

    def __init__(self, lists: Sequence[Path]) -> None:
        """Take the lists to be read."""
        self._name = lists[0].name if len(lists) == 1 else f"{len(lists)} lists"
        self._counted = ""
        self._begin = time.monotonic()
        self._shown = 0
        self._over = threading.Event()

    def __call__(self, done: int, size: int) -> None:
        """Take the bytes done and the bytes there are; a packed list unpacks to more than it holds."""
        of = f" of {size / MEGABYTE:.0f}" if done <= size else ""
        self._counted = f", {done / MEGABYTE:.0f}{of} MB"

    def line(self) -> str:
        """The line shown now."""
        return f"Reading {self._name}{self._counted}: {time.monotonic() - self._begin:.0f} s"

    def show(self) -> None:
        """Show the line again and again until it is over, then wipe it."""
        wait = SOON
        while not self._over.wait(wait):
            line, wait = self.line(), EVERY
            click.echo("\r" + line.ljust(self._shown), err=True, nl=False)
            self._shown = len(line)
        if self._shown:
            click.echo("\r" + " " * self._shown + "\r", err=True, nl=False)

    def end(self) -> None:
        """Say no more."""
        self._over.set()


@contextmanager
def shown_reading(lists: Sequence[Path]) -> Iterator[ListProgress]:
    """Show on a terminal, while the block runs, that lists are being read."""
    reading = ListProgress(lists)
    if not sys.stderr.isatty():
        yield reading
        return
    shows = threading.Thread(target=reading.show, daemon=True)
    shows.start()
    try:
        yield reading
    finally:
        reading.end()
        shows.join()
