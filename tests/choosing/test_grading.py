"""The graded order for a barrel: what the issue of the trade asks, and laws that hold for any list."""

import json

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from orderbook.answers.terms import suppliers_of
from orderbook.barrel.barrel import barrel_from_texts
from orderbook.catalogue import Catalogue, read_catalogue
from orderbook.choosing.grading import grade
from orderbook.choosing.options import Options, SpringAtHand, count_from
from orderbook.choosing.ranking import rank
from orderbook.choosing.weights import weights_from_table
from orderbook.errors import OrderbookError
from orderbook.measures.money import Money
from orderbook.records.books import books_from
from tests.choosing.choice_lists import DEMO, steps, watch
from tests.choosing.outside import least_cost_outside

FINE = np.arange(0.10, 0.2601, 0.005)


def finite(value):
    """Infinity as JSON has it."""
    if isinstance(value, dict):
        return {key: finite(item) for key, item in value.items()}
    if isinstance(value, list):
        return [finite(item) for item in value]
    return None if isinstance(value, float) and not np.isfinite(value) else value


def strengths(grading):
    return [stage["strength_mm"] for stage in grading.as_dict()["stages"]]


def codes(answer):
    return {finding.code for finding in answer.findings}


def test_the_demo_list_after_a_spring_too_weak():
    reading = read_catalogue(DEMO / "supplier_north_watch.csv")
    answer = grade(watch(tried="2.9 x 0.15 x 560: too weak"), reading).as_dict()
    stages = answer["stages"]
    assert 2 <= len(stages) <= 3
    drives = [stage["drive_index"] for stage in stages]
    assert drives == sorted(drives)
    assert stages[0]["strength_mm"] > 0.15
    assert drives[0] > 71.1  # the index of the spring that was too weak
    assert stages[-1]["strength_mm"] <= answer["reference"]["strength_mm"]
    assert all(stage["width_mm"] <= 3.1 - 0.12 for stage in stages)
    assert answer["rows_in"] == answer["rows_kept"] + answer["rows_rejected"] + answer["rows_duplicate"]
    assert answer["springs_that_go_in"] + len(answer["do_not_go_in"]) == answer["rows_kept"]


@pytest.mark.parametrize(
    ("drive", "tried", "expected"),
    [
        # common practice, no source: "two or three, a step or two apart"
        ("fusee", "2.9 x 0.15 x 566: too weak", (3,)),
        ("fusee", "2.9 x 0.14 x 607: too weak", (3,)),
        ("going", "2.9 x 0.15 x 566: too weak", (3,)),
        ("going", "2.9 x 0.17 x 500: too weak", (3,)),
    ],
)
def test_a_list_in_fine_steps_gives_the_common_practice(drive, tried, expected):
    grading = grade(watch(drive=drive, tried=tried), steps(FINE))
    found = strengths(grading)
    assert len(found) in expected
    gaps = np.diff(found)
    assert np.all((gaps > 0.004) & (gaps < 0.026))


@settings(max_examples=15, deadline=None)
@given(st.integers(0, 2**32 - 1), st.sampled_from(["auto", "1", "2", "3"]))
def test_rank_one_is_stage_one(seed, count):
    rng = np.random.default_rng(seed)
    n = int(rng.integers(2, 25))
    made = steps(rng.uniform(0.12, 0.24, n), price=rng.integers(300, 3000, n))
    options = Options(count=count_from(count), top=3)
    barrel = watch(tried="2.9 x 0.14 x 607: too weak")
    ranking, grading = rank(barrel, made, options).as_dict(), grade(barrel, made, options).as_dict()
    if grading["stages"]:
        for name in ("item", "drive_index", "load_index"):
            assert ranking["springs"][0][name] == grading["stages"][0][name]
        assert ranking["springs"][0]["cost"] == grading["planned_cost"]


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_what_is_explained_recomputes_the_optimum_outside(seed):
    rng = np.random.default_rng(seed)
    made = steps(rng.uniform(0.14, 0.23, 9), price=rng.integers(300, 3000, 9))
    rows = [{"supplier": "Supplier North", "currency": "GBP", "postage": "4.50"}]
    terms = suppliers_of(books_from({"Suppliers": rows}, currency="GBP"))
    grading = grade(watch(tried="2.9 x 0.14 x 607: too weak"), made, Options(suppliers=terms))
    told = json.loads(json.dumps(finite(grading.as_dict(explain=True, reasons=False)), default=lambda v: v.tolist()))
    assert told["plan"]["least_cost"] == pytest.approx(least_cost_outside(told), rel=1e-9)
    prices = {(row["item"], row["price_minor"] / 100) for row in map(made.row, range(len(made)))}
    assert {(one["item"], one["price"]) for one in told["candidates"]} <= prices


