"""A list ranked through its pieces, or through partitions on a cluster, beside the same list in one pass."""

from __future__ import annotations

import json
import random

import pytest

from orderbook.catalogue import plan_of, read_catalogue, read_catalogue_chunks, reading_of_frame, ways_of
from orderbook.choosing.grading import grade
from orderbook.choosing.long_lists import NEAREST, candidates, merged
from orderbook.choosing.options import Options
from orderbook.choosing.ranking import rank
from orderbook.errors import OrderbookError
from tests.choosing.choice_lists import DEMO, watch

BARREL = watch(tried=["2.9 x 0.15 x 560: too weak"])
SHOWN = Options(top=50)


@pytest.fixture(scope="module")
def long_list(tmp_path_factory):
    """Some thousands of springs of the demo, shuffled, with rows that cannot be used and rows that stand twice."""
    dice = random.Random(11)
    header, *body = (DEMO / "supplier_north_watch.csv").read_text(encoding="utf-8").splitlines()
    rows = [row.replace("NW-", f"NW-{n}-") for n in range(4) for row in body]
    dice.shuffle(rows)
    rows += [rows[100 * n] for n in range(20)] + [row.replace(",0.", ",7.") for row in rows[:30]]
    path = tmp_path_factory.mktemp("lists") / "long.csv"
    path.write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    return path


@pytest.fixture(scope="module")
def in_one_pass(long_list):
    answer = rank(BARREL, read_catalogue(long_list), SHOWN).as_dict()
    assert len(answer["springs"]) == 50
    assert answer["springs_that_do_not"] > 10 * NEAREST
    assert answer["rows_rejected"]
    assert answer["rows_duplicate"]
    return answer


def sifted(path, barrel=BARREL, named=(), piece_bytes=20_000):
    pieces = read_catalogue_chunks(path, piece_bytes=piece_bytes)
    return merged(candidates(barrel, piece, named) for piece in pieces)


def same_but_for_what_is_left_out(answer, whole):
    nearest = answer.pop("do_not_go_in")
    assert len(nearest) >= NEAREST
    assert nearest[:NEAREST] == whole["do_not_go_in"][:NEAREST]
    assert answer == {key: value for key, value in whole.items() if key != "do_not_go_in"}


@pytest.mark.parametrize("piece_bytes", [7_000, 50_000])
def test_pieces_rank_as_one_pass(long_list, in_one_pass, piece_bytes):
    found = sifted(long_list, piece_bytes=piece_bytes)
    assert found.left_out
    same_but_for_what_is_left_out(rank(BARREL, found, SHOWN).as_dict(), in_one_pass)


def test_one_pass_sifted_ranks_alike(long_list, in_one_pass):
    found = candidates(BARREL, read_catalogue(long_list))
    assert len(found.reading.catalogue) + found.left_out == in_one_pass["rows_kept"]
    same_but_for_what_is_left_out(rank(BARREL, found, SHOWN).as_dict(), in_one_pass)


def test_pieces_grade_as_one_pass(long_list):
    whole, pieces = (
        json.loads(json.dumps(grade(BARREL, springs).as_dict(explain=True), default=lambda value: value.tolist()))
        for springs in (read_catalogue(long_list), sifted(long_list))
    )
    assert len(whole["stages"]) >= 2
    same_but_for_what_is_left_out(pieces, whole)


def test_merging_in_any_groups_is_the_same(long_list, in_one_pass):
    parts = [candidates(BARREL, piece) for piece in read_catalogue_chunks(long_list, piece_bytes=20_000)]
    assert len(parts) > 4
    grouped = merged([merged(parts[:3]), merged([merged(parts[3:4]), merged(parts[4:])])])
    same_but_for_what_is_left_out(rank(BARREL, grouped, SHOWN).as_dict(), in_one_pass)


def test_a_spring_asked_for_that_does_not_go_in_is_told_of_alike(long_list):
    springs = read_catalogue(long_list)
    everything = rank(BARREL, springs).considered.offer
    too_far = [one for one in everything.unfit if one.measure not in ("tried", "limit")][
        -1
    ]  # those are offered if asked for
    item = str(everything.catalogue.item[too_far.row])
    said = []
    for asked in (springs, sifted(long_list, named=[item.lower()])):
        with pytest.raises(OrderbookError) as caught:
            rank(BARREL, asked, Options(must=(item,)))
        said.append(str(caught.value))
    assert said[0] == said[1]
    assert "does not go in" in said[0]


def test_a_list_of_which_nothing_goes_in(long_list):
    barrel = watch(bore="60", arbor="20", depth="40")
    whole = rank(barrel, read_catalogue(long_list)).as_dict()
    assert not whole["springs"]
    same_but_for_what_is_left_out(rank(barrel, sifted(long_list, barrel)).as_dict(), whole)


def test_no_piece_at_all():
    found = merged([])
    assert (len(found.reading.catalogue), found.left_out) == (0, 0)


@pytest.mark.slow
def test_partitions_on_a_cluster_of_two_workers_rank_as_one_pass(long_list, in_one_pass, tmp_path):
    dask = pytest.importorskip("dask")
    distributed = pytest.importorskip("distributed")
    from dask import dataframe

    plan = plan_of(long_list, ways_of())
    with (
        dask.config.set({"temporary-directory": str(tmp_path)}),
        distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=False, dashboard_address=None) as cluster,
        distributed.Client(cluster),
    ):
        rows = dataframe.read_csv(str(long_list), dtype=str, keep_default_na=False, blocksize="30kB")
        assert rows.npartitions > 4
        parts = dask.compute(*(dask.delayed(part_of_a_list)(part, plan) for part in rows.to_delayed()))
    answer = rank(BARREL, merged(parts), SHOWN).as_dict()
    for row in (*answer["springs"], *answer["do_not_go_in"], *in_one_pass["springs"], *in_one_pass["do_not_go_in"]):
        row.pop("line", None)  # a partition does not know where it stands in the list
    counts = ("rows_in", "rows_kept", "rows_rejected", "rows_duplicate", "springs_that_go_in", "springs_that_do_not")
    assert [answer[name] for name in counts] == [in_one_pass[name] for name in counts]
    assert answer["springs"] == in_one_pass["springs"]
    assert answer["do_not_go_in"][:NEAREST] == in_one_pass["do_not_go_in"][:NEAREST]


def part_of_a_list(frame, plan):
    return candidates(BARREL, reading_of_frame(frame, plan), marked=True)
