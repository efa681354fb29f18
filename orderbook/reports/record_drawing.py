"""The torque of the springs that were tried in a barrel, drawn for the record."""

from __future__ import annotations

from orderbook.answers.record_data import BarrelStory
from orderbook.reports.record_blocks import Drawing
from orderbook.reports.torque_picture import curve, torque_svg


def drawing(told: BarrelStory) -> Drawing | None:
    """Draw the springs of which the size is known, in a barrel of which bore and arbor were read."""
    bore, arbor = told.mean("bore"), told.mean("arbor")
    if bore is None or arbor is None:
        return None
    drawn, steel = [], told.steel
    for t in {t.name: t for t in told.tried if t.width_mm and t.strength_mm and t.length_mm}.values():
        sizes = (t.width_mm or 0, t.strength_mm or 0, t.length_mm or 0)
        line = curve(bore, arbor, *sizes, flow_stress_mpa=steel.flow_stress_mpa, modulus_mpa=steel.modulus_mpa)
        if line is not None:
            drawn.append((f"{t.name}: {t.strength_mm:g} mm, {t.trial.verdict}", *line))
    if not drawn:
        return None
    most = [
        f"{name} reaches {float(torque[-1]):.0f} N·mm after {float(turns[-1]):.1f} turns"
        for name, turns, torque in drawn
    ]
    words = "Torque at the barrel against turns from run down, worked out without friction. " + "; ".join(most) + "."
    return Drawing(torque_svg(drawn, label=words), words)