def test_prices_in_another_money_choose_the_same_springs():
    cheap = grade(watch(tried="2.9 x 0.15 x 566: too weak"), steps(FINE, price=1000))
    yen = steps(FINE, price=1500, currency=["JPY"] * len(FINE))
    assert strengths(cheap) == strengths(grade(watch(tried="2.9 x 0.15 x 566: too weak"), yen))


def test_one_more_verdict_moves_the_order_up():
    once = grade(watch(drive="fusee", tried="2.9 x 0.14 x 607: too weak"), steps(FINE))
    again = grade(watch(drive="fusee", tried=["2.9 x 0.14 x 607: too weak", "2.9 x 0.16 x 531: too weak"]), steps(FINE))
    assert strengths(again)[0] > strengths(once)[0]
    assert again.as_dict()["need_median"] > once.as_dict()["need_median"]


@pytest.mark.parametrize(
    "tried",
    [
        ["2.9 x 0.18 x 480: too weak", "2.9 x 0.16 x 530: too strong"],
        ["2.9 x 0.21 x 404: too weak", "2.9 x 0.12 x 700: ran well"],
    ],
)
def test_verdicts_that_contradict_hold_the_order_back(tried):
    grading = grade(watch(tried=tried), steps(FINE))
    assert "strength_not_the_fault" in codes(grading)
    assert grading.as_dict()["stages"] == []
    assert "friction" in grading.next_action
    assert grade(watch(tried=tried), steps(FINE), Options(even_so=True)).next_action != grading.next_action


def test_a_spring_that_never_ran_at_the_most_the_barrel_can_do_leaves_nothing_worth_ordering():
    """Its greatest torque is the reference's drive, or a little more: 0.155 of these."""
    grading = grade(watch(tried="2.9 x 0.155 x 548: never ran"), steps(FINE))
    assert grading.as_dict()["stages"] == []
    assert "nearly_strongest_too_weak" in codes(grading)
    assert "friction" in grading.next_action


def test_nothing_goes_in_names_the_nearest():
    wide = steps([0.15, 0.17], width=3.05)
    grading = grade(watch(), wide)
    assert "nothing_goes_in" in codes(grading)
    told = grading.as_dict()["do_not_go_in"]
    assert told[0]["says"] == "0.07 mm too wide"
    assert told[0]["measure"] == "width"
    assert told[0]["by"] == pytest.approx(0.07)


def test_an_empty_list_is_said():
    none = Catalogue.concat([])
    assert "nothing_goes_in" in codes(grade(watch(), none))


def test_a_missing_price_is_assumed_and_said():
    some = steps([0.15, 0.165, 0.18], price=[1000, -1, 1200])
    grading = grade(watch(), some, Options(must=("S165",)))
    assert "price_assumed" in codes(grading)
    stage = next(s for s in grading.as_dict()["stages"] if s["item"] == "S165")
    assert stage["price"] == ""
    assert stage["price_assumed"]


def test_no_prices_at_all_costs_are_multiples():
    grading = grade(watch(), steps([0.15, 0.165, 0.18], price=-1, currency=[""] * 3))
    assert grading.as_dict()["currency"] == ""
    assert strengths(grading) == strengths(grade(watch(), steps([0.15, 0.165, 0.18])))


def test_a_supplier_without_a_rate_is_left_out_and_said():
    both = Catalogue.concat([steps(FINE), steps(FINE, currency=["EUR"] * len(FINE), supplier="Supplier East")])
    grading = grade(watch(), both, Options(currency="GBP"))
    assert "no_rate_for_supplier" in codes(grading)
    assert all(stage["supplier"] == "Supplier North" for stage in grading.as_dict()["stages"])
    alone = grade(watch(), steps(FINE, currency=["EUR"] * len(FINE)), Options(currency="GBP"))
    assert "no_rate_for_any" in codes(alone)


def test_never_from_must_and_at_most():
    both = Catalogue.concat([steps(FINE), steps(FINE + 0.0025, price=500, supplier="Supplier West")])
    assert {s["supplier"] for s in grade(watch(), both).as_dict()["stages"]} == {"Supplier West"}
    never = grade(watch(), both, Options(never_from=("supplier west",))).as_dict()
    assert {s["supplier"] for s in never["stages"]} == {"Supplier North"}
    must = grade(watch(), both, Options(must=("S190",))).as_dict()
    assert "S190" in [s["item"] for s in must["stages"]]
    poor = grade(watch(), both, Options(at_most="5.00")).as_dict()
    assert len(poor["stages"]) == 1
    broke = grade(watch(), both, Options(at_most="1.00"))
    assert "no_order_possible" in codes(broke)


