"""The picture of a graded order: torque of each stage against turns, with the working window."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from orderbook.reports.palette import BRASS, INK, PALE, PUMICE, RUST, STEEL, STRAW
from orderbook.reports.torque_figure import page, png

LOOKS: dict[str, dict[str, Any]] = {
    "reference": {"color": INK, "linewidth": 1.0, "linestyle": (0, (5, 3))},
    "stage 1": {"color": PALE, "linewidth": 1.6},
    "stage 2": {"color": STEEL, "linewidth": 2.4},
    "stage 3": {"color": STEEL, "linewidth": 1.4, "linestyle": (0, (9, 3))},
    "fitted": {"color": RUST, "linewidth": 1.6, "linestyle": (0, (1, 2))},
}  # told apart by dash and weight as well as by colour
OTHER: dict[str, Any] = {"color": PUMICE, "linewidth": 1.2, "linestyle": (0, (3, 2, 1, 2))}


def stages_png(
    title: str,
    turns: Sequence[float],
    torque_nmm: Mapping[str, Sequence[float]],
    window: tuple[float, float],
    labels: Mapping[str, str],
) -> bytes:
    """Draw torque in N·mm against turns up from run down, one line a spring, and return a PNG.

    Parameters: torque_nmm by name, each as long as `turns` or shorter where the spring is fully wound earlier;
    window in turns; labels, what the legend says of each name.
    """
    figure, axes = page(title)
    axes.axvspan(*window, facecolor=STRAW, linewidth=0, zorder=0)
    for edge in window:
        axes.axvline(edge, color=BRASS, linewidth=1, zorder=1)
    for name, values in torque_nmm.items():
        axes.plot(turns[: len(values)], values, label=labels.get(name, name), **LOOKS.get(name, OTHER))
    axes.set_xlabel("turns up from run down")
    axes.set_ylabel("torque at the barrel, N·mm (± 30 %, no friction)")
    axes.set_xlim(left=0)
    return png(figure, axes, "between the lines: the working window", place="lower right")
