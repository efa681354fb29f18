"""Small invented lists and barrels for the tests of ranking and grading."""

import numpy as np

from orderbook.barrel.barrel import barrel_from_texts
from orderbook.catalogue import Catalogue
from orderbook.locate import data_folder

WATCH = {"bore": ["15.6"], "arbor": ["5.2"], "depth": ["3.1"], "used": ["3.5"]}
DEMO = data_folder("demo_catalog")


def watch(**more):
    """A going-barrel watch; flags by name, each a text or a list of texts."""
    texts = {name: [said] if isinstance(said, str) else said for name, said in more.items()}
    return barrel_from_texts({**WATCH, **texts})[0]


def steps(strengths, *, price=1000, supplier="Supplier North", width=2.9, bore=15.6, arbor=5.2, **columns):
    """A list of half-fill springs of these strengths."""
    strengths = np.asarray(strengths, dtype=float)
    n = len(strengths)
    length = np.pi * (bore**2 - arbor**2) / 8 / strengths
    given = {"currency": ["GBP"] * n, "price_minor": np.broadcast_to(price, n)} | columns
    return Catalogue.of(
        supplier=[supplier] * n,
        item=[f"S{1000 * e:.0f}" for e in strengths],
        width_mm=np.full(n, width),
        strength_mm=strengths,
        length_mm=length,
        **given,
    )
