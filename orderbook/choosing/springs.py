"""The springs that could be ordered, as plain columns: what each would drive, load and cost."""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray

from orderbook.choosing.belief import CELLS, Floats, cell_edges
from orderbook.errors import error

Whole = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Springs:
    """Columns of equal length, one row a spring.

    `drive` and `load` are ln(index / 100); `price` is what its pack costs (minor units, book's currency) and
    `listed` the same as the supplier prints it (minor units of the supplier's currency: postage goes by it);
    `supplier` counts from 0 into the suppliers' terms; `pieces` is how many springs the pack holds;
    `owned` marks springs in the drawer, which cost only their resale and take neither postage nor time.
    `edge` is the grid edge nearest to each spring's drive: springs are compared to a tenth of a per cent. A spring
    below the grid counts as the weakest that could serve; above it, as serving every need.
    """

    drive: Floats
    load: Floats
    price: Floats
    listed: Floats
    supplier: Whole
    pieces: Whole
    owned: NDArray[np.bool_]
    edge: Whole = field(init=False)

    def __post_init__(self) -> None:
        """Put each spring at the nearest edge of the grid."""
        edges = cell_edges()
        nearest = np.rint((self.drive - edges[0]) / (edges[1] - edges[0]))
        object.__setattr__(self, "edge", np.clip(nearest, 1, CELLS).astype(np.intp))

    def __len__(self) -> int:
        """Number of springs."""
        return len(self.drive)

    def take(self, rows: ArrayLike) -> Springs:
        """Return some of the rows."""
        picked = np.asarray(rows)
        return Springs(*(getattr(self, column.name)[picked] for column in fields(self) if column.init))

    def on_wider_grid(self, cells: int) -> Springs:
        """The springs with their drive moved to the nearest edge of a grid of wider cells."""
        edges = cell_edges()
        nearest = np.rint(self.edge / cells).astype(np.intp) * cells
        return replace(self, drive=edges[np.clip(nearest, cells, CELLS)])


def springs(
    drive_index: ArrayLike,
    load_index: ArrayLike,
    price: ArrayLike,
    *,
    listed: ArrayLike | None = None,
    supplier: ArrayLike | None = None,
    pieces: ArrayLike | None = None,
    owned: ArrayLike | None = None,
) -> Springs:
    """Springs from columns of drive and load index (per cent of the reference) and price.

    Parameters: indices > 0; price in minor units ≥ 0; supplier 0 … ; pieces in a pack ≥ 1; owned true or false.
    Returns: Springs.
    Raises: OrderbookError(code="price_not_sensible" | "index_not_sensible").

    >>> len(springs([76, 91], [80, 99], [1200, 1250]))
    2
    """
    drive, load, paid = (np.atleast_1d(np.asarray(c, dtype=float)) for c in (drive_index, load_index, price))
    rows = len(drive)
    for name, column in (("drive", drive), ("load", load)):
        if bad := np.flatnonzero(~(np.isfinite(column) & (column > 0))).tolist():
            raise error("index_not_sensible", where=f"{name} of spring {bad[0] + 1}", saw=f"{column[bad[0]]}")
    if bad := np.flatnonzero(~(np.isfinite(paid) & (paid >= 0))).tolist():
        raise error("price_not_sensible", where=f"price of spring {bad[0] + 1}", saw=f"{paid[bad[0]]}")
    return Springs(
        np.log(drive / 100),
        np.log(load / 100),
        paid,
        paid if listed is None else np.asarray(listed, dtype=float),
        np.zeros(rows, np.intp) if supplier is None else np.asarray(supplier, dtype=np.intp),
        np.ones(rows, np.intp) if pieces is None else np.asarray(pieces, dtype=np.intp),
        np.zeros(rows, np.bool_) if owned is None else np.asarray(owned, dtype=np.bool_),
    )


def worth_keeping(offered: Springs) -> Whole:
    """Rows left when, at one grid edge and one supplier, a spring with no less load and no lower price goes.

    Exact where postage does not hang on what the order is worth (a dearer spring may reach a free parcel):
    whoever would order the one that goes does no worse with the one that stays.

    >>> worth_keeping(springs([90, 90, 90], [95, 99, 94], [100, 120, 110])).tolist()
    [0, 2]
    """
    order = np.lexsort(
        (np.arange(len(offered)), offered.load, offered.price, offered.pieces, offered.supplier, offered.edge)
    )
    kept: list[int] = []
    last: tuple[int, int, int] = (-1, -1, -1)
    least = np.inf
    for row in order.tolist():
        here = (int(offered.edge[row]), int(offered.supplier[row]), int(offered.pieces[row]))
        if here != last:
            last, least = here, np.inf
        if offered.load[row] < least:
            kept.append(row)
            least = float(offered.load[row])
    return np.array(sorted(kept), dtype=np.intp)


def one_a_cell(offered: Springs, overpower: float, cells: int = 10) -> Whole:
    """Rows of the best spring of each supplier at each edge of a wider grid (10 cells: 1 %).

    Best is the least price and overpower where the need is at the spring's own drive.
    """
    cost = offered.price + overpower * np.maximum(np.expm1(offered.load - offered.drive), 0)
    by_cost = np.argsort(cost, kind="stable")
    cell = offered.on_wider_grid(cells).edge * (int(offered.supplier.max(initial=0)) + 1) + offered.supplier
    _, first = np.unique(cell[by_cost], return_index=True)
    return np.asarray(np.sort(by_cost[first]), dtype=np.intp)
