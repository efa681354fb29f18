"""Makes a great many cells at once without the collector walking over all of them again and again."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def many_cells() -> Iterator[None]:
    """Hold the collector of unreachable cycles still; cells make none, and a large book takes a third less time."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
