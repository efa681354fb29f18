"""What set-up makes a fusee even with the spring found, in clicks, and how even it is before and after."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from orderbook.barrel.barrel import Barrel
from orderbook.barrel.modelling import Model, fusee_turns_used, turns_left_on_cone
from orderbook.errors import Finding, finding
from orderbook.measures import Measured
from orderbook.mechanics.arithmetic import COLUMNS
from orderbook.mechanics.barrel import spring_length
from orderbook.mechanics.fusee import (
    LEAST_SET_UP_TURNS,
    Profile,
    best_clicks,
    best_set_up,
    cone,
    evenness_at,
    usual_cone,
)
from orderbook.mechanics.set_up import choices_between
from orderbook.mechanics.table import TorqueTable, tabulate
from orderbook.mechanics.winding import winding

Array = npt.NDArray[np.float64]
TEETH_ASSUMED = 20  # of a set-up ratchet not counted; common practice, no source


@dataclass(frozen=True, slots=True)
class Fitted:
    """Springs of columns of inputs, each in its barrel with its cone."""

    table: TorqueTable
    profile: Profile
    used: Array
    delivered: Array

    def most(self, reserve: float) -> Array:
        """Most set-up that leaves this reserve."""
        return np.maximum(self.delivered - self.used - reserve, 0.0)

    def evenness(self, set_up: Any) -> Array:
        """Evenness at a set-up; nan where the run does not fit above it."""
        at = np.broadcast_to(np.asarray(set_up, dtype=float), self.used.shape)
        uneven = evenness_at(self.table, self.profile, self.used, at)
        return np.where((at + self.used <= self.delivered * (1 + 1e-9)) & np.isfinite(uneven), uneven, np.nan)


def cone_inputs(barrel: Barrel) -> dict[str, Measured]:
    """The readings of the cone as inputs: each groove radius apart, barrel outside, chain height."""
    if not (barrel.fusee and barrel.barrel_outside and barrel.chain_height):
        return {}
    u = barrel.barrel_outside.u
    grooves = {f"groove_{i}": Measured(r, u, "groove") for i, r in enumerate(barrel.fusee.radius_mm)}
    return grooves | {"barrel_outside": barrel.barrel_outside, "chain_height": barrel.chain_height}


def fitted(barrel: Barrel, model: Model, x: Mapping[str, Any], strength: Array, length: Array) -> Fitted:
    """Put springs of columns of inputs into their barrels, each with its cone."""
    columns = (x["bore"] / 2, x["arbor"] / 2, 1.0, strength, length, x["flow_stress"], x["modulus"])
    strip = winding(COLUMNS, *map(np.ravel, np.broadcast_arrays(*columns)))
    used = np.broadcast_to(x["used"], strip.turns.shape)
    return Fitted(tabulate(strip), _profiles(barrel, x, len(strip.turns)), used, strip.turns - strip.slack)


def set_up_quantities(barrel: Barrel, model: Model, here: Fitted) -> dict[str, Array]:
    """Best set-up and evenness: at the set-up found or the usual one, and at the best that leaves the reserve."""
    reserve, teeth = model.run.reserve, barrel.ratchet_teeth
    most = here.most(reserve)
    set_up = best_set_up(here.table, here.profile, here.used, most)
    # a set-up is counted with the fusee run right down, the turns here from where the run ends
    found = (barrel.set_up.value if barrel.set_up else LEAST_SET_UP_TURNS) + turns_left_on_cone(barrel)
    answer = {"set_up_turns": set_up, "evenness_before": here.evenness(found), "evenness_after": here.evenness(set_up)}
    # whole clicks of the nominal spring; their ± is that of the turns, so that it says what a reading is worth
    clicks = best_clicks(here.table, here.profile, here.used, most, set_up, teeth or TEETH_ASSUMED)
    answer["set_up_clicks"] = clicks[0] + (set_up - set_up[0]) * (teeth or TEETH_ASSUMED)
    return answer


def about_set_up(barrel: Barrel, model: Model, here: Fitted) -> tuple[Finding, ...]:
    """What should be known: clicks either side, what the reserve costs, no room for the reserve, assumed cone."""
    found: list[Finding] = []
    reserve, teeth = model.run.reserve, barrel.ratchet_teeth or TEETH_ASSUMED
    if barrel.fusee is None:
        found.append(finding("cone_assumed", where="⟨fusee⟩", saw="not given: a usual cone was taken"))
    short = float((LEAST_SET_UP_TURNS + here.used + reserve - here.delivered)[0])
    if short > 0:
        saw = f"{here.delivered[0]:.2f} turns delivered, {here.used[0]:.2f} used, {reserve:g} of reserve"
        return (*found, finding("set_up_leaves_none", where="set-up", saw=f"{saw}: {short:.2f} too few"))
    most = here.most(reserve)
    best = best_set_up(here.table, here.profile, here.used, most)
    clicks = int(best_clicks(here.table, here.profile, here.used, most, best, teeth)[0])
    said = [f"{at}: {here.evenness(at / teeth)[0]:.3f}" for at in (clicks - 1, clicks, clicks + 1) if at >= 0]
    about = "" if barrel.ratchet_teeth else f" (a ratchet of {teeth} teeth assumed)"
    found.append(finding("clicks_either_side", where="set-up", saw=f"evenness by clicks{about}: {', '.join(said)}"))
    free = best_set_up(here.table, here.profile, here.used, here.most(0.0))
    with_reserve, without = here.evenness(best)[0], here.evenness(free)[0]
    if with_reserve > without * 1.005:
        saw = f"evenness {with_reserve:.3f} with {reserve:g} turn kept back, {without:.3f} with none"
        found.append(finding("reserve_costs", where="⟨reserve⟩", saw=saw))
    anywhere = best_set_up(here.table, here.profile, here.used, most, (LEAST_SET_UP_TURNS, np.inf))
    beyond = here.evenness(anywhere)[0]
    if with_reserve > beyond * 1.02:
        saw = f"evenness {with_reserve:.3f} at {best[0]:.2f} turns, {beyond:.3f} at {anywhere[0]:.2f}"
        found.append(finding("usual_set_up_costs", where="set-up", saw=saw))
    as_found = barrel.set_up.value + turns_left_on_cone(barrel) if barrel.set_up else best[0]
    found.extend(_more_clicks(here, (min(as_found, float(best[0])), float(most[0])), teeth))
    if barrel.fusee is not None and barrel.fusee.two_ends:
        found.extend(_other_law(barrel, here, float(best[0])))
    return tuple(found)


def _more_clicks(here: Fitted, turns: tuple[float, float], teeth: int) -> tuple[Finding, ...]:
    """What more set-up would give, from as found or proposed to what the reserve leaves: a few steps of it."""
    profile = here.profile if here.profile.arm.ndim == 1 else Profile(here.profile.run_off[:1], here.profile.arm[:1])
    found = choices_between(here.table, profile, float(here.used[0]), turns, teeth)
    if len(found) < 2 or not found.drive_nmm[0] > 0:
        return ()
    more = np.unique(np.linspace(0, len(found) - 1, 4).round().astype(int))
    drive = 100 * found.drive_nmm / found.drive_nmm[0]
    said = [f"{found.clicks[i]}: {drive[i]:.0f} %, {found.evenness[i]:.2f}" for i in more]
    return (finding("more_clicks", where="set-up", saw=f"drive and evenness by clicks: {'; '.join(said)}"),)


def best_for_cone(barrel: Barrel, model: Model, nominal: Mapping[str, Array]) -> tuple[Finding, ...]:
    """Say which strength within the useful range this cone evens best, each spring at its own best set-up."""
    if barrel.fusee is None:
        return ()
    strength = model.reference.strength_mm * np.linspace(0.75, 1.0, 11)
    columns = {name: np.repeat(value, len(strength)) for name, value in nominal.items()}
    length = spring_length(columns["bore"], columns["arbor"], strength, barrel.fill)
    here = fitted(barrel, model, columns, strength, np.asarray(length))
    uneven = here.evenness(best_set_up(here.table, here.profile, here.used, here.most(model.run.reserve)))
    if not np.isfinite(uneven).any():
        return ()
    at = int(np.nanargmin(uneven))
    saw = f"{strength[at]:.3f} mm at half fill is evened best: {uneven[at]:.3f}"
    return (finding("cone_evens_best", where="fusee", saw=saw),)


def _other_law(barrel: Barrel, here: Fitted, set_up: float) -> tuple[Finding, ...]:
    """Say what evenness would be if the cone between its two measured ends were of the other usual shape."""
    assert barrel.fusee
    assert barrel.barrel_outside
    assert barrel.chain_height
    sizes = (barrel.barrel_outside.value, barrel.chain_height.value)
    whole = cone(barrel.fusee.turns, barrel.fusee.radius_mm, *sizes, law="inverse_square")
    hollow = whole.until(_fusee_turns(barrel)).profile()
    straight = here.evenness(set_up)[0]
    row = TorqueTable(here.table.turns[:1], here.table.torque_nmm[:1])
    other = evenness_at(row, hollow, here.used[:1], np.array([set_up]))[0]
    if abs(other / straight - 1) < 0.02:
        return ()
    saw = f"evenness {straight:.3f} if straight between the two ends, {other:.3f} if hollow"
    return (finding("two_radii_only", where="⟨fusee⟩", saw=saw),)


def _profiles(barrel: Barrel, x: Mapping[str, Any], springs: int) -> Profile:
    if barrel.fusee is None or "barrel_outside" not in x:
        return usual_cone().profile()
    grooves = np.stack([np.broadcast_to(x[f"groove_{i}"], springs) for i in range(len(barrel.fusee.turns))], axis=-1)
    outside, height = (np.broadcast_to(x[name], springs) for name in ("barrel_outside", "chain_height"))
    until = _fusee_turns(barrel)
    rows = [
        cone(barrel.fusee.turns, radii, float(o), float(h)).until(until).profile()
        for radii, o, h in zip(grooves, outside, height, strict=True)
    ]
    return Profile(np.stack([p.run_off for p in rows]), np.stack([p.arm for p in rows]))


def _fusee_turns(barrel: Barrel) -> float:
    turns = fusee_turns_used(barrel)
    return math.inf if turns is None else turns