@pytest.mark.parametrize(
    ("must", "supplier"),
    [("S190", "Supplier West"), ("Supplier North S190", "Supplier North"), ("supplier west  s190", "Supplier West")],
)
def test_must_takes_the_cheapest_of_that_item_or_the_suppliers_that_is_named(must, supplier):
    both = Catalogue.concat([steps(FINE), steps(FINE, price=500, supplier="Supplier West")])
    stages = grade(watch(), both, Options(must=(must,))).as_dict()["stages"]
    assert supplier in {s["supplier"] for s in stages if s["item"] == "S190"}
    with pytest.raises(OrderbookError) as refused:
        grade(watch(), both, Options(must=("Supplier East S190",)))
    assert refused.value.code == "must_not_there"


def test_a_supplier_to_leave_out_that_nobody_is_called_is_said_with_the_names_there_are():
    both = Catalogue.concat([steps(FINE), steps(FINE, price=500, supplier="Supplier West")])
    grading = grade(watch(), both, Options(never_from=("Suplier West",)))
    said = next(str(f) for f in grading.findings if f.code == "never_from_not_there")
    assert "Suplier West" in said
    assert "Supplier North, Supplier West" in said
    assert "never_from_not_there" not in codes(grade(watch(), both, Options(never_from=("supplier west ",))))


def test_the_drawer_is_used_when_it_fits():
    owned = SpringAtHand("D-0004", 2.9, 0.175, 485.4, None, True)
    answer = grade(watch(tried="2.9 x 0.15 x 566: too weak"), steps(FINE), Options(drawer=(owned,))).as_dict()
    assert answer["stages"][0]["item"] == "D-0004"


def test_a_priced_drawer_is_used_where_the_list_has_no_prices():
    """Without prices in the list a spring counts as one median: so does the owned one, whatever it cost."""
    unpriced = steps(FINE, price=-1, currency=[""] * len(FINE))
    owned = SpringAtHand("D-0004", 2.9, 0.175, 485.4, Money(950, "GBP"), True)
    tried = watch(tried="2.9 x 0.15 x 566: too weak")
    answer = grade(tried, unpriced, Options(drawer=(owned,))).as_dict()
    assert answer["stages"][0]["item"] == "D-0004"
    assert answer["currency"] == ""


def test_a_drawer_spring_of_unknown_price_does_not_pass_for_free():
    owned = SpringAtHand("D-0004", 2.9, 0.175, 485.4, None, True)
    grading = grade(watch(tried="2.9 x 0.15 x 566: too weak"), steps(FINE), Options(drawer=(owned,)))
    stage = grading.as_dict()["stages"][0]
    assert (stage["item"], stage["price"], stage["price_assumed"]) == ("D-0004", "", True)
    assert "in the drawer; price assumed" in stage["why"]
    assert "1 of " in next(str(f) for f in grading.findings if f.code == "price_assumed")
    row = grading.considered.offer.springs.owned
    assert grading.considered.offer.springs.price[row] == pytest.approx(1000)


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5])
def test_a_count_is_kept(count):
    assert len(grade(watch(), steps(FINE), Options(count=count)).as_dict()["stages"]) == count


@pytest.mark.parametrize("text", ["0", "9", "two", "-1"])
def test_a_count_no_order_has_is_refused(text):
    with pytest.raises(OrderbookError) as refused:
        count_from(text)
    assert refused.value.code == "count_not_sensible"


def test_a_weight_below_zero_is_refused():
    with pytest.raises(OrderbookError) as refused:
        weights_from_table({"lambda": -1})
    assert refused.value.code == "weight_not_sensible"
    with pytest.raises(OrderbookError) as refused:
        weights_from_table({"lamda": 1})
    assert refused.value.code == "weight_not_known"


def test_weights_in_money_and_as_multiples_say_the_same():
    multiples, _ = weights_from_table({"lambda": 20, "trial": 1})
    money, currency = weights_from_table({"lambda": "200.00", "trial": "10.00", "currency": "GBP"})
    a = grade(watch(), steps(FINE), Options(weights=multiples)).as_dict()
    b = grade(watch(), steps(FINE), Options(weights=money, weights_currency=currency)).as_dict()
    assert a["weights"] == b["weights"]
    assert a["stages"] == b["stages"]


