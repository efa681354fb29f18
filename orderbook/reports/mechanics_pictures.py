"""The pictures of the page on mechanics: `python -m orderbook.reports.mechanics_pictures FOLDER` draws them again."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from orderbook.barrel.barrel import barrel_from_texts
from orderbook.barrel.comparing import Comparison, compare
from orderbook.barrel.springs_seen import spring_seen
from orderbook.mechanics.free_shape import ideal, shape_curve, springback
from orderbook.mechanics.torque import FLOW_STRESS_MPA, MODULUS_MPA, spring_slack, spring_torque
from orderbook.reports.torque_figure import LINES, drive_and_load_png, fusee_png, page, png, torque_png

TRIAL = {"bore": ["15.6"], "arbor": ["5.2"], "depth": ["3.02"], "clearance": ["0.12"], "used": ["3.5"]}
SPRING = (15.6, 5.2, 2.9, 0.15, 566.3)


def free_shapes_png() -> bytes:
    """Draw what the free shape does to the torque: set by winding, ideal, and a straight strip."""
    figure, axes = page("One strip, three free shapes")
    bore, arbor, width, strength, length = SPRING
    shapes = {
        "set by winding once (springback)": lambda s: springback(s, arbor, strength, FLOW_STRESS_MPA, MODULUS_MPA),
        "ideal: bent to the elastic limit": lambda s: ideal(s, arbor, strength, FLOW_STRESS_MPA, MODULUS_MPA),
        "straight, could it stay so": lambda s: 0.0 * np.asarray(s),
    }
    for (name, shape), line in zip(shapes.items(), LINES, strict=False):
        curve = shape_curve(bore, arbor, width, strength, length, shape)
        axes.plot(curve.turns, np.maximum(curve.torque_nmm, 0.0), label=name, **line)
    axes.set_xlabel("turns up from run down")
    axes.set_ylabel("torque, N·mm, no friction")
    return png(figure, axes, f"{width:g} × {strength:g} × {length:g} mm in bore {bore:g}, arbor {arbor:g}")


def flow_stress_png() -> bytes:
    """Draw how slack and torque move with the flow stress of the strip."""
    figure, axes = page("What the flow stress of the strip does")
    bore, arbor, width, strength, length = SPRING
    for flow, line in zip((1300.0, 1500.0, 1700.0, 1900.0, 2200.0), LINES, strict=False):
        slack = spring_slack(bore, arbor, strength, length, flow)
        turns = np.concatenate([[0.0], np.linspace(slack, 8.18, 120)])
        torque = spring_torque(bore, arbor, width, strength, length, turns, flow)
        axes.plot(turns, torque, label=f"{flow:,.0f} MPa, slack {slack:.2f} turns", **line)
    axes.set_xlabel("turns up from run down")
    axes.set_ylabel("torque, N·mm, no friction")
    return png(figure, axes, "flow stress")


def pictures() -> dict[str, bytes]:
    """Draw every picture of the page, by file name."""
    sizes = ("2.9 x 0.15 x ?", "2.9 x 0.18 x ?", "2.9 x 0.21 x ?", "2.9 x 0.24 x ?")
    going = _compared({}, sizes)
    fusee = _compared({"drive": ["fusee"]}, ("2.9 x 0.15 x ?", "2.9 x 0.165 x ?", "2.9 x 0.185 x ?"))
    return {
        "free_shapes.png": free_shapes_png(),
        "flow_stress.png": flow_stress_png(),
        "torque.png": torque_png(going),
        "drive_and_load.png": drive_and_load_png(going),
        "torque_at_fusee.png": fusee_png(fusee),
    }


def _compared(more: dict[str, list[str]], springs: tuple[str, ...]) -> Comparison:
    barrel, _ = barrel_from_texts(TRIAL | more)
    return compare(barrel, [spring_seen(text, where=text) for text in springs])


if __name__ == "__main__":
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    for name, drawn in pictures().items():
        (folder / name).write_bytes(drawn)
