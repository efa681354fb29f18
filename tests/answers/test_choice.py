"""Rank and grade from what a person has: files, data frames and rows give the answers that the flags give."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

import orderbook as ob
from orderbook.catalogue import Catalogue
from orderbook.cli import cli, console
from orderbook.locate import data_folder
from tests.choosing.choice_lists import steps

DEMO = data_folder("demo_catalog")
EAST = DEMO / "supplier_east.csv"
BARREL = ob.Barrel(bore=56.04, arbor=18.9, depth=38.6, used=5.5).tried("37 x 0.38 x 2800", "too weak")
WATCH = ob.Barrel(bore=15.6, arbor=5.2, depth=3.1, used=3.5).tried("2.9 x 0.15 x 560", "too weak")
READINGS = ["--bore", "56.04", "--arbor", "18.9", "--depth", "38.6", "--used", "5.5"]
FLAGS = [*READINGS, "--tried", "37 x 0.38 x 2800: too weak"]
DRAWER = [{"label": "D-1", "width_mm": 37.5, "strength_mm": 0.46, "length_mm": 2300, "state": "new", "price": 9.5,
           "currency": "GBP"}]  # fmt: skip


def typed(path: Path) -> pd.DataFrame:
    return pd.read_csv(path)


def by_command(capsys: pytest.CaptureFixture[str], verb: str, *flags: object) -> dict[str, Any]:
    console.run(cli, [verb, str(EAST), *FLAGS, *map(str, flags), "--json"])
    answer: dict[str, Any] = json.loads(capsys.readouterr().out)
    return answer


def told(answer: ob.Grading | ob.Ranking) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(json.dumps(answer.as_dict(), default=str))
    return found


def without_findings(answer: dict[str, Any]) -> dict[str, Any]:
    """What is found is spelled as a flag on the command line and as an argument in Python."""
    return {key: value for key, value in answer.items() if key not in ("findings", "next_action")}


def test_files_frames_and_rows_give_what_the_flags_give(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    drawer = tmp_path / "drawer.csv"
    pd.DataFrame(DRAWER).to_csv(drawer, index=False)
    suppliers, rates = DEMO / "suppliers.csv", DEMO / "rates.csv"
    asked = ["--currency", "GBP", "--suppliers", suppliers, "--rates", rates, "--drawer", drawer, "--count", 2]
    expected = without_findings(by_command(capsys, "grade", *asked))
    rows = typed(rates).assign(date=lambda f: pd.to_datetime(f.date))
    ways: list[dict[str, Any]] = [
        {"suppliers": suppliers, "rates": str(rates), "drawer": drawer},
        {"suppliers": typed(suppliers), "rates": rows, "drawer": pd.DataFrame(DRAWER)},
        {"suppliers": typed(suppliers).set_index("supplier"), "rates": rows.to_dict("list"), "drawer": DRAWER},
        {
            "suppliers": [ob.Supplier("Supplier East", "EUR", ob.PostageRule(ob.Money(990, "EUR"),
                          minimum_order=ob.Money(1500, "EUR")), 12)],
            "rates": ob.Rates("GBP", (ob.Rate(date(2026, 11, 2), "EUR", Decimal("0.8650")),)),
            "drawer": [ob.SpringAtHand("D-1", 37.5, 0.46, 2300, ob.Money(950, "GBP"), is_new=True)],
        },
    ]  # fmt: skip
    for way in ways:
        order = ob.grade(BARREL, EAST, currency="GBP", count=2, **way)
        assert without_findings(told(order)) == expected
    assert expected["currency"] == "GBP"
    assert any(one["supplier"] == "Supplier East" for one in expected["stages"])


def test_rank_as_the_command_does(capsys: pytest.CaptureFixture[str]) -> None:
    expected = without_findings(by_command(capsys, "rank", "--top", 4, "--never-from", "Supplier West", "--even-so"))
    ranked = ob.rank(BARREL, [EAST], top=4, never_from="Supplier West", even_so=True)
    assert without_findings(told(ranked)) == expected
    assert ranked.springs["rank"].tolist() == [1, 2, 3, 4]
    assert ranked.springs.price.dtype == float


def test_what_was_read_before_is_not_read_again() -> None:
    reading = ob.read_catalogue(EAST)
    assert told(ob.grade(BARREL, reading)) == told(ob.grade(BARREL, EAST))
    assert told(ob.grade(BARREL, reading.catalogue))["stages"] == told(ob.grade(BARREL, EAST))["stages"]


def test_none_and_nan_are_left_out() -> None:
    nothing: list[Any] = [None, float("nan"), pd.NA, "", ()]
    names = ("count", "spread", "weights", "currency", "rates", "suppliers", "must", "at_most", "end")
    plain = told(ob.grade(WATCH, steps([0.16, 0.17, 0.19])))
    for one in nothing:
        terms = dict.fromkeys(names, one)
        assert told(ob.grade(WATCH, steps([0.16, 0.17, 0.19]), **terms)) == plain  # type: ignore[arg-type]


def test_the_end_of_the_barrel_may_be_said_with_the_choice() -> None:
    listed = steps([0.16, 0.17, 0.19], end=["loop"] * 3)
    said = ob.grade(WATCH, listed, end="hole").stages.why
    assert said.str.contains("end is loop, not hole").all()


def test_weights_are_a_mapping_a_series_or_a_file(tmp_path: Path) -> None:
    weights = {"trial": 0.2, "lambda": 5.0}
    path = tmp_path / "weights.toml"
    path.write_text("trial = 0.2\nlambda = 5.0\n", encoding="utf-8")
    answers = [told(ob.grade(WATCH, steps([0.16, 0.18]), weights=way)) for way in (weights, pd.Series(weights), path)]
    assert answers[0] == answers[1] == answers[2]
    assert answers[0]["weights"] != told(ob.grade(WATCH, steps([0.16, 0.18])))["weights"]


def test_the_drawer_alone_is_a_list() -> None:
    spring = {"label": "D-1", "width_mm": 2.95, "strength_mm": 0.175, "length_mm": 500}
    assert ob.grade(WATCH, drawer=[spring]).stages["item"].tolist() == ["D-1"]


def test_an_empty_order_has_its_columns() -> None:
    order = ob.grade(WATCH.tried("2.9 x 0.16 x 531", "ran well"), steps([0.16, 0.18]))
    assert len(order.stages) == 0
    assert {"stage", "item", "strength_mm"} <= set(order.stages.columns)
    assert "Keep" in order.next_action


FRAME = pd.DataFrame({"supplier": ["Supplier North"], "currency": ["GBP"]})


@pytest.mark.parametrize(
    ("terms", "where", "code"),
    [
        ({"count": 9}, "count", "count_not_sensible"),
        ({"count": "some"}, "count", "count_not_sensible"),
        ({"spread": "wide"}, "spread", "number_not_read"),
        ({"weights": {"hope": 1}}, "weights", "weight_not_known"),
        ({"currency": "pounds"}, "currency", "currency_not_known"),
        ({"suppliers": FRAME.drop(columns="currency")}, "suppliers", "side_file_columns"),
        ({"suppliers": FRAME.assign(lead_days=-1)}, "suppliers row 0 (lead days)", "lead_days_negative"),
        ({"suppliers": pd.concat([FRAME, FRAME])}, "suppliers row 1 (supplier)", "supplier_twice"),
        ({"suppliers": 7}, "suppliers", "rows_not_read"),
        ({"suppliers": [3]}, "suppliers", "rows_not_read"),
        ({"rates": {"date": ["soon"], "currency": ["EUR"], "rate": [0.9]}}, "rates row 0 (date)", "date_not_read"),
        ({"drawer": pd.DataFrame({"label": ["D-1"], "width_mm": ["wide"], "strength_mm": [0.1], "length_mm": [9]})},
         "drawer row 0 (width mm)", "cell_not_a_number"),
        ({"at_most": "much"}, "at_most", "money_not_read"),
        ({"must": ["N-99"]}, "must=N-99", "must_not_there"),
        ({"movement": "train"}, "movement", "choice_not_known"),
    ],
)  # fmt: skip
def test_what_cannot_be_used_is_named_by_its_argument(terms: dict[str, Any], where: str, code: str) -> None:
    with pytest.raises(ob.OrderbookError) as caught:
        ob.grade(WATCH, steps([0.16, 0.18]), **terms)
    assert (caught.value.where, caught.value.code) == (where, code)


def test_a_slip_of_the_pen_is_a_mistake_of_the_caller() -> None:
    with pytest.raises(TypeError, match="did you mean 'currency'"):
        ob.grade(WATCH, steps([0.16]), curency="GBP")  # type: ignore[call-arg]
    with pytest.raises(ob.OrderbookError) as caught:
        ob.grade(WATCH)
    assert (caught.value.where, caught.value.code) == ("lists", "flag_missing")
    with pytest.raises(OSError, match="none"):
        ob.grade(WATCH, "none.csv")


def test_an_answer_is_drawn(tmp_path: Path) -> None:
    import matplotlib as mpl

    mpl.use("Agg")
    order = ob.grade(WATCH, steps([0.16, 0.17, 0.19]))
    ranked = ob.rank(WATCH, steps([0.16, 0.17, 0.19]))
    for answer in (ob.size(WATCH), order, ranked, ob.compare(WATCH, order.stages)):
        axes = answer.plot()
        assert axes.get_xlabel()
        assert answer.plot(axes) is axes
        assert answer.save_picture(tmp_path / "picture.svg").read_text(encoding="utf-8").startswith("<?xml")
        mpl.pyplot.close(axes.figure)  # type: ignore[attr-defined]
    with pytest.raises(ob.OrderbookError) as caught:
        order.save_picture("picture.doc")
    assert caught.value.code == "picture_format_not_known"


def test_a_notebook_shows_a_table_and_every_text_is_escaped() -> None:
    listed: Catalogue = steps([0.16, 0.17, 0.19], supplier="<script>x</script>")
    page = ob.grade(WATCH, listed, count=2)._repr_html_()
    assert "<script>" not in page
    assert page.count("<tr>") == 3
    assert "<b>Next:</b> Order &lt;script&gt;" in page
    assert "strength, mm" in page
    assert " ± " in page
