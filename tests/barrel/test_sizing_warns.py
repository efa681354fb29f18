"""What a sizing warns of, in words a person sees: on the first screen, and above the table."""

import re

import pytest

from orderbook.barrel.barrel import barrel_from_texts
from orderbook.barrel.sizing import Sizing, size
from orderbook.errors import OrderbookError
from orderbook.reports.sizing_text import sizing_text

TRIAL = {"bore": ["15.6"], "arbor": ["5.2"], "depth": ["3.1"], "used": ["3.5"]}

BARE = {"bore": ["34"], "arbor": ["11"]}
TURNS = BARE | {"turns": ["6"]}


def sized(texts: dict[str, list[str]]) -> Sizing:
    barrel, found = barrel_from_texts(texts)
    return size(barrel)


def codes(sizing: Sizing) -> set[str]:
    return {f.code for f in sizing.findings}


@pytest.mark.parametrize(
    "texts",
    [
        {"bore": ["43,6"], "arbor": ["12,7"]},
        {"bore": ["34.02"], "arbor": ["11.1"], "turns": ["6"]},
        {"bore": ["34.02"], "arbor": ["11.1"], "depth": ["20.5"], "used": ["4.2"], "strength": ["0.5"]},
    ],
)
def test_a_strength_that_only_loads_more_is_warned_of_above_the_table(texts: dict[str, list[str]]) -> None:
    sizing = sized(texts)
    (warned,) = (f for f in sizing.findings if f.code == "above_the_strongest")
    assert warned.severity == "warning"
    load = sizing.quantities["load_index"].value
    assert f"load {load - 100:.0f} % more and drive no more" in warned.saw
    text = sizing_text(sizing, everything=True)
    assert text.index("Warning: strength") < text.index("─")
    first = sizing_text(sizing)
    assert first.index("above the strongest useful spring of this barrel") < first.index("More:")


def test_a_useful_strength_is_not_warned_of() -> None:
    for texts in (TRIAL, TRIAL | {"strength": ["0.2"]}, {"bore": ["34"], "arbor": ["11"], "used": ["4"]}):
        assert "above_the_strongest" not in codes(sized(texts))


def test_springs_tried_are_left_to_grading_and_that_is_said() -> None:
    without, sizing = sized(TRIAL), sized(TRIAL | {"tried": ["2.9 x 0.15 x 560: too weak"]})
    assert "tried_not_weighed" in codes(sizing) - codes(without)
    assert sizing.quantities["strength_mm"].value == without.quantities["strength_mm"].value


def test_groove_radii_ten_times_too_large_are_refused() -> None:
    fusee = {"bore": ["40"], "arbor": ["13"], "used": ["6"], "drive": ["fusee"], "barrel_outside": ["43"]}
    fusee["chain_height"] = ["1.2"]
    assert sized(fusee | {"fusee": ["11 x 18 x 12"]})
    with pytest.raises(OrderbookError, match="ten times too large"):
        sized(fusee | {"fusee": ["110 x 180 x 12"]})


def test_what_a_person_reads_has_no_power_of_ten_and_values_lie_between_their_bounds() -> None:
    large = {"bore": ["43.6"], "arbor": ["12.7"], "depth": ["40"], "used": ["6"], "turns": ["7.2"]}
    for texts in (large, TRIAL, TRIAL | {"length": ["520"], "free": ["9 x 26"]}, {"bore": ["34"], "arbor": ["11"]}):
        sizing = sized(texts)
        assert not re.search(r"\de[+-]\d", sizing_text(sizing))
        for said in (f.saw for f in sizing.findings if f.code == "linear_not_valid"):
            for what, low, high in re.findall(r"(\w+) between ([\d.]+) and ([\d.]+)", said):
                value = sizing.quantities[{"turns": "turns"}.get(what, f"{what}_mm")].value
                assert float(low) <= value * 1.005
                assert float(high) >= value * 0.995


def test_only_what_can_be_read_is_to_be_read_again() -> None:
    (said,) = (f for f in sized(TURNS).findings if f.code == "linear_not_valid")
    assert "take again: turns used." in said.try_this
    (said,) = (f for f in sized(BARE).findings if f.code == "linear_not_valid")
    assert "again" not in said.try_this
