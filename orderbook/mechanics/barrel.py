"""The barrel and the strip in it: width, strength, length, turns and fill, each from the others.

Symbols: D, R bore (diameter, radius); d, r arbor; e strength; L length inside the barrel; A = π(R² − r²) the free
floor; φ = L·e/A the fill. All lengths in mm; every function takes floats or arrays that broadcast.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from orderbook.errors import error
from orderbook.mechanics.given import LARGEST_BORE_MM, Number, above_zero, as_given, barrel_is_right, fill_is_right

RULE_OF_ARBOR = 12.65  # r/e, the geometric middle of 10 … 16
HANDBOOK_TURNS = 2 / 2.55  # what a spring-trade handbook counts as delivered of the geometric turns


def spring_width(depth_mm: Number, clearance_mm: Number | None = None) -> Any:
    """Width of the strip for a barrel of this depth.

    b = h − clearance; unless given, 0.12 mm up to 5 mm of depth and 2.5 % of the depth above, never under 0.05 mm.

    Parameters: depth_mm, floor to underside of the cover; clearance_mm; floats or arrays.
    Returns: width in mm.
    Raises: OrderbookError(length_not_sensible).
    Source: common practice, no source. A clearance of 0.02 mm is printed as binding in the cold (Kleinlein, *Rules
    and Practice for Adjusting Watches*, 1920, p. 24).

    >>> round(spring_width(3.10), 3), round(spring_width(40.0), 3), round(spring_width(3.10, 0.2), 3)
    (2.98, 39.0, 2.9)
    """
    (depth,) = as_given(depth=depth_mm)
    above_zero(depth=depth, most=LARGEST_BORE_MM)
    clearance = usual_clearance(depth) if clearance_mm is None else as_given(clearance=clearance_mm)[0]
    above_zero(clearance=clearance, width_left=depth - clearance)
    return _plain(depth - clearance)


def usual_clearance(depth_mm: Number) -> Any:
    """Clearance between strip and cover where none is given; common practice, no source.

    >>> usual_clearance(2.0), usual_clearance(20.0)
    (0.12, 0.5)
    """
    depth = np.asarray(depth_mm, dtype=float)
    return _plain(np.maximum(np.where(depth <= 5.0, 0.12, 0.025 * depth), 0.05))


def spring_strength(bore_mm: Number, arbor_mm: Number, turns: Number, fill: Number = 0.5) -> Any:
    """Strength of the strip that gives these turns between run down and wound.

    e = (√(r² + φ(R² − r²)) + √(R² − φ(R² − r²)) − R − r)/N; at φ = ½ it is the thickest strip that gives N turns.

    Parameters: bore and arbor diameters in mm; geometric turns; fill 0…1.
    Returns: strength in mm.
    Raises: OrderbookError(arbor_not_below_bore | length_not_sensible | number_not_sensible | fill_not_sensible).
    Source: Rozé's theorem as quoted by Abbott, *American Watchmaker and Jeweler*, p. 257, solved for e.

    >>> round(spring_strength(11.40, 2.40, 12.74017), 4)
    0.105
    """
    bore, arbor, turns, fill = as_given(bore=bore_mm, arbor=arbor_mm, turns=turns, fill=fill)
    barrel_is_right(bore, arbor)
    above_zero(unit="turns", turns=turns)
    fill_is_right(fill)
    return _plain(band_growth(bore, arbor, fill) / turns)


def spring_length(bore_mm: Number, arbor_mm: Number, strength_mm: Number, fill: Number = 0.5) -> Any:
    """Length of strip that gives this fill.

    L = φ·π(R² − r²)/e; at φ = ½ it gives the most turns.

    Parameters: bore, arbor and strength in mm; fill 0…1.
    Returns: length inside the barrel in mm; what the hooking needs is extra.
    Raises: OrderbookError(arbor_not_below_bore | length_not_sensible | fill_not_sensible).
    Source: Reymondin, Monnier, Jeanneret, Pelaratti, *The Theory of Horology*, pp. 48–49 (from memory).

    >>> round(spring_length(11.40, 2.40, 0.105), 2)
    464.51
    """
    bore, arbor, strength, fill = as_given(bore=bore_mm, arbor=arbor_mm, strength=strength_mm, fill=fill)
    barrel_is_right(bore, arbor)
    above_zero(strength=strength)
    fill_is_right(fill)
    return _plain(fill * floor_area(bore, arbor) / strength)


def spring_turns(bore_mm: Number, arbor_mm: Number, strength_mm: Number, length_mm: Number) -> Any:
    """Turns of the barrel between run down and fully wound.

    N = up − down, with up = (√(r² + L·e/π) − r)/e and down = (R − √(R² − L·e/π))/e

    Parameters: floats or arrays that broadcast, all in mm (bore and arbor are diameters).
    Returns: turns, same shape; geometric: see `spring_slack` for the turns that carry no torque.
    Raises: OrderbookError(spring_too_big | arbor_not_below_bore | length_not_sensible).
    Source: Rozé's theorem as quoted by Abbott, *American Watchmaker and Jeweler*, p. 257.

    >>> round(spring_turns(11.40, 2.40, 0.105, 464.507), 2)
    12.74
    """
    up, down = coils(bore_mm, arbor_mm, strength_mm, length_mm)
    return up - down


def coils(bore_mm: Number, arbor_mm: Number, strength_mm: Number, length_mm: Number) -> tuple[Any, Any]:
    """Coils of the strip wound up on the arbor, and run down against the wall.

    up = (√(r² + L·e/π) − r)/e, down = (R − √(R² − L·e/π))/e

    Parameters, Raises, Source: as `spring_turns`.

    >>> [round(count, 2) for count in coils(11.40, 2.40, 0.105, 464.507)]
    [27.8, 15.06]
    """
    bore, arbor, strength, length = _spring(bore_mm, arbor_mm, strength_mm, length_mm)
    floor = length * strength / np.pi
    up = (np.sqrt(arbor**2 / 4 + floor) - arbor / 2) / strength
    return _plain(up), _plain((bore / 2 - np.sqrt(bore**2 / 4 - floor)) / strength)


def spring_fill(bore_mm: Number, arbor_mm: Number, strength_mm: Number, length_mm: Number) -> Any:
    """Share of the free floor of the barrel that the strip takes.

    φ = L·e/(π(R² − r²))

    Parameters, Raises: as `spring_turns`.
    Returns: 0…1; the turns are greatest at ½.

    >>> round(spring_fill(20, 7, 0.25, 540), 5)
    0.48971
    """
    bore, arbor, strength, length = _spring(bore_mm, arbor_mm, strength_mm, length_mm)
    return _plain(length * strength / floor_area(bore, arbor))


def spring_length_for_turns(
    bore_mm: Number, arbor_mm: Number, strength_mm: Number, turns: Number, *, longer: bool = False
) -> Any:
    """Length of strip that gives these turns: the shorter of the two that do, or the longer one.

    With S = N·e + R + r and P = R² + r² the wound radius is w = (S ∓ √(2P − S²))/2 and L = π(w² − r²)/e.

    Parameters: bore, arbor, strength in mm; geometric turns; longer, the root above half fill.
    Returns: length in mm.
    Raises: OrderbookError(turns_not_possible) where no length gives so many turns, saying the most it can.
    Source: Rozé's theorem (`spring_turns`), solved for L.

    >>> round(spring_length_for_turns(9, 3, 0.1, 7.028266), 2), round(0.9 * spring_length(9, 3, 0.1), 2)
    (254.47, 254.47)
    """
    given = as_given(bore=bore_mm, arbor=arbor_mm, strength=strength_mm, turns=turns)
    bore, arbor, strength, turns = given
    barrel_is_right(bore, arbor)
    above_zero(strength=strength)
    above_zero(unit="turns", turns=turns)
    square_sum = (bore**2 + arbor**2) / 4
    radius_sum = turns * strength + (bore + arbor) / 2
    under_root = 2 * square_sum - radius_sum**2
    _turns_are_possible(under_root, turns, most_turns(bore, arbor, strength))
    root = np.sqrt(np.maximum(under_root, 0.0))
    wound = (radius_sum + root if longer else radius_sum - root) / 2
    return _plain(np.pi * (wound**2 - arbor**2 / 4) / strength)


def spring_strength_for_length(bore_mm: Number, arbor_mm: Number, turns: Number, length_mm: Number) -> Any:
    """Strength of a strip of this length that gives these turns.

    Solves N(e; L) = turns; N falls from (L/2π)(1/r − 1/R) for the thinnest strip to 0 where the barrel is full.

    Parameters: bore, arbor, length in mm; geometric turns.
    Returns: strength in mm.
    Raises: OrderbookError(turns_not_possible).
    Source: Rozé's theorem (`spring_turns`), by bisection.

    >>> round(spring_strength_for_length(11.40, 2.40, 12.74017, 464.507), 3)
    0.105
    """
    bore, arbor, turns, length = as_given(bore=bore_mm, arbor=arbor_mm, turns=turns, length=length_mm)
    barrel_is_right(bore, arbor)
    above_zero(length=length)
    above_zero(unit="turns", turns=turns)
    most = length / np.pi * (1 / arbor - 1 / bore)
    _turns_are_possible(most - turns, turns, most)
    low, high = 0.0 * most, floor_area(bore, arbor) / length + 0.0 * most
    for _ in range(60):
        middle = (low + high) / 2
        up, down = coils(bore, arbor, middle, length)
        enough = up - down > turns
        low, high = np.where(enough, middle, low), np.where(enough, high, middle)
    return _plain((low + high) / 2)


def most_turns(bore_mm: Number, arbor_mm: Number, strength_mm: Number) -> Any:
    """Most turns a strip of this strength can give in this barrel: at half fill.

    N* = (√(2(R² + r²)) − R − r)/e

    Source: Goodrich, *The Modern Clock*, 1905, pp. 280–281, says there is but one thickness and one length.

    >>> round(most_turns(9, 3, 0.1), 6)
    7.082039
    """
    bore, arbor, strength = as_given(bore=bore_mm, arbor=arbor_mm, strength=strength_mm)
    barrel_is_right(bore, arbor)
    above_zero(strength=strength)
    return _plain(band_growth(bore, arbor, 0.5) / strength)


def handbook_turns(bore_mm: Number, arbor_mm: Number, strength_mm: Number) -> Any:
    """Turns a spring-trade handbook counts as delivered: another quantity than `spring_turns`.

    0.784 of the geometric turns: (√(2(D² + d²)) − (D + d))/(2.55·e)

    Source: a spring-industry handbook (from memory); shown beside the geometric turns, never mixed with them.

    >>> round(handbook_turns(9, 3, 0.1) / most_turns(9, 3, 0.1), 4)
    0.7843
    """
    return HANDBOOK_TURNS * most_turns(bore_mm, arbor_mm, strength_mm)


def strength_by_arbor(arbor_mm: Number) -> Any:
    """Strength by the rule of thumb of the arbor.

    e = r/12.65, the geometric middle of r/e from 10 to 16.

    Source: common practice, no source.

    >>> round(strength_by_arbor(5.2), 3)
    0.206
    """
    (arbor,) = as_given(arbor=arbor_mm)
    above_zero(arbor=arbor)
    return _plain(arbor / 2 / RULE_OF_ARBOR)


def floor_area(bore: Any, arbor: Any) -> Any:
    """Free floor of the barrel, π(R² − r²), in mm²."""
    return np.pi / 4 * (bore**2 - arbor**2)


def band_growth(bore: Any, arbor: Any, fill: Any) -> Any:
    """Return N·e: how much further the band reaches wound than run down, in mm."""
    outer, inner = bore**2 / 4, arbor**2 / 4
    free = fill * (outer - inner)
    return np.sqrt(inner + free) + np.sqrt(outer - free) - (bore + arbor) / 2


def _spring(bore_mm: Number, arbor_mm: Number, strength_mm: Number, length_mm: Number) -> tuple[Any, Any, Any, Any]:
    bore, arbor, strength, length = as_given(bore=bore_mm, arbor=arbor_mm, strength=strength_mm, length=length_mm)
    barrel_is_right(bore, arbor)
    above_zero(strength=strength, length=length)
    spring_goes_in(bore, arbor, strength, length)
    return bore, arbor, strength, length


def spring_goes_in(bore: Any, arbor: Any, strength: Any, length: Any) -> None:
    """Raise where strip and arbor would take the whole barrel or more."""
    fill = length * strength / floor_area(bore, arbor)
    if fill < 1 if type(fill) is float else not np.any(fill >= 1):
        return
    if np.any(fill >= 1):
        worst = np.argmax(fill)
        e, L = (np.broadcast_to(value, np.shape(fill)).flat[worst] for value in (strength, length))
        saw = f"{e:g} × {L:g} mm fills {100 * np.max(fill):.0f} % of the free room"
        raise error("spring_too_big", where="spring", saw=saw)


def _turns_are_possible(spare: Any, turns: Any, most: Any) -> None:
    if np.any(short := spare < -1e-9):
        turns, most = np.broadcast_arrays(turns, most)
        saw = f"{turns[short].flat[0]:.4g} turns; the most it can give is {most[short].flat[0]:.4g}"
        raise error("turns_not_possible", where="turns", saw=saw)


def _plain(value: Any) -> Any:
    return float(value) if np.ndim(value) == 0 else value
