"""Springs that another beats outright, against the definition itself."""

import numpy as np
import pytest

from orderbook.choosing.said import dominated


@pytest.mark.parametrize("seed", range(40))
def test_as_by_looking_at_every_pair(seed):
    dice = np.random.default_rng(seed)
    drive, load, price = dice.integers(0, dice.integers(2, 12), size=(3, 60)).astype(float)
    every = [((drive >= d) & (load < one) & (price <= p)).any() for d, one, p in zip(drive, load, price, strict=True)]
    assert dominated(drive, load, price).tolist() == every


def test_an_empty_list():
    assert len(dominated(*np.zeros((3, 0)))) == 0
