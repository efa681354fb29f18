"""Across the strip: a narrow one curls as it is bent, a wide one cannot, which makes it stiffer and stronger.

Bent to a radius ρ along its length, a strip would take the radius −ρ/ν across it. That would lift its edges off the
cylinder by more than its strength, which the curvature along the strip pulls back: across its width it is a beam on an
elastic foundation, D·w⁗ + (E·e/ρ²)·w = 0 with free edges. Its solution depends on one number B alone, and so does how
much of the curl is left, G(B): 1 in a narrow strip (a beam), 0 in a wide one (a plate), without a step between them.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np

from orderbook.mechanics.barrel import band_growth, floor_area
from orderbook.mechanics.drive import Reference, Run, least_torque, reference_spring
from orderbook.mechanics.materials import Material

POISSON = 0.3  # of steel
NARROWEST = 1e-6  # below it G is 1 to the last digit, and B would divide by nothing


def width_number(width_mm: Any, radius_mm: Any, strength_mm: Any) -> Any:
    """B: the width of a strip against how far from its edges it feels them.

    B = λ·b with λ⁴ = 3(1 − ν²)/(ρ²e²)

    Parameters: width b, radius ρ it is bent to, strength e, in mm; floats or arrays.
    Returns: a number; well below 1 is narrow, above 10 wide.
    Source: thin cylindrical shell, edge problem (derived on the page on mechanics).

    >>> [round(float(width_number(*strip)), 2) for strip in ((2.98, 4.2, 0.21), (37.5, 24.0, 0.43))]
    [4.08, 15.0]
    """
    return np.sqrt(np.sqrt(3 * (1 - POISSON**2))) * width_mm / np.sqrt(radius_mm * np.asarray(strength_mm))


def curl(b: Any) -> Any:
    """G: how much of the curl across a strip is left, as it counts in the moment.

    G(B) = (3/2B)·(cosh B − cos B)/(sinh B + sin B) + sinh B·sin B/(sinh B + sin B)²

    Parameters: B of `width_number`; floats or arrays.
    Returns: 1 (narrow) … 0 (wide); the moment is E·I/ρ·[1 − ν²·G]/(1 − ν²).
    Source: derived on the page on mechanics; usually credited to Searle and to Ashwell, 1950 (from memory).

    >>> [round(float(curl(b)), 3) for b in (0.1, 1, 2, 4, 15)]
    [1.0, 0.989, 0.851, 0.366, 0.1]
    """
    b = np.maximum(np.asarray(b, dtype=float), NARROWEST)
    # divided through by e^B/2, and with differences of near numbers written as products
    fade = np.exp(-b)
    less = np.expm1(-b) ** 2 + 4 * fade * np.sin(b / 2) ** 2
    more = -np.expm1(-2 * b) + 2 * fade * np.sin(b)
    found = 1.5 / b * less / more - 2 * fade * np.expm1(-2 * b) * np.sin(b) / more**2
    return float(found) if found.ndim == 0 else found


def in_strip(steel: Material, left: float) -> Material:
    """Return a steel as it acts in a strip with this much of its curl left.

    E·[1 − ν²·G]/(1 − ν²), and σ·[1 + (2/√3 − 1)·(1 − G)]: by the same G from the flow stress of a bar to that of a
    plate, which is held across.

    >>> from orderbook.mechanics.materials import material
    >>> wide = in_strip(material("carbon"), 0.0)
    >>> round(wide.modulus_mpa), round(wide.flow_stress_mpa)
    (226374, 1963)
    """
    stiffer = (1 - POISSON**2 * left) / (1 - POISSON**2)
    stronger = 1 + (2 / math.sqrt(3) - 1) * (1 - left)
    return replace(
        steel,
        modulus_mpa=steel.modulus_mpa * stiffer,
        modulus_u=steel.modulus_u * stiffer,
        flow_stress_mpa=steel.flow_stress_mpa * stronger,
        flow_stress_u=steel.flow_stress_u * stronger,
        curl=left,
    )


def wound_radius(bore_mm: float, arbor_mm: float, fill: float = 0.5) -> float:
    """Mean radius of the wound spring in mm: halfway from the arbor to w = √(r² + φ(R² − r²)).

    >>> round(wound_radius(15.6, 5.2), 3)
    4.207
    """
    inner, outer = arbor_mm**2 / 4, bore_mm**2 / 4
    return (arbor_mm / 2 + math.sqrt(inner + fill * (outer - inner))) / 2


def reference_in_steel(
    bore_mm: float, arbor_mm: float, width_mm: float, run: Run, steel: Material, fill: float = 0.5
) -> tuple[Reference, Material]:
    """Return the strongest useful spring of a barrel, and the steel as it acts in a strip of that width and strength.

    G is taken once for the barrel, at the mean radius of the wound spring of this reference, so that all springs
    compared in it share one steel.

    Parameters: lengths in mm; the steel as it is in a narrow strip.
    Raises, Source: as `reference_spring`.

    >>> from orderbook.mechanics.materials import material
    >>> best, steel = reference_in_steel(15.6, 5.2, 2.98, Run(3.5), material("carbon"))
    >>> round(best.strength_mm, 3), round(steel.modulus_mpa, -2), round(steel.flow_stress_mpa)
    (0.213, 219000.0, 1868)
    """
    radius = wound_radius(bore_mm, arbor_mm, fill)
    thickest = band_growth(bore_mm, arbor_mm, fill) / (run.used_turns + run.reserve + run.least_set_up)
    strength = 0.7 * thickest  # about where it lies
    acts = in_strip(steel, curl(width_number(width_mm, radius, strength)))
    strength = _about(bore_mm, arbor_mm, run, acts, fill, thickest)
    for _ in range(3):
        acts = in_strip(steel, curl(width_number(width_mm, radius, strength)))
        flows = {"flow_stress_mpa": acts.flow_stress_mpa, "modulus_mpa": acts.modulus_mpa}
        best = reference_spring(bore_mm, arbor_mm, width_mm, run, fill, near_mm=strength, **flows)
        off, strength = abs(float(best.strength_mm) / strength - 1), float(best.strength_mm)
        if off < 0.01:  # a hundredth of the strength moves the steel by less than a thousandth
            break
    return best, acts


def _about(bore_mm: float, arbor_mm: float, run: Run, steel: Material, fill: float, thickest: float) -> float:
    """Strength of greatest drive to about a per cent: a coarse grid, and a parabola through its best three points."""
    strength = thickest * np.linspace(0.4, 1.0, 25)
    length = fill * floor_area(bore_mm, arbor_mm) / strength
    drive = least_torque(bore_mm, arbor_mm, strength, length, run, steel.flow_stress_mpa, steel.modulus_mpa)
    best = min(max(int(np.argmax(drive)), 1), len(drive) - 2)
    left, top, right = drive[best - 1 : best + 2]
    aside = 0.5 * (left - right) / min(left - 2 * top + right, -1e-9 * top)
    return float(strength[best] + min(max(aside, -1.0), 1.0) * (strength[1] - strength[0]))
