"""The barrel, the strip, the torque, drive and load, the fusee and the train: pure numbers.

Plain floats and arrays in, plain out; mm, N, N·mm, MPa, turns.
"""

from orderbook.mechanics.across import curl, in_strip, reference_in_steel, width_number
from orderbook.mechanics.barrel import (
    coils,
    handbook_turns,
    most_turns,
    spring_fill,
    spring_length,
    spring_length_for_turns,
    spring_strength,
    spring_strength_for_length,
    spring_turns,
    spring_width,
    strength_by_arbor,
    usual_clearance,
)
from orderbook.mechanics.drive import (
    DriveAndLoad,
    Reference,
    Run,
    drive_and_load,
    drive_index,
    load_index,
    reference_spring,
    strongest_useful,
    torque_after,
)
from orderbook.mechanics.energy import stored_energy
from orderbook.mechanics.fusee import Cone, cone, fusee_evenness, fusee_set_up, usual_cone
from orderbook.mechanics.materials import Material, material
from orderbook.mechanics.rod_test import rod_test_torque
from orderbook.mechanics.set_up import SetUpChoices, set_up_choices
from orderbook.mechanics.spread import IndexSpread, Yardstick, index_spread, yardstick
from orderbook.mechanics.sufficient import SufficientLoad, sufficient_load
from orderbook.mechanics.torque import FLOW_STRESS_MPA, MODULUS_MPA, spring_slack, spring_torque

__all__ = [
    "FLOW_STRESS_MPA",
    "MODULUS_MPA",
    "Cone",
    "DriveAndLoad",
    "IndexSpread",
    "Material",
    "Reference",
    "Run",
    "SetUpChoices",
    "SufficientLoad",
    "Yardstick",
    "coils",
    "cone",
    "curl",
    "drive_and_load",
    "drive_index",
    "fusee_evenness",
    "fusee_set_up",
    "handbook_turns",
    "in_strip",
    "index_spread",
    "load_index",
    "material",
    "most_turns",
    "reference_in_steel",
    "reference_spring",
    "rod_test_torque",
    "set_up_choices",
    "spring_fill",
    "spring_length",
    "spring_length_for_turns",
    "spring_slack",
    "spring_strength",
    "spring_strength_for_length",
    "spring_torque",
    "spring_turns",
    "spring_width",
    "stored_energy",
    "strength_by_arbor",
    "strongest_useful",
    "sufficient_load",
    "torque_after",
    "usual_clearance",
    "usual_cone",
    "width_number",
    "yardstick",
]
