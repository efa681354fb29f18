"""What a person brings to a barrel: numbers, text, columns, quantities of any registry, values with their own ±."""

from __future__ import annotations

import random
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any

import numpy as np
import pandas as pd
import pint
import pytest

import orderbook as ob
from orderbook.measures import Measured

# exact, by definition: inch 25.4 mm, thou a thousandth of it
UNITS = {"cm": Fraction(10), "inch": Fraction(254, 10), "thou": Fraction(254, 10_000), "micrometer": Fraction(1, 1000)}
WRITTEN = {"cm": "cm", "inch": "in", "thou": "thou", "micrometer": "µm"}
NAMES = ("bore", "arbor", "depth", "strength")


def barrels(count: int) -> list[dict[str, Any]]:
    """Watches and clocks, each size with few enough digits that every unit writes it exactly."""
    chance = random.Random(18)
    made = []
    for _ in range(count):
        bore = round(chance.uniform(9, 60), 2)
        arbor = round(bore * chance.uniform(0.25, 0.38), 2)
        # few turns of a strip that goes in
        strength = round(arbor / 2 / chance.uniform(11, 16), 3)
        made.append({"bore": bore, "arbor": arbor, "depth": round(chance.uniform(2, 40), 2), "strength": strength,
                     "used": round(chance.uniform(2.5, 4), 1)})  # fmt: skip
    return made


def numbers(barrel: ob.Barrel) -> dict[str, float]:
    return {name: value for key in NAMES for name, value in _of(key, getattr(barrel, key))}


def _of(key: str, known: Measured) -> list[tuple[str, float]]:
    return [(key, known.value), (f"{key}_u", known.u)]


@pytest.mark.parametrize("registry", [pint.UnitRegistry(), pint.get_application_registry()], ids=["own", "application"])
def test_quantities_and_text_agree_with_millimetres(registry: Any) -> None:
    for number, plain in enumerate(barrels(200)):
        unit = list(UNITS)[number % len(UNITS)]
        in_unit = {name: float(Fraction(str(plain[name])) / UNITS[unit]) for name in NAMES}
        expected = numbers(ob.Barrel(**plain))
        quantities = {name: registry.Quantity(value, unit) for name, value in in_unit.items()}
        assert numbers(ob.Barrel(**quantities, used=plain["used"])) == pytest.approx(expected, rel=1e-12, abs=0)
        texts = {name: f"{_written(plain[name], unit)} {WRITTEN[unit]}" for name in NAMES}
        assert numbers(ob.Barrel(**texts, used=str(plain["used"]))) == pytest.approx(expected, rel=1e-12, abs=0)


def _written(mm: float, unit: str) -> str:
    """Write a length with as many decimals as 1e-13 of it needs; a person would write fewer."""
    exact = Fraction(str(mm)) / UNITS[unit]
    return f"{Decimal(exact.numerator) / Decimal(exact.denominator):.20f}"


@pytest.mark.parametrize("unit", UNITS)
def test_the_sizing_is_the_same_in_every_unit(unit: str) -> None:
    """Roots and differences on the way multiply the last digit of a conversion, so the answer has two fewer."""
    u = pint.get_application_registry()
    for plain in barrels(3):
        known = ob.size(ob.Barrel(**plain)).to_frame()
        quantities = {name: (plain[name] * u.mm).to(unit) for name in NAMES}
        told = ob.size(ob.Barrel(**quantities, used=plain["used"] * u.turn)).to_frame()
        assert told.what.tolist() == known.what.tolist()
        assert told.value.to_numpy() == pytest.approx(known.value.to_numpy(), rel=1e-9, abs=1e-9)


MISSING = [
    None,
    float("nan"),
    np.nan,
    pd.NA,
    pd.NaT,
    "",
    "  ",
    [],
    [None, np.nan],
    pd.Series([None, np.nan]),
    Decimal("NaN"),
]


@pytest.mark.parametrize("nothing", MISSING, ids=map(repr, MISSING))
def test_what_is_missing_is_not_given(nothing: Any) -> None:
    others = ("depth", "used", "fill", "drive", "end", "ratchet_teeth", "set_up", "tried", "original", "material")
    barrel = ob.Barrel(bore=15.6, arbor=5.2, wheels=nothing, stop_work=nothing, **dict.fromkeys(others, nothing))
    assert barrel == ob.Barrel(bore=15.6, arbor=5.2)


def test_repeats_are_a_list_an_array_or_a_column() -> None:
    u = pint.get_application_registry()
    same = [15.60, 15.62]
    frame = pd.DataFrame({"bore": [*same, None]})
    ways: list[Any] = [same, np.array(same), frame.bore, frame.bore.to_numpy(), pd.Series(same, dtype="Float64")]
    ways += [same * u.mm, [x * u.mm for x in same], "15.60; 15.62", ["15.60 mm", np.float64(15.62)]]
    ways += [[Decimal("15.60"), Fraction("15.62")]]
    assert {ob.Barrel(bore=way).bore for way in ways} == {ob.Barrel(bore=same).bore}


def test_a_value_keeps_the_spread_it_brings() -> None:
    known = Measured(15.6, 0.007, "a comparator")
    assert ob.Barrel(bore=known).bore is known

    @dataclass
    class Uncertain:  # as the package uncertainties has it
        nominal_value: float = 1.56
        std_dev: float = 0.0007

    assert ob.Barrel(bore=pint.UnitRegistry().Quantity(Uncertain(15.6, 0.007), "mm")).bore == Measured(
        15.6, 0.007, "as given"
    )
    assert ob.Barrel(bore=15.6, used=Uncertain(3.5, 0.1)).used == Measured(3.5, 0.1, "as given")


@pytest.mark.parametrize(
    ("given", "where", "code"),
    [
        ({"bore": "a bit"}, "bore", "length_not_read"),
        ({"bore": pd.Series([15.6, "wide"])}, "bore", "length_not_read"),
        ({"bore": 3 * pint.get_application_registry().kg}, "bore", "unit_of_another_kind"),
        ({"used": 3 * pint.get_application_registry().mm}, "used", "unit_of_another_kind"),
        ({"bore": [15.6, 156]}, "bore", "repeats_disagree"),
        ({"fill": 50}, "fill", "fill_not_sensible"),
        ({"train": "goign"}, "train", "choice_not_known"),
        ({"tried": "2.9 x 0.15 x 560"}, "tried", "verdict_not_known"),
        ({"bore": True}, "bore", "length_not_read"),
    ],
)
def test_what_cannot_be_read_is_named_by_its_argument(given: dict[str, Any], where: str, code: str) -> None:
    with pytest.raises(ob.OrderbookError) as caught:
        ob.Barrel(**given)
    assert (caught.value.where, caught.value.code) == (where, code)
    assert caught.value.saw
    assert caught.value.expected or caught.value.try_this
    assert "--" not in str(caught.value)


def test_springs_side_by_side_come_as_text_or_as_rows() -> None:
    barrel = ob.Barrel(bore=15.6, arbor=5.2, depth=3.1, used=3.5)
    sizes = {"width_mm": [2.9, 2.9], "strength_mm": [0.15, 0.18], "length_mm": [560, 600], "trim_to_mm": [np.nan, 470]}
    rows = pd.DataFrame(sizes)
    by_text = ob.compare(barrel, ["2.9 x 0.15 x 560", "2.9 x 0.18 x 470"])
    assert ob.compare(barrel, rows).as_dict() == by_text.as_dict()
    with pytest.raises(ob.OrderbookError) as caught:
        ob.compare(barrel, rows.drop(columns="strength_mm"))
    assert caught.value.where == "springs"
