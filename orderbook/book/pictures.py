"""The pictures of springs side by side, as files in a folder of our own."""

from __future__ import annotations

from pathlib import Path

from orderbook.barrel.comparing import Comparison
from orderbook.book.own_folder import fill
from orderbook.reports.torque_figure import drive_and_load_png, fusee_png, torque_png


def pictures_of(comparison: Comparison, into: Path) -> list[Path]:
    """Draw the torque of every spring, and drive and load against strength; for a fusee the torque there too.

    Returns: the pictures, in the folder asked for or the next free one where that holds what is not ours.
    """
    drawn = {"torque.png": torque_png(comparison), "drive_and_load.png": drive_and_load_png(comparison)}
    if comparison.model.run.drive == "fusee":
        drawn["torque_at_fusee.png"] = fusee_png(comparison)
    folder = fill(into, drawn, may_step_aside=True)
    return [folder / name for name in drawn]
