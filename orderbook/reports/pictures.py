"""A picture of an answer as a file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from orderbook.errors import error

FORMATS = (".png", ".svg", ".pdf")


def save_picture(draw: Callable[[Any, Any], None], answer: Any, path: Path) -> Path:
    """Draw an answer into a file; its ending says in which format.

    Raises: OrderbookError(picture_format_not_known); OSError if the file cannot be written.
    """
    if path.suffix.casefold() not in FORMATS:
        raise error("picture_format_not_known", where=str(path), saw=path.suffix or "no ending")
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(7.2, 3.6), layout="constrained")
    FigureCanvasAgg(figure)
    draw(answer, figure.add_subplot())
    figure.savefig(path, dpi=150, metadata=_no_date(path))
    return path


def _no_date(path: Path) -> dict[str, Any]:
    """Leave the day out, so that the same answer gives the same file."""
    return {".svg": {"Date": None}, ".pdf": {"CreationDate": None}}.get(path.suffix.casefold(), {})
