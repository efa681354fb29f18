"""What goes into a barrel, what it would be cut to, and in what order it is ranked."""

import numpy as np
import pytest

from orderbook.catalogue import Catalogue
from orderbook.choosing.bench import bench_of
from orderbook.choosing.fitting import fit, scale_of, strips_of
from orderbook.choosing.options import Options
from orderbook.choosing.ranking import rank
from orderbook.mechanics import drive_and_load, spring_fill
from tests.choosing.choice_lists import steps, watch


def fitted(made, **more):
    bench, _ = bench_of(watch(**more))
    return bench, *fit(bench, strips_of(made), scale_of(bench).yardstick)


def one(width, strength, length):
    return Catalogue.of(item=["A"], width_mm=[width], strength_mm=[strength], length_mm=[length])


def test_indices_are_in_per_cent_of_the_reference():
    bench, fits, _ = fitted(steps([0.15, 0.19, 0.21]))
    best = scale_of(bench).reference
    lengths = 404.39 * 0.21 / np.array([0.15, 0.19, 0.21])
    steel = {"flow_stress_mpa": bench.flow_stress_mpa, "modulus_mpa": bench.modulus_mpa}
    plain = drive_and_load(15.6, 5.2, 2.9, [0.15, 0.19, 0.21], lengths, bench.run, **steel)
    assert fits.drive_index == pytest.approx(100 * plain.drive_nmm / best.drive_nmm, rel=1e-3)
    assert fits.load_index == pytest.approx(100 * plain.load_nmm / best.load_nmm, rel=1e-3)


def test_a_long_spring_is_cut_to_the_length_of_greatest_drive():
    bench, fits, _ = fitted(one(2.9, 0.18, 900.0))
    cut = float(fits.trim_to_mm[0])
    assert 0.40 <= spring_fill(15.6, 5.2, 0.18, cut) <= 0.60
    lengths = np.arange(340.0, 566.0)
    drives = drive_and_load(15.6, 5.2, 2.9, 0.18, lengths, bench.run).drive_nmm
    here = drive_and_load(15.6, 5.2, 2.9, 0.18, cut, bench.run).drive_nmm[0]
    inside = (spring_fill(15.6, 5.2, 0.18, lengths) >= 0.40) & (spring_fill(15.6, 5.2, 0.18, lengths) <= 0.60)
    assert here >= 0.995 * drives[inside].max()


def test_a_spring_that_fits_is_left_whole():
    _, fits, _ = fitted(one(2.9, 0.18, 500.0))
    assert np.isnan(fits.trim_to_mm[0])


@pytest.mark.parametrize(
    ("spring", "says"),
    [
        ((3.05, 0.18, 500.0), "0.07 mm too wide"),
        ((2.40, 0.18, 500.0), "0.34 mm too narrow"),
        ((2.90, 0.35, 240.0), "turns too few"),
    ],
)
def test_what_does_not_go_in_names_one_measure_and_by_how_much(spring, says):
    _, fits, unfit = fitted(one(*spring))
    assert len(fits) == 0
    assert says in unfit[0].says


def test_nearest_first():
    _, _, unfit = fitted(Catalogue.concat([one(w, 0.18, 500.0) for w in (3.6, 3.05, 3.2)]))
    assert [u.row for u in unfit] == [1, 2, 0]


def test_every_row_is_in_or_out():
    rng = np.random.default_rng(5)
    n = 300
    made = Catalogue.of(
        item=[str(i) for i in range(n)],
        width_mm=rng.uniform(2.3, 3.3, n),
        strength_mm=rng.uniform(0.08, 0.35, n),
        length_mm=rng.uniform(100, 900, n),
    )
    _, fits, unfit = fitted(made)
    assert sorted([*fits.row.tolist(), *(u.row for u in unfit)]) == list(range(n))


def test_the_doubt_of_an_index_agrees_with_drawing_strips_at_random():
    """JCGM 101: draw strength and flow stress, own and common, and take the spread of the index."""
    made = steps([0.17])
    bench, fits, _ = fitted(made)
    rng = np.random.default_rng(3)
    n = 4000
    strength = 0.17 + rng.uniform(-0.005, 0.005, n)
    flow = 1700 * (1 + 0.03 * rng.standard_normal(n))
    drive = drive_and_load(15.6, 5.2, 2.9, strength, made.length_mm[0], bench.run, flow_stress_mpa=flow).drive_nmm
    assert np.std(np.log(drive)) == pytest.approx(fits.own_u[0], rel=0.1)


def test_parts_add_up_to_the_cost():
    ranking = rank(watch(tried="2.9 x 0.15 x 566: too weak"), steps(np.arange(0.12, 0.23, 0.01)), Options(top=99))
    for one_ranked in ranking.ranked:
        assert one_ranked.account.cost == pytest.approx(one_ranked.cost, rel=1e-12)


def test_the_ranking_rises_in_cost_and_shows_the_top():
    ranking = rank(watch(), steps(np.arange(0.12, 0.23, 0.005)), Options(top=4))
    costs = [r.cost for r in ranking.ranked]
    assert costs[1:] == sorted(costs[1:])
    assert costs[0] <= 1.01 * min(costs)  # the handiest of those that cost next to the least stands first
    assert len(costs) == 4


def test_dominated_springs_are_named():
    """Too short a spring of the same width: more load than a thinner one, and no more drive."""
    short = one(2.9, 0.205, 340.0)
    ranking = rank(watch(), Catalogue.concat([steps([0.17, 0.19, 0.20], price=-1), short]), Options(top=9)).as_dict()
    assert ranking["springs_dominated"] == 1
    thick = next(s for s in ranking["springs"] if s["item"] == "A")
    assert "drives no more" in thick["why"]
