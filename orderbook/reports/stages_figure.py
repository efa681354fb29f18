"""The picture of a graded order: torque of each stage against turns, with the working window."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from io import BytesIO
from typing import Any

LOOKS: dict[str, dict[str, Any]] = {
    "reference": {"color": "#26231F", "linewidth": 1.0, "linestyle": (0, (5, 3))},
    "stage 1": {"color": "#6F8BA8", "linewidth": 1.6},
    "stage 2": {"color": "#27486B", "linewidth": 2.4},
    "stage 3": {"color": "#27486B", "linewidth": 1.4, "linestyle": (0, (9, 3))},
    "fitted": {"color": "#93391C", "linewidth": 1.6, "linestyle": (0, (1, 2))},
}  # told apart by dash and weight as well as by colour
OTHER: dict[str, Any] = {"color": "#635E55", "linewidth": 1.2, "linestyle": (0, (3, 2, 1, 2))}


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
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(8.4, 4.4), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    axes.axvspan(*window, facecolor="#FBF6E6", linewidth=0, zorder=0)
    for edge in window:
        axes.axvline(edge, color="#9A7A30", linewidth=1, zorder=1)
    for name, values in torque_nmm.items():
        axes.plot(turns[: len(values)], values, label=labels.get(name, name), **LOOKS.get(name, OTHER))
    axes.set_xlabel("turns up from run down")
    axes.set_ylabel("torque at the barrel, N·mm (± 30 %, no friction)")
    axes.set_xlim(left=0)
    axes.set_ylim(bottom=0)
    axes.set_title(title, loc="left", fontsize=11, color="#27486B", fontweight="bold")
    axes.spines[["top", "right"]].set_visible(False)
    axes.legend(
        frameon=False, fontsize=9, loc="lower right", title="between the lines: the working window", title_fontsize=9
    )
    page = BytesIO()
    figure.savefig(page, format="png", dpi=120)
    return page.getvalue()
