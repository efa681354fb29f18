"""A picture of what is believed about the need: before and after what was tried, with the stages marked."""

from __future__ import annotations

from typing import TYPE_CHECKING

from orderbook.reports.palette import INK, PALE, PUMICE, RUST, STEEL

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from orderbook.choosing.grading import Grading


def draw(grading: Grading, axes: Axes) -> None:
    """Draw the chance of each need before and after what was tried, and the stages where they drive."""
    index, before, after = zip(*grading.belief_points(), strict=True)
    axes.plot(index, before, color=PALE, linestyle="--", linewidth=1.25, label="before any trial")
    axes.plot(index, after, color=STEEL, linewidth=2, label="after what was tried")
    top = max(*before, *after)
    for number, stage in enumerate(grading.fittings, 1):
        _mark(axes, grading, number, stage.row, top)
    for one in grading.considered.seen:
        at = 100 * 2.718281828459045**one.at
        axes.plot([at], [0], marker="^", color=RUST, clip_on=False, markersize=8, linestyle="none")
        axes.annotate(one.kind, (at, 0.03 * top), color=RUST, fontsize=8, ha="center", rotation=90, va="bottom")
    axes.set(xlim=(35, 165), ylim=(0, 1.28 * top), xlabel="drive index needed, % of the strongest useful spring")
    axes.set_yticks([])
    axes.set_ylabel("how likely")
    for side in ("top", "right", "left"):
        axes.spines[side].set_visible(False)
    axes.legend(frameon=False, fontsize=8, loc="upper right")


def _mark(axes: Axes, grading: Grading, number: int, row: int, top: float) -> None:
    """A stage: a line at its drive, a band of its ±, its number and item above."""
    fits = grading.considered.offer.fits
    drive, spread = float(fits.drive_index[row]), 2 * float(fits.drive_index_u[row])
    level = (1.04 + 0.08 * ((number - 1) % 3)) * top
    axes.axvline(drive, ymax=level / (1.28 * top), color=INK, linewidth=1)
    axes.plot([drive - spread, drive + spread], [level, level], color=PUMICE, linewidth=1)
    item = grading.considered.offer.row(row)["item"]
    axes.annotate(f"{number}: {item}", (drive, level), xytext=(3, 2), textcoords="offset points", fontsize=8, color=INK)
