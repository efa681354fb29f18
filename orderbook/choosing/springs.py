"""The springs that could be ordered, as plain columns: what each would drive, load and cost, and how handy it is."""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from orderbook.choosing.belief import CELLS, Floats, cell_edges
from orderbook.errors import error

Whole = NDArray[np.intp]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Springs:
    """Columns of equal length, one row a spring.

    `drive` and `load` are ln(index / 100); `price` is what its pack costs (minor units, book's currency) and
    `listed` the same as the supplier prints it (minor units of the supplier's currency: postage goes by it);
    `supplier` counts from 0 into the suppliers' terms; `pieces` is how many springs the pack holds;
    `owned` marks springs at hand, which cost only their resale and take neither postage nor time.
    `width_mm`, and `lacks`, what it is narrower than it could be, in per cent; `end`, a number for the kind of its
    outer end; `cut` and `new_end` say that the strip is cut and that an end of another kind is made. `stops` marks a
    spring after whose failure nothing stronger is fitted, and `begins` one that may be the first to be fitted.
    `edge` is the grid edge nearest to each spring's drive: springs are compared to a tenth of a per cent. A spring
    below the grid counts as the weakest that could serve; above it, as serving every need.
    """

    drive: Floats
    load: Floats
    price: Floats
    listed: Floats
    supplier: Whole
    pieces: Whole
    owned: Flags
    width_mm: Floats
    lacks: Floats
    end: Whole
    cut: Flags
    new_end: Flags
    stops: Flags
    begins: Flags
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
    width_mm: ArrayLike | None = None,
    lacks: ArrayLike | None = None,
    end: ArrayLike | None = None,
    cut: ArrayLike | None = None,
    new_end: ArrayLike | None = None,
    stops: ArrayLike | None = None,
    begins: ArrayLike | None = None,
) -> Springs:
    """Springs from columns of drive and load index (per cent of the reference) and price.

    Parameters: indices > 0; price in minor units ≥ 0; the others as in `Springs`, where left out: one supplier, one
    piece a pack, none owned, full width, one kind of end, nothing to cut, make or stop at, and any may be the first.
    Returns: Springs.
    Raises: OrderbookError(code="price_not_sensible" | "index_not_sensible").

    >>> len(springs([76, 91], [80, 99], [1200, 1250]))
    2
    """
    drive, load, paid = (np.atleast_1d(np.asarray(c, dtype=float)) for c in (drive_index, load_index, price))
    for name, values in (("drive", drive), ("load", load)):
        if bad := np.flatnonzero(~(np.isfinite(values) & (values > 0))).tolist():
            raise error("index_not_sensible", where=f"{name} of spring {bad[0] + 1}", saw=f"{values[bad[0]]}")
    if bad := np.flatnonzero(~(np.isfinite(paid) & (paid >= 0))).tolist():
        raise error("price_not_sensible", where=f"price of spring {bad[0] + 1}", saw=f"{paid[bad[0]]}")

    def column(given: ArrayLike | None, usual: float, kind: type) -> NDArray[Any]:
        return np.full(len(drive), usual, kind) if given is None else np.asarray(given, dtype=kind)

    return Springs(
        drive=np.log(drive / 100),
        load=np.log(load / 100),
        price=paid,
        listed=paid if listed is None else np.asarray(listed, dtype=float),
        supplier=column(supplier, 0, np.intp),
        pieces=column(pieces, 1, np.intp),
        owned=column(owned, False, np.bool_),
        width_mm=column(width_mm, 0.0, np.float64),
        lacks=column(lacks, 0.0, np.float64),
        end=column(end, 0, np.intp),
        cut=column(cut, False, np.bool_),
        new_end=column(new_end, False, np.bool_),
        stops=column(stops, False, np.bool_),
        begins=column(begins, True, np.bool_),
    )
