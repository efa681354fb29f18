"""How well drive and load of many springs are known against the reference: each spring's own part, and the shared one.

A ratio to the reference cancels only what all springs share to the same degree; what is left of the shared part moves
all indices together, each by its own slope and with its own sign, so it is given apart. Near the reference drive is at
its peak and every first slope vanishes; the ± is then what the second order leaves (JCGM 100:2008, 5.1.2, note).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from orderbook.mechanics.barrel import floor_area
from orderbook.mechanics.drive import Reference, Run, drive_and_load, reference_spring
from orderbook.mechanics.torque import FLOW_STRESS_MPA, MODULUS_MPA

Array = npt.NDArray[np.float64]
STRENGTH_TOLERANCE_MM = 0.005  # ± of a strip's strength as sold; common practice, no source
OWN_FLOW_STRESS_SHARE = 0.03  # of one strip against others of its kind (±6 %); from memory
COMMON_FLOW_STRESS_SHARE = 0.06  # of what all strips of a kind share (±12 %); from memory
FREE_SHAPE_SHARE = 0.02  # of the torque, for the choice of free shape; ours, no source
OF_NORMAL = 3**0.5  # in standard uncertainties, where three points give the moments of a normal distribution
OF_RECTANGLE = 1.8**0.5  # and those of a rectangular one
THICKER, HARDER = np.array([[0, 1, -1, 0, 0, 1, -1], [0, 0, 0, 1, -1, 1, -1]])  # in those: as it is, and around it
SQUARE_OF_NORMAL, SQUARE_OF_RECTANGLE = 2.0, 0.8  # variance of z², of z with variance 1
GONE = 2.0  # fall of the logarithm that stands for a torque that is gone


@dataclass(frozen=True, slots=True)
class Yardstick:
    """What 100 means in a barrel: the strongest useful spring, in a steel known to `common_u` of its flow stress.

    Slope and bend are the first and second derivative of the logarithm of its drive and load in the logarithm of that
    flow stress: its strength moves with the steel.
    """

    reference: Reference
    common_u: float
    drive_slope: float
    drive_bend: float
    load_slope: float
    load_bend: float


@dataclass(frozen=True, slots=True)
class IndexSpread:
    """For each spring drive and load in per cent of the reference, and how well their logarithms are known.

    `own_u` is a standard uncertainty, independent from spring to spring. `common_u` has a sign: by so much the
    logarithm moves when the flow stress that all springs share lies one standard uncertainty higher, so that one draw
    of it moves all springs together.
    """

    drive_index: Array
    load_index: Array
    drive_own_u: Array
    drive_common_u: Array
    load_own_u: Array
    load_common_u: Array

    @property
    def drive_index_u(self) -> Array:
        """Standard uncertainty of the drive index, both parts together."""
        return np.asarray(self.drive_index * np.hypot(self.drive_own_u, self.drive_common_u))

    @property
    def load_index_u(self) -> Array:
        """Standard uncertainty of the load index."""
        return np.asarray(self.load_index * np.hypot(self.load_own_u, self.load_common_u))


def yardstick(
    bore_mm: float,
    arbor_mm: float,
    reference: Reference,
    run: Run,
    *,
    common_flow_stress_u: float = COMMON_FLOW_STRESS_SHARE,
    flow_stress_mpa: float = FLOW_STRESS_MPA,
    modulus_mpa: float = MODULUS_MPA,
) -> Yardstick:
    """Find the strongest useful spring again in softer and in harder steel: its strength moves, and its load with it.

    Parameters: lengths in mm; common_flow_stress_u as a share (0.06 = 6 %), one standard uncertainty; MPa.
    Raises: as `reference_spring`.

    >>> from orderbook.mechanics.drive import reference_spring
    >>> found = yardstick(15.6, 5.2, reference_spring(15.6, 5.2, 2.9, Run(3.5)), Run(3.5))
    >>> round(found.drive_slope, 2), round(found.load_slope, 2)
    (1.82, 1.73)
    """
    fill = reference.strength_mm * reference.length_mm / floor_area(bore_mm, arbor_mm)
    step = OF_NORMAL * common_flow_stress_u
    if not step > 0:
        return Yardstick(reference, 0.0, 0.0, 0.0, 0.0, 0.0)
    flows = flow_stress_mpa * np.exp([-step, 0.0, step])
    found = reference_spring(
        bore_mm, arbor_mm, reference.width_mm, run, fill, flow_stress_mpa=flows, modulus_mpa=np.full(3, modulus_mpa)
    )
    slopes = []
    for column in (found.drive_nmm, found.load_nmm):
        soft, here, hard = np.log(column)
        slopes += [(hard - soft) / (2 * step), (hard + soft - 2 * here) / step**2]
    return Yardstick(reference, common_flow_stress_u, *map(float, slopes))


def index_spread(
    bore_mm: Any,
    arbor_mm: Any,
    width_mm: Any,
    strength_mm: Any,
    length_mm: Any,
    run: Run,
    of: Yardstick,
    *,
    strength_u_mm: Any = STRENGTH_TOLERANCE_MM / 3**0.5,
    own_flow_stress_u: Any = OWN_FLOW_STRESS_SHARE,
    flow_stress_mpa: float = FLOW_STRESS_MPA,
    modulus_mpa: float = MODULUS_MPA,
) -> IndexSpread:
    """Drive and load index of many springs of one barrel, and how well they are known: own and shared part apart.

    With t(x, y) = ln T of a spring whose strength is x higher and the logarithm of whose flow stress is y higher, and
    r(y) the same of the reference, found again in every steel, ln index = t(x, y_own + y_common) − r(y_common) and

    u_common = (t_y − r_y)·u_c
    u_own² = (t_x·u_x)² + 0.2·(t_xx·u_x²)² + (t_y·u_o)² + ½(t_yy·u_o²)² + t_xy²·u_x²·(u_o² + u_c²) + (t_yy·u_o·u_c)²
    + ½((t_yy − r_yy)·u_c²)² + u_shape²

    from three points in each direction and two across, those of Gauss's rules: the strength spread evenly over its
    tolerance (so 0.2), the flow stresses normally.

    Parameters: barrel and springs as `drive_and_load`; strength_u_mm in mm; own_flow_stress_u as a share (0.03 = 3 %).
    Returns: columns; nan where a spring gives no torque over the run, and a large ± where its tolerance loses it.
    Source: JCGM 100:2008, 5.1.2 note, second-order terms; held against random draws (JCGM 101:2008).

    >>> from orderbook.mechanics.drive import reference_spring
    >>> best = yardstick(15.6, 5.2, reference_spring(15.6, 5.2, 2.9, Run(3.5)), Run(3.5))
    >>> spread = index_spread(15.6, 5.2, 2.9, [0.15, 0.21], [566.3, 404.4], Run(3.5), best)
    >>> spread.drive_index.round(1), spread.drive_index_u.round(1)
    (array([ 71.1, 100. ]), array([4.8, 6. ]))
    """
    strength = np.atleast_1d(np.asarray(strength_mm, dtype=float))
    width, strength, length = np.broadcast_arrays(width_mm, strength, length_mm)
    u_x = np.broadcast_to(np.asarray(strength_u_mm, dtype=float), strength.shape)
    u_o = np.broadcast_to(np.asarray(own_flow_stress_u, dtype=float), strength.shape)
    x, y = np.maximum(OF_RECTANGLE * u_x, 1e-6), np.maximum(OF_NORMAL * np.hypot(u_o, of.common_u), 1e-6)

    thicker, harder = x * THICKER[:, None], y * HARDER[:, None]  # all seven at once, a row each
    found = drive_and_load(
        bore_mm,
        arbor_mm,
        width,
        strength + thicker,
        length,
        run,
        flow_stress_mpa=flow_stress_mpa * np.exp(harder),
        modulus_mpa=modulus_mpa,
    )
    slopes = {"drive_nmm": (of.drive_slope, of.drive_bend), "load_nmm": (of.load_slope, of.load_bend)}
    columns = []
    for which, (r_y, r_yy) in slopes.items():
        here, *around = getattr(found, which)
        at = np.log(np.where(here > 0, here, np.nan))
        thick, thin, hard, soft, both, neither = (_against(at, one) for one in around)
        t_x, t_xx = (thick - thin) / (2 * x), (thick + thin) / x**2
        t_y, t_yy = (hard - soft) / (2 * y), (hard + soft) / y**2
        t_xy = (both + neither - thick - thin - hard - soft) / (2 * x * y)
        own = (t_x * u_x) ** 2 + SQUARE_OF_RECTANGLE / 4 * (t_xx * u_x**2) ** 2
        own += (t_y * u_o) ** 2 + SQUARE_OF_NORMAL / 4 * (t_yy * u_o**2) ** 2
        own += (t_xy * u_x) ** 2 * (u_o**2 + of.common_u**2) + (t_yy * u_o * of.common_u) ** 2
        own += SQUARE_OF_NORMAL / 4 * ((t_yy - r_yy) * of.common_u**2) ** 2
        index = 100 * here / getattr(of.reference, which)
        columns.append((index, np.sqrt(own + FREE_SHAPE_SHARE**2), (t_y - r_y) * of.common_u))
    (drive, drive_own, drive_common), (load, load_own, load_common) = columns
    return IndexSpread(drive, load, drive_own, drive_common, load_own, load_common)


def _against(at: Array, torque: Array) -> Array:
    """Change of the logarithm from where it is; a torque that is gone counts as a fall of 2, to a seventh."""
    change = np.log(np.where(torque > 0, torque, np.nan)) - at
    return np.where(np.isnan(change), np.where(np.isnan(at), np.nan, -GONE), np.maximum(change, -GONE))


__all__ = ["IndexSpread", "Yardstick", "index_spread", "yardstick"]
