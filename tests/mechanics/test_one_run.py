"""One spring in plain floats is the spring of the column: the same formulas, reckoned the other way."""

import numpy as np
import pytest

from orderbook.mechanics import Run, drive_and_load
from orderbook.mechanics.barrel import floor_area
from orderbook.mechanics.one_run import ends_of_run


@pytest.mark.parametrize("set_up", [None, 0.0, 0.5, 1.5])
def test_it_is_what_a_column_gives(set_up):
    chance = np.random.default_rng(7)
    count = 300
    bore = chance.uniform(8, 60, count)
    arbor = bore * chance.uniform(0.25, 0.45, count)
    strength = bore * chance.uniform(0.004, 0.02, count)
    length = floor_area(bore, arbor) / strength * chance.uniform(0.2, 1.05, count)
    run = Run(3.5, set_up_turns=set_up)
    wanted = drive_and_load(bore, arbor, 3.0, strength, length, run)
    for which, torque in (("drive", wanted.drive_nmm), ("load", wanted.load_nmm)):
        ends = [ends_of_run(*map(float, row), run) for row in zip(bore, arbor, [3.0] * count, strength, length,
                                                                  strict=True)]  # fmt: skip
        found = np.array([drive if which == "drive" else load for drive, load in ends])
        np.testing.assert_allclose(found, np.where(wanted.eligible, torque, np.nan), rtol=1e-6)
    assert 20 < np.count_nonzero(wanted.eligible) < count
