"""How a supplier's list is read, as its row in Suppliers says: the map of its columns, and its money."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from orderbook.catalogue import find_map
from orderbook.records.rows import Row


def as_suppliers_say(
    lists: Iterable[Any], ways: Mapping[str, Any], suppliers: Iterable[Row], near: Path | None = None
) -> dict[str, Any]:
    """Return how to read one list of a named supplier: with the column map and the currency of its row in Suppliers.

    Parameters: lists; ways, as `read_catalogue` takes them: what they say goes before what the row says; suppliers,
    rows of Suppliers; near, the folder of the table, in which a map is looked for too.
    Raises: OrderbookError(map_not_read) for a map that is named and nowhere.

    >>> from orderbook.records.rows import rows_from
    >>> rows = rows_from("Suppliers", [{"supplier": "Supplier North", "currency": "GBP"}])
    >>> as_suppliers_say(["north.csv"], {"supplier": "supplier north"}, rows)["currency"]
    'GBP'
    """
    files = [Path(one) for one in lists if isinstance(one, (str, Path))]
    named = str(ways.get("supplier") or "").strip().casefold()
    row = next((row for row in suppliers if named and str(row["supplier"] or "").strip().casefold() == named), None)
    if row is None or len(files) != 1:
        return dict(ways)
    found = {name: way for name, way in ways.items() if way is not None}
    if str(row["column_map"] or "").strip() and "column_map" not in found:
        found["column_map"] = find_map(files[0], str(row["column_map"]).strip(), near)
    if row["currency"]:
        found.setdefault("currency", str(row["currency"]).strip().upper())
    return found
