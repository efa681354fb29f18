"""The functions of a spring as Python offers them: the same numbers whatever is brought, a column for a column."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pandas as pd
import pint
import pytest

import orderbook as ob
from orderbook import mechanics

BARREL = {"bore": [15.6, 60.2, 11.4], "arbor": [5.2, 20.0, 2.4], "strength": [0.15, 0.4, 0.105]}
FRAME = pd.DataFrame(BARREL | {"length": [560, 2500, 464.507]}, index=["watch", "clock", "printed"])


def one_by_one() -> list[float]:
    return [float(mechanics.spring_turns(*row)) for row in FRAME.itertuples(index=False)]


def test_a_column_is_answered_by_a_column_of_the_same_index() -> None:
    turns = ob.spring_turns(FRAME.bore, FRAME.arbor, FRAME.strength, FRAME.length)
    assert isinstance(turns, pd.Series)
    assert turns.index.tolist() == FRAME.index.tolist()
    assert turns.tolist() == one_by_one()
    assert turns["printed"] == pytest.approx(12.74, abs=0.005)  # the printed example of the book of Abbott, p. 257


def test_arrays_and_quantities_are_answered_by_arrays() -> None:
    u = pint.UnitRegistry()
    columns = [FRAME[name].to_numpy() for name in FRAME]
    assert ob.spring_turns(*columns).tolist() == one_by_one()
    brought = [
        (columns[0] * u.mm).to("inch"),
        columns[1] * u.mm,
        [f"{s} mm" for s in columns[2]],
        columns[3] / 10 * u.cm,
    ]
    assert ob.spring_turns(*brought) == pytest.approx(one_by_one(), rel=1e-12)


def test_a_single_call_is_a_plain_number() -> None:
    u = pint.get_application_registry()
    plain = mechanics.spring_turns(15.6, 5.2, 0.15, 560)
    for brought in ((15.6, 5.2, 0.15, 560), ("15.6 mm", ob.Measured(5.2, 0.1, ""), 150 * u.um, np.float64(560))):
        found = ob.spring_turns(*brought)
        assert type(found) is float
        assert found == pytest.approx(plain, rel=1e-12)


def test_rows_that_lack_something_are_nan_and_the_others_are_answered() -> None:
    frame = FRAME.astype(object)
    frame.loc["clock", "arbor"] = pd.NA
    turns = ob.spring_turns(frame.bore, frame.arbor, frame.strength, frame.length)
    assert turns.isna().tolist() == [False, True, False]
    assert turns.dropna().tolist() == [one_by_one()[0], one_by_one()[2]]


def test_what_may_be_left_out_is_left_out_row_by_row() -> None:
    depth, clearance = [3.1, 20.5, np.nan], [None, 0.3, 0.1]
    width = ob.spring_width(depth, clearance)
    assert width[:2].tolist() == [mechanics.spring_width(3.1), mechanics.spring_width(20.5, 0.3)]
    assert math.isnan(width[2])
    assert ob.spring_length(15.6, 5.2, 0.16, fill=float("nan")) == mechanics.spring_length(15.6, 5.2, 0.16)


@pytest.mark.parametrize(
    ("call", "where", "code"),
    [
        (lambda: ob.spring_turns(15.6, None, 0.15, 560), "arbor_mm", "argument_missing"),
        (lambda: ob.spring_turns(15.6, 20, 0.15, 560), "arbor_mm", "arbor_not_below_bore"),
        (lambda: ob.spring_turns("wide", 5.2, 0.15, 560), "bore_mm", "length_not_read"),
        (lambda: ob.spring_turns(15.6, [5.2, "x"], 0.15, 560), "arbor_mm", "length_not_read"),
        (lambda: ob.spring_turns(3 * pint.UnitRegistry().kg, 5.2, 0.15, 560), "bore_mm", "unit_of_another_kind"),
        (lambda: ob.spring_strength(15.6, 5.2, -3), "turns", "number_not_sensible"),
        (lambda: ob.spring_length(15.6, 5.2, 0.15, 1.5), "fill", "fill_not_sensible"),
        (lambda: ob.spring_slack(15.6, 5.2, 0.15, 560, flow_stress_mpa="hard"), "flow_stress_mpa", "number_not_read"),
        (lambda: ob.drive_index(15.6, 5.2, 3, 2.9, 0.15, 566, set_up_turns=[1, 2]), "set_up_turns", "number_not_read"),
        (lambda: ob.length_mm("a bit", where="depth"), "depth", "length_not_read"),
    ],
)
def test_an_error_names_the_argument(call: Any, where: str, code: str) -> None:
    with pytest.raises(ob.OrderbookError) as caught:
        call()
    assert (caught.value.where, caught.value.code) == (where, code)


def test_columns_of_unequal_index_are_a_mistake_of_the_caller() -> None:
    with pytest.raises(ValueError, match="unequal indexes"):
        ob.spring_fill(FRAME.bore, FRAME.arbor.rename(index={"clock": "other"}), 0.15, 560)
    with pytest.raises(TypeError):
        ob.spring_fill(15.6, 5.2, 0.15)  # type: ignore[call-arg]


def test_lengths_of_every_kind() -> None:
    u = pint.UnitRegistry()
    column = ob.length_mm(pd.Series(["1/2 in", None, 3], index=list("abc")))
    assert column.fillna(-1).to_dict() == {"a": 12.7, "b": -1, "c": 3}
    assert ob.length_mm(2 * u.inch) == pytest.approx(50.8, rel=1e-12)
    assert ob.length_mm(5, unit="in") == 127
    assert math.isnan(ob.length_mm(pd.NA))


def test_the_blocks_of_a_worksheet_take_frames() -> None:
    head = ["barrel", "restoration", "drive", "turns_used", "bore_mm", "arbor_mm", "depth_mm"]
    row = ["R-1-B1", "R-1", "going", 3.5, 15.6, 5.2, 3.1]
    assert ob.barrel_size("R-1-B1", pd.DataFrame([row], columns=head)) == ob.barrel_size("R-1-B1", [head, row])
