"""The torque of the springs of a barrel against turns, as a picture to stand inside a page."""

from __future__ import annotations

import io
import re
from collections.abc import Sequence
from typing import Any

import numpy as np

from orderbook.errors import OrderbookError
from orderbook.mechanics.barrel import spring_turns
from orderbook.mechanics.torque import spring_torque
from orderbook.reports.palette import INK, PALE, RUST, STEEL

LINES = (
    (PALE, "-", 1.4),
    (STEEL, "-", 2.4),
    (STEEL, (0, (7, 3)), 1.8),
    (INK, (0, (2, 2)), 1.4),
    (RUST, (0, (1, 1.5)), 1.8),
)
POINTS = 80


def curve(
    bore_mm: float, arbor_mm: float, width_mm: float, strength_mm: float, length_mm: float, **steel: float
) -> tuple[Any, Any] | None:
    """Return turns up from run down and torque in N·mm of a spring in a barrel; nothing if it does not go in.

    Parameters: sizes in mm; steel, `flow_stress_mpa` and `modulus_mpa` as `size` takes them for this barrel.
    """
    try:
        most = float(spring_turns(bore_mm, arbor_mm, strength_mm, length_mm))
        turns = np.linspace(0.0, most, POINTS)
        return turns, spring_torque(bore_mm, arbor_mm, width_mm, strength_mm, length_mm, turns, **steel)
    except OrderbookError:
        return None


def torque_svg(curves: Sequence[tuple[str, Any, Any]], *, label: str) -> str:
    """Draw torque against turns, one line a spring, told apart by dash and weight as well as colour.

    Parameters: curves, (name, turns up from run down, N·mm); label, what the picture shows, for who cannot see it.
    Returns: an <svg> element.
    """
    from matplotlib import rc_context
    from matplotlib.backends.backend_svg import FigureCanvasSVG
    from matplotlib.figure import Figure

    style: Any = {"svg.fonttype": "none", "svg.hashsalt": "torque", "font.family": "sans-serif", "font.size": 9}
    with rc_context(style):
        figure = Figure(figsize=(6.6, 2.4), layout="constrained")
        FigureCanvasSVG(figure)
        axes = figure.add_subplot()
        for (name, turns, torque), (colour, dash, weight) in zip(
            curves, LINES * (len(curves) // len(LINES) + 1), strict=False
        ):
            axes.plot(turns, torque, color=colour, linestyle=dash, linewidth=weight, label=name)
        axes.set(xlabel="turns up from run down", ylabel="torque, N·mm", xlim=(0, None), ylim=(0, None))
        axes.spines[["top", "right"]].set_visible(False)
        axes.grid(color="#E4DFD3", linewidth=0.6)
        figure.legend(loc="outside right upper", frameon=False)
        page = io.StringIO()
        figure.savefig(page, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    return _for_a_page(page.getvalue(), label)


def _for_a_page(svg: str, label: str) -> str:
    """Cut the picture out of its file and name it for a screen reader."""
    import html

    body = svg[svg.index("<svg") :]
    head, rest = body.split(">", 1)
    head = re.sub(r'\s(width|height)="[^"]*"', "", head)
    rest = re.sub(r"<metadata>.*?</metadata>", "", rest, flags=re.DOTALL)
    return f'{head} role="img" aria-label="{html.escape(label)}">{rest}'.strip()