CLOCK = {"bore": ["56.04"], "arbor": ["18.92"], "depth": ["38.61"], "used": ["5.6"], "drive": ["fusee"]}


def clock(*tried):
    return barrel_from_texts({**CLOCK, "tried": list(tried)})[0]


@pytest.mark.parametrize(
    "tried",
    [
        ("37.5 x 0.419 x 2480: too weak", "36 x 0.48 x 1850: too weak", "36 x 0.52 x 2000: too weak"),
        ("37.5 x 0.419 x 2480: too weak", "37 x 0.58 x 1950: too weak"),
        ("37.5 x 0.52 x 2100: too weak",),
        ("37.5 x 0.5 x 2150: never ran",),
    ],
    ids=["three, up to the strongest", "thicker than the strongest useful", "one of drive 97", "never ran"],
)
def test_nothing_is_proposed_after_one_nearly_as_strong_as_any_useful_was_too_weak(tried):
    reading = read_catalogue(DEMO / "supplier_north_clock.csv")
    grading = grade(clock(*tried), reading)
    held = codes(grading) & {"nearly_strongest_too_weak", "nothing_stronger"}
    assert held
    assert grading.fittings == ()
    assert "Look for friction first" in grading.next_action
    even_so = grade(clock(*tried), reading, Options(even_so=True))
    assert even_so.fittings
    assert even_so.next_action != grading.next_action


def test_no_spring_proposed_drives_less_than_the_strongest_that_was_too_weak():
    tried = ("37.5 x 0.419 x 2480: too weak", "36 x 0.48 x 1850: too weak")
    reading = read_catalogue(DEMO / "supplier_north_clock.csv")
    ranking = rank(clock(*tried), reading, Options(top=999))
    failed = max(one.at for one in ranking.considered.seen)
    drives = np.log([one["drive_index"] / 100 for one in ranking.as_dict()["springs"]])
    assert len(drives)
    assert drives.min() > failed
    left_out = [u for u in ranking.as_dict()["do_not_go_in"] if u["measure"] == "tried"]
    assert left_out
    assert all("which was too weak" in one["says"] for one in left_out)


def test_a_list_with_nothing_stronger_says_so_and_not_that_nothing_goes_in():
    made = steps([0.13, 0.14, 0.15])
    grading = grade(watch(tried="2.9 x 0.16 x 531: too weak"), made)
    assert "nothing_stronger" in codes(grading)
    assert "nothing_goes_in" not in codes(grading)
    assert grading.next_action.startswith("Order nothing from these lists: none of their springs drives more")
    assert grade(watch(tried="2.9 x 0.16 x 531: too weak"), made, Options(even_so=True, count=1)).fittings


def test_where_no_spring_is_clearly_stronger_nothing_is_worth_ordering():
    """0.165 was too weak; 0.17 drives 3 % more, and hardly any need lies between."""
    grading = grade(watch(tried="2.9 x 0.165 x 515: too weak"), steps([0.16, 0.17]))
    assert "nothing_worth_ordering" in codes(grading)
    assert grading.fittings == ()


def test_after_one_that_ran_well_nothing_is_to_be_ordered():
    tried = ["2.9 x 0.15 x 566: too weak", "2.9 x 0.18 x 472: ran well"]
    grading = grade(watch(tried=tried), steps(FINE))
    assert grading.fittings == ()
    assert grading.next_action.startswith("Keep the spring that ran well (2.9 x 0.18 x 472):")
    assert grade(watch(tried=tried), steps(FINE), Options(even_so=True)).fittings


def test_a_spring_that_loads_more_than_the_strongest_useful_is_for_after_a_rod_test():
    grading = grade(watch(), steps([0.20, 0.205, 0.21, 0.22]), Options(must=("S220",)))
    load = {stage["item"]: stage["load_index"] for stage in grading.as_dict()["stages"]}
    assert load["S220"] > 100
    for stage in grading.as_dict()["stages"]:
        assert ("fit it only after a rod test" in stage["why"]) == (load[stage["item"]] > 100)


def test_a_spring_no_stronger_than_one_too_weak_names_that_verdict():
    answer = grade(
        watch(tried="2.9 x 0.18 x 472: too weak"), steps([0.15, 0.17]), Options(must=("S150",), even_so=True)
    ).as_dict()
    first = next(s for s in answer["stages"] if s["item"] == "S150")
    assert "too weak" in first["why"]
