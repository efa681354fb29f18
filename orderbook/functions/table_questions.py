"""From the tables of a book to what the verbs ask for: a barrel, a catalogue, wishes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from orderbook.barrel.barrel import Barrel, barrel_from_texts
from orderbook.catalogue import Catalogue
from orderbook.choosing.options import Wishes, drawer_from_rows, suppliers_from_rows, weights_from_table
from orderbook.errors import Finding, error
from orderbook.functions.table_rows import (
    Range,
    columns_in,
    day,
    is_empty,
    positive,
    rows_in,
    shows_error,
    text,
    without_holes,
)
from orderbook.measures import Measured
from orderbook.measures.exchange import Rates
from orderbook.measures.money import minor_digits

Row = Mapping[str, Any]
MEASURED = ("bore", "arbor", "depth", "barrel_outside", "chain_height")
# column of Barrels → reading of the same meaning
SAID = {
    "train": "train", "drive": "drive", "ratchet_teeth": "ratchet_teeth", "turns_asked": "turns", "turns_used": "used",
    "run_hours": "hours", "wheels": "wheels", "clearance_mm": "clearance", "fill": "fill", "set_up_turns": "set_up",
    "fusee": "fusee", "material": "material", "free_shape": "free",
}  # fmt: skip
FITTED = ("fitted_width_mm", "fitted_strength_mm", "fitted_length_mm")


def barrel_of(
    barrel_id: str | float, barrels: Range, trials: Range | None = None
) -> tuple[Barrel, tuple[Finding, ...]]:
    """Return one barrel of the table, with the springs tried in it.

    Bore, arbor and depth are the means with their ± that the table works out of the readings.
    Raises: OrderbookError(barrel_not_there), or of a cell that cannot be read.
    """
    wanted = text({"barrel": barrel_id}, "barrel")
    found = [
        row for row in rows_in("Barrels", barrels, "barrels") if text(row, "barrel").casefold() == wanted.casefold()
    ]
    if not found:
        raise error("barrel_not_there", where="barrel_id", saw=f"{wanted!r} is not in the table")
    return barrel_from_row(found[0], [row for row in rows_in("Trials", trials, "trials") if _is_of(row, wanted)])


def barrel_from_row(row: Row, trials: Sequence[Row] = ()) -> tuple[Barrel, tuple[Finding, ...]]:
    """Read one row of Barrels, and the rows of Trials of that barrel."""
    texts = {word: [text(row, key)] for key, word in SAID.items() if text(row, key)}
    if text(row, "stop_work").casefold() == "yes":
        texts["stop_work"] = ["yes"]
    texts["rod"] = [piece for piece in text(row, "rod_test").split(";") if piece.strip()]
    texts["rod"] += [piece for trial in trials for piece in text(trial, "rod").split(";") if piece.strip()]
    texts["original"] = [_strip(row, FITTED)] if positive(row, "fitted_strength_mm") else []
    texts["tried"] = [f"{_strip(trial)}: {_verdict(trial)}" for trial in trials if positive(trial, "strength_mm")]
    texts |= _set_up(row, texts)
    barrel, findings = barrel_from_texts(texts)
    measured: dict[str, Any] = {name: found for name in MEASURED if (found := _measured(row, name))}
    return replace(barrel, **measured), findings


def was_sent(barrel_id: str | float, trials: Range | None = None) -> bool:
    """Return whether an ordered spring (`O-…`) was tried in a barrel: another order then costs the wait."""
    wanted = text({"barrel": barrel_id}, "barrel")
    mine = (row for row in rows_in("Trials", trials, "trials") if _is_of(row, wanted))
    return any(text(row, "order").upper().startswith("O-") for row in mine)


def _is_of(trial: Row, barrel: str) -> bool:
    return text(trial, "barrel").casefold() == barrel.casefold() and not is_empty(trial.get("verdict"))


def _measured(row: Row, name: str) -> Measured | None:
    value = positive(row, f"{name}_mm")
    half_width = positive(row, f"{name}_pm_mm")
    return None if value is None else Measured(value, (half_width or 0.0) / 2, "mean of the readings")


def _set_up(row: Row, texts: Mapping[str, list[str]]) -> dict[str, list[str]]:
    """Turn clicks counted at the let-down into turns; turns that are given outweigh them."""
    clicks, teeth = positive(row, "set_up_clicks"), positive(row, "ratchet_teeth")
    return {"set_up": [f"{clicks / teeth:.6g}"]} if clicks and teeth and "set_up" not in texts else {}


def _strip(row: Row, keys: Sequence[str] = ("width_mm", "strength_mm", "length_mm")) -> str:
    width, strength, length = (positive(row, key) for key in keys)
    return " x ".join("?" if size is None else f"{size:.9g}" for size in (width, strength, length))


def _verdict(trial: Row) -> str:
    verdict = text(trial, "verdict")
    if verdict.casefold() != "stopped":
        return verdict
    for key, unit in (("stopped_turns", "turns"), ("stopped_hours", "hours")):
        if after := text(trial, key):
            return f"stopped after {after} {unit}"
    return verdict


def catalogue_of(cells: Range) -> tuple[Catalogue, tuple[str, ...]]:
    """Return the springs of a range, and a line for each row that could not be used.

    Prices are those of a pack, in the currency beside them.
    """
    columns = columns_in("Catalogue", cells, "catalogue")
    count = len(columns["item"])
    sizes = {key: _numbers(columns[key]) for key in ("width_mm", "strength_mm", "length_mm")}
    fine = np.all([np.isfinite(values) & (values > 0) for values in sizes.values()], axis=0)
    left_out = np.array(
        [text({"": v}, "").casefold() == "yes" for v in columns.get("leave_out", [""] * count)], dtype=bool
    )
    whole = _without_errors(columns, count)
    rejects = tuple(
        f"{text({'': columns['item'][n]}, '')}: {'a size is not a number' if whole[n] else 'a cell shows an error'}"
        for n in np.flatnonzero(~(fine & whole) & ~left_out)
    )
    fine &= whole
    texts = {
        key: _texts(columns.get(key), count) for key in ("supplier", "item", "end", "material", "currency", "file")
    }
    texts["currency"] = [c.upper() if ok else "" for c, ok in zip(texts["currency"], whole, strict=True)]
    springs = Catalogue.of(
        **texts,
        **{key: np.where(fine, values, 1.0) for key, values in sizes.items()},
        price_minor=_minor(columns.get("price"), texts["currency"]),
        pack=_counts(columns.get("pack"), count, 1),
        stock=_counts(columns.get("stock"), count, -1, least=0),
        line=_counts(columns.get("line"), count, 0),
    )
    return springs.take(fine & ~left_out), rejects


def _without_errors(columns: Mapping[str, Sequence[Any]], count: int) -> np.ndarray[Any, np.dtype[np.bool_]]:
    """Mark the rows in which no cell shows an error of the worksheet."""
    without = np.ones(count, dtype=bool)
    for values in columns.values():
        without[[n for n, value in enumerate(values) if shows_error(value)]] = False
    return without


def _numbers(values: Sequence[Any]) -> np.ndarray[Any, np.dtype[np.float64]]:
    return np.array([v if type(v) is float or type(v) is int else np.nan for v in values], dtype=float)


def _texts(values: Sequence[Any] | None, count: int) -> list[str]:
    return [v if type(v) is str else text({"": v}, "") for v in values] if values is not None else [""] * count


def _counts(
    values: Sequence[Any] | None, count: int, missing: int, least: int = 1
) -> np.ndarray[Any, np.dtype[np.int64]]:
    numbers = _numbers(values) if values is not None else np.full(count, np.nan)
    return np.where(numbers >= least, np.nan_to_num(numbers), missing).astype(np.int64)


def _minor(values: Sequence[Any] | None, currencies: Sequence[str]) -> np.ndarray[Any, np.dtype[np.int64]]:
    """Prices in whole minor units, -1 where there is none; a cell holds a float, its nearest minor unit is meant."""
    if values is None:
        return np.full(len(currencies), -1)
    scale = {c: 10 ** minor_digits(c, where="catalogue, currency") if c else 100 for c in set(currencies)}
    prices = _numbers(values) * np.array([scale[c] for c in currencies], dtype=float)
    return np.where(np.isfinite(prices) & (prices >= 0), np.rint(np.nan_to_num(prices)), -1).astype(np.int64)


def wishes_of(
    suppliers: Range | None = None,
    rates: Range | None = None,
    drawer: Range | None = None,
    weights: Range | None = None,
    currency: str | float = "",
    **more: Any,
) -> Wishes:
    """Return what the tables say of terms, rates, owned springs and weights.

    The book's currency, unless given, is left to the verb: the commonest among the springs that go in.
    """
    own = text({"": currency}, "").upper()
    rate_rows = [{**{k: text(r, k) for k in ("currency", "rate", "source")}, "date": day(r, "date")}
                 for r in rows_in("Rates", rates, "rates")]  # fmt: skip
    terms = [row for row in _terms(suppliers) if row["currency"]]
    weighed, weighed_in = weights_from_table(_weights(weights), where="weights")
    return Wishes(
        weights=weighed,
        weights_currency=weighed_in,
        currency=own,
        rates=Rates.from_rows(own, rate_rows, where="rates") if rate_rows else None,
        suppliers=suppliers_from_rows(terms, where="suppliers"),
        drawer=drawer_from_rows(_owned(drawer), where="drawer"),
        **more,
    )


def _terms(suppliers: Range | None) -> list[dict[str, str]]:
    keys = ("supplier", "currency", "postage", "free_above", "minimum_order", "lead_days")
    return without_holes(rows_in("Suppliers", suppliers, "suppliers"), keys)


def _owned(drawer: Range | None) -> list[dict[str, str]]:
    """Springs of the drawer that are still there and have all three sizes; their label is their number.

    Of one that lies in the drawer its origin is told, since a new strip is known better than an old one.
    """
    keys = ("drawer", "width_mm", "strength_mm", "length_mm", "price", "currency", "state", "origin")
    rows = without_holes(rows_in("Drawer", drawer, "drawer"), keys)
    whole = [row for row in rows if all(row[key] for key in ("width_mm", "strength_mm", "length_mm"))]
    return [{**row, "label": row["drawer"], "state": _state(row)} for row in whole]


def _state(row: Mapping[str, str]) -> str:
    return row["origin"] if row["state"].casefold() in ("", "in drawer") else row["state"]


def _weights(weights: Range | None) -> dict[str, Any]:
    """Weights by name; the unit `median prices` and `of 1` are the usual ones, a currency is that currency."""
    rows = rows_in("Weights", weights, "weights")
    table: dict[str, Any] = {text(row, "weight").casefold(): text(row, "value") for row in rows if text(row, "value")}
    units = {text(row, "unit").upper() for row in rows if len(text(row, "unit")) == 3}
    if len(units) > 1:
        raise error("weight_not_sensible", where="weights, unit", saw=" and ".join(sorted(units)))
    return table | ({"currency": units.pop()} if units else {})
