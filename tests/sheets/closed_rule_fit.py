"""Where the coefficients of the closed rule come from: random barrels, the model's own answers, least squares.

python -m tests.sheets.closed_rule_fit        # some minutes; prints what `mechanics.closed_rule` holds
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from orderbook.barrel.barrel import Barrel
from orderbook.barrel.modelling import model_of
from orderbook.errors import OrderbookError
from orderbook.mechanics.barrel import band_growth, spring_length
from orderbook.mechanics.closed_rule import FITTED_DRIVE, Kept
from orderbook.mechanics.drive import least_torque

Array = npt.NDArray[np.float64]
PARTS = np.linspace(0.5, 1.0, 26)


@dataclass(frozen=True, slots=True)
class Known:
    """One random barrel and what the model says of it: strengths strongest useful and as fitted, drives of PARTS."""

    bore_mm: float
    arbor_mm: float
    turns: float  # used, with stop work and the set-up
    fill: float
    strongest_mm: float
    drives: Array  # of PARTS of that strength, as shares of its drive

    @property
    def share(self) -> float:
        """Part of the strongest useful strength that drives what makers fitted."""
        return float(np.interp(FITTED_DRIVE, self.drives, PARTS))


def barrels(kept: Kept, count: int, seed: int) -> list[Known]:
    """Draw barrels of watches and clocks and ask the model for each; some ask too many turns, and are drawn again."""
    draw = np.random.default_rng(seed)
    found: list[Known] = []
    while len(found) < count:
        bore = float(np.exp(draw.uniform(np.log(8), np.log(65))))
        arbor = bore * float(draw.uniform(0.24, 0.42))
        depth = bore * float(draw.uniform(0.12, 0.3) if bore < 24 else draw.uniform(0.35, 1.1))
        used = float(draw.uniform(2.5, 9.5 if kept == "fusee" else 8.0))
        fill = float(draw.choice([0.5, 0.5, 0.5, 0.55, 0.6, 0.45]))
        set_up = float(draw.choice([0.25, 0.5, 0.5, 0.75, 1.0, 1.5])) if kept == "stop work" else None
        drive = "fusee" if kept == "fusee" else "going"
        try:
            barrel = Barrel(bore=bore, arbor=arbor, depth=depth, used=used, fill=fill, drive=drive, set_up=set_up,
                            stop_work=kept == "stop work")  # fmt: skip
            model = model_of(barrel)
        except OrderbookError:
            continue
        best = model.reference
        strengths = PARTS * best.strength_mm
        lengths = spring_length(bore, arbor, strengths, fill)
        run = replace(model.run, used_turns=np.full(len(PARTS), used))
        steel = model.material
        torque = least_torque(bore, arbor, strengths, lengths, run, steel.flow_stress_mpa, steel.modulus_mpa)
        shares = torque * best.width_mm / best.drive_nmm
        found.append(Known(bore, arbor, used + (set_up or 0.0), fill, best.strength_mm, shares))
    return found


def fitted(terms: Array, wanted: Array, passes: int) -> Array:
    """Least squares of the relative error; each further pass leaves out the few that lie far off."""
    kept = np.full(len(wanted), True)
    for _ in range(passes):
        found, *_ = np.linalg.lstsq(terms[kept] / wanted[kept, None], np.ones(int(kept.sum())), rcond=None)
        off = np.abs(terms @ found / wanted - 1)
        kept = off < 4 * np.median(off)
    return np.asarray(found)


def main() -> None:
    """Print the coefficients and how far off they are over the barrels they were fitted to."""
    for kept, count in (("going", 300), ("stop work", 300), ("fusee", 160)):
        known = barrels(kept, count, 1)  # type: ignore[arg-type]
        bore, arbor, u, fill, strongest, share = np.array(
            [(k.bore_mm, k.arbor_mm, k.turns, k.fill, k.strongest_mm, k.share) for k in known]
        ).T
        a, one = arbor / bore, np.ones(len(known))
        turns = band_growth(bore, arbor, fill) / strongest
        for name, terms, wanted, passes in (
            ("turns", np.stack([one, u, a, u * a, u * u, a * a, fill - 0.5], 1), turns, 1),
            # with stop work a few barrels drive almost the same with any strength: they say nothing of the share
            ("share", np.stack([one, u, a], 1), share, 3),
        ):
            found = fitted(terms, wanted, passes)
            off = np.abs(terms @ found / wanted - 1)
            said = f"off {np.percentile(off, 95):.1%} for 95 of 100, {off.max():.1%} at worst"
            print(f"{kept}, {name}: ({', '.join(f'{c:.4g}' for c in found)})   {said}", flush=True)


if __name__ == "__main__":
    main()
