"""Pictures of torque: springs side by side at the barrel and at the fusee, and drive and load against strength."""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING, Any, Literal

from orderbook.reports.palette import BRASS, INK, PALE, PUMICE, RUST, STEEL, STRAW

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from orderbook.barrel.comparing import Compared, Comparison

# told apart by dash and weight as well as by colour
LINES: tuple[dict[str, Any], ...] = (
    {"color": PALE, "linewidth": 1.6},
    {"color": STEEL, "linewidth": 2.4},
    {"color": STEEL, "linewidth": 1.4, "linestyle": (0, (9, 3))},
    {"color": RUST, "linewidth": 1.6, "linestyle": (0, (1, 2))},
    {"color": PUMICE, "linewidth": 1.4, "linestyle": (0, (3, 2, 1, 2))},
    {"color": INK, "linewidth": 1.2, "linestyle": (0, (5, 3))},
)

DOTS = "dots: begin and end of the run"


def torque_png(comparison: Comparison) -> bytes:
    """Draw the torque at the barrel of every spring against turns up from run down."""
    figure, axes = page("Torque at the barrel")
    _draw_torque(comparison, axes)
    return png(figure, axes, DOTS)


def draw(comparison: Comparison, axes: Axes) -> None:
    """Draw the torque at the barrel of every spring on axes."""
    _draw_torque(comparison, axes)
    axes.set_ylim(bottom=0)
    axes.legend(frameon=False, fontsize=8, title=DOTS, title_fontsize=8, alignment="left")
    axes.spines[["top", "right"]].set_visible(False)


def _draw_torque(comparison: Comparison, axes: Axes) -> None:
    for spring, line in _lines(comparison):
        turns, torque = spring.curve
        axes.plot(turns, torque, label=spring.name, **line)
        begin, end = spring.window
        if end <= spring.turns * 1.001:
            _mark(axes, turns, torque, (begin, end), line["color"])
    axes.set_xlabel("turns up from run down")
    axes.set_ylabel("torque, N·mm (± 30 %, no friction)")


def fusee_png(comparison: Comparison) -> bytes:
    """Draw the torque at the fusee over the run, each spring at its own best set-up."""
    figure, axes = page("Torque at the fusee, each spring at its own best set-up")
    for spring, line in _lines(comparison):
        if spring.at_fusee and spring.eligible:
            label = f"{spring.name}, set-up {spring.set_up_turns:.2f}, evenness {spring.evenness:.2f}"
            axes.plot(*spring.at_fusee, label=label, **line)
    axes.set_xlabel("turns of the fusee from fully wound" if comparison.model.run.fusee else "run, wound to run down")
    axes.set_ylabel("torque, N·mm (± 30 %, no friction)")
    return png(figure, axes, "even power is a level line")


def drive_and_load_png(comparison: Comparison) -> bytes:
    """Draw least and greatest torque of the run against strength: the useful range and the strongest useful spring."""
    sweep = comparison.sweep
    figure, axes = page("What a thicker spring gives over this run")
    low, high = sweep.useful
    axes.axvspan(low, high, facecolor=STRAW, linewidth=0, zorder=0)
    axes.axvline(high, color=BRASS, linewidth=1, zorder=1)
    axes.errorbar([high], [0], xerr=[2 * sweep.strongest_u], color=BRASS, capsize=3, clip_on=False)
    axes.plot(sweep.strength_mm, sweep.load_nmm, label="load: greatest torque", **LINES[3])
    axes.plot(sweep.strength_mm, sweep.drive_nmm, label="drive: least torque", **LINES[1])
    for spring in comparison.springs:
        if spring.drive_nmm > 0:
            axes.plot([spring.strength_mm] * 2, [spring.drive_nmm, spring.load_nmm], "o", color=INK, markersize=4)
    axes.set_xlabel("strength of the strip at half fill, mm")
    axes.set_ylabel("torque, N·mm (± 30 %, no friction)")
    return png(figure, axes, "tinted: useful range; line and ±: strongest useful")


def _lines(comparison: Comparison) -> list[tuple[Compared, dict[str, Any]]]:
    return [(spring, LINES[i % len(LINES)]) for i, spring in enumerate(comparison.springs)]


def _mark(axes: Axes, turns: Any, torque: Any, window: tuple[float, float], color: str) -> None:
    import numpy as np

    axes.plot(window, np.interp(window, turns, torque), "o", color=color, markersize=4.5)


def page(title: str) -> tuple[Figure, Axes]:
    """Begin a picture."""
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    figure = Figure(figsize=(8.4, 4.4), layout="constrained")
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    axes.set_title(title, loc="left", fontsize=11, color=STEEL, fontweight="bold")
    axes.spines[["top", "right"]].set_visible(False)
    return figure, axes


def png(figure: Figure, axes: Axes, legend: str, *, place: Literal["best", "lower right"] = "best") -> bytes:
    """End a picture, with its legend at a place, as a PNG."""
    axes.set_ylim(bottom=0)
    axes.margins(x=0.01)
    if axes.get_legend_handles_labels()[0]:
        axes.legend(frameon=False, fontsize=9, title=legend, title_fontsize=9, alignment="left", loc=place)
    page = BytesIO()
    figure.savefig(page, format="png", dpi=120)
    return page.getvalue()
