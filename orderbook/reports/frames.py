"""JSON rows of an answer as a pandas data frame: money as numbers, what is not known as missing."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pandas import DataFrame

# text in JSON, so that no penny is lost on the way; a number in a frame
MONEY = (
    "price", "price_each", "price_a_pack", "listed_price", "cost", "cost_share", "goods", "postage", "postage_share",
    "tax", "total", "estimate", "committed", "paid", "credit", "labour", "balance", "amount",
)  # fmt: skip


def frame_of(rows: Iterable[Mapping[str, Any]], columns: Iterable[str] = ()) -> DataFrame:
    """Return rows as a data frame, the columns named first before the others; parts of a cell become columns.

    >>> frame_of([{"item": "a", "price": "6.50", "parts": {"x": 1}}, {"item": "b", "price": ""}], ["item"])
      item  price  parts_x
    0    a    6.5      1.0
    1    b    NaN      NaN
    """
    import pandas as pd

    frame = pd.DataFrame([_flat(row) for row in rows])
    first = [name for name in columns if name in frame.columns or frame.empty]
    frame = frame.reindex(columns=[*first, *(name for name in frame.columns if name not in first)])
    for name in [name for name in frame.columns if name in MONEY]:
        frame[name] = pd.to_numeric(frame[name].replace("", None))
    return frame


def _flat(row: Mapping[str, Any]) -> dict[str, Any]:
    flat: dict[str, Any] = {}
    for key, value in row.items():
        flat |= {f"{key}_{part}": one for part, one in value.items()} if isinstance(value, dict) else {key: value}
    return flat
