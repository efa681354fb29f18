"""A picture of a sizing: the torque of the spring that belongs, beside the strongest useful one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from orderbook.reports.palette import INK, STEEL
from orderbook.reports.torque_picture import curve

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from orderbook.barrel.sizing import Sizing


def draw(sizing: Sizing, axes: Axes) -> None:
    """Draw torque against turns; without the depth of the barrel it is the torque of a strip 1 mm wide."""
    barrel, best, steel = sizing.inputs, sizing.reference, sizing.model.material
    width = barrel["width"].value if "width" in barrel else 1.0
    stress = {"flow_stress_mpa": steel.flow_stress_mpa, "modulus_mpa": steel.modulus_mpa}
    springs: dict[str, tuple[float, float, dict[str, Any]]] = {
        "what belongs": (sizing.strength.value, sizing.length.value, {"color": STEEL, "linewidth": 2}),
        "strongest useful": (best.strength_mm, best.length_mm, {"color": INK, "linewidth": 1, "linestyle": "--"}),
    }
    for name, (strength, length, look) in springs.items():
        if (line := curve(barrel["bore"].value, barrel["arbor"].value, width, strength, length, **stress)) is not None:
            axes.plot(*line, label=f"{name}: {strength:.3f} × {length:.0f}", **look)
    axes.set(xlabel="turns up from run down", xlim=(0, None), ylim=(0, None))
    axes.set_ylabel("torque, N·mm (± 30 %, no friction)" if "width" in barrel else "torque of 1 mm width, N·mm")
    axes.spines[["top", "right"]].set_visible(False)
    axes.legend(frameon=False, fontsize=8)
