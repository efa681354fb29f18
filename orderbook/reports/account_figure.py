"""A picture of an account: what was paid and what is committed, by category, against the estimate."""

from __future__ import annotations

from typing import TYPE_CHECKING

from orderbook.reports.palette import INK, PALE, STEEL

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from orderbook.records.accounts import Account


def draw(found: Account, axes: Axes) -> None:
    """Draw a bar a category: spent, then committed; the outline behind it is the estimate."""
    names = list(found.by_category)
    sums = [found.by_category[name] for name in names]
    unit = 10 ** len(found.money(1).text.partition(".")[2])
    spent = [one.spent / unit for one in sums]
    committed = [one.committed / unit for one in sums]
    axes.barh(names, [one.estimate / unit for one in sums], height=0.8, fill=False, edgecolor=INK, label="estimate")
    axes.barh(names, spent, height=0.5, color=STEEL, label="paid and worked, less credits")
    axes.barh(names, committed, left=spent, height=0.5, color=PALE, hatch="//", label="committed")
    axes.invert_yaxis()
    axes.set_xlabel(found.currency)
    axes.spines[["top", "right"]].set_visible(False)
    if names:
        axes.legend(frameon=False, fontsize=8)
