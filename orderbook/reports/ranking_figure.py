"""A picture of a ranking: what each spring drives against what it loads, with the first ones named."""

from __future__ import annotations

from typing import TYPE_CHECKING

from orderbook.reports.palette import INK, PUMICE, STEEL

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from orderbook.choosing.ranking import Ranking

NAMED = 5


def draw(ranking: Ranking, axes: Axes) -> None:
    """Draw a cross for each spring, as wide and high as its ±."""
    fits, offer = ranking.considered.offer.fits, ranking.considered.offer
    for one in ranking.ranked:
        drive, load = float(fits.drive_index[one.spring]), float(fits.load_index[one.spring])
        spreads = [[2 * float(u[one.spring])] for u in (fits.drive_index_u, fits.load_index_u)]
        axes.errorbar(
            [drive], [load], xerr=spreads[0], yerr=spreads[1], color=STEEL, ecolor=PUMICE, fmt="o", markersize=4
        )
        if one.rank <= NAMED:
            said = f"{one.rank}: {offer.row(one.spring)['item']}"
            axes.annotate(said, (drive, load), xytext=(4, 4), textcoords="offset points", fontsize=8, color=INK)
    axes.set_xlabel("drive: least torque of the run, % of the strongest useful spring")
    axes.set_ylabel("load: greatest torque, %")
    axes.spines[["top", "right"]].set_visible(False)
