"""Blocks from the tables of a book: the same answers as the verbs and the command line give."""

import csv
import json

import pytest

from orderbook.answers.asked import barrel_of, catalogue_from
from orderbook.answers.terms import drawer_of
from orderbook.barrel.barrel import barrel_from_texts
from orderbook.barrel.sizing import size
from orderbook.catalogue import read_catalogue
from orderbook.cli import cli, console
from orderbook.functions.blocks import RANK_COLUMNS, STAGE_COLUMNS, Kept
from orderbook.functions.call import answer
from orderbook.functions.ranges import books_in, rows_in
from orderbook.locate import data_folder
from orderbook.records.definition import book_definition

DEMO = data_folder("demo_catalog")
LISTS = [DEMO / name for name in ("supplier_north_watch.csv", "supplier_west.csv")]


def table(name, rows):
    """Lay rows out as a worksheet hands them over: headers, then cells."""
    columns = book_definition().tables[name].columns
    return [[c.header for c in columns]] + [[row.get(c.key) for c in columns] for row in rows]


def side_file(name):
    with (DEMO / name).open(encoding="utf-8") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def barrels():
    # the half widths of a caliper as the command line takes them: ± = 2·a/√3 for one reading (JCGM 100, 4.3.7)
    pm = 2 * 0.03 / 3**0.5
    row = {"barrel": "R-006-B1", "bore_mm": 15.6, "bore_pm_mm": pm, "arbor_mm": 5.2, "arbor_pm_mm": pm, "depth_mm": 3.1,
           "depth_pm_mm": pm, "turns_used": 3.5, "drive": "going"}  # fmt: skip
    return table("Barrels", [{"barrel": "R-001", "bore_mm": 40.0, "arbor_mm": 13.0}, row, {}])


@pytest.fixture(scope="module")
def catalogue():
    read = read_catalogue(LISTS).catalogue
    rows = [read.row(i) for i in range(len(read))]
    return table("Catalogue", [{**r, "price": r["price_minor"] / 100 if r["price_minor"] >= 0 else None} for r in rows])


@pytest.fixture(scope="module")
def terms():
    return table("Suppliers", side_file("suppliers.csv")), table("Rates", side_file("rates.csv"))


def _command(capsys, *words):
    flags = [
        "--bore",
        "15.6",
        "--arbor",
        "5.2",
        "--depth",
        "3.1",
        "--used",
        "3.5",
        "--suppliers",
        DEMO / "suppliers.csv",
    ]
    flags += ["--rates", DEMO / "rates.csv", "--currency", "GBP", "--json"]
    assert console.run(cli, [words[0], *map(str, [*LISTS, *flags, *words[1:]])]) == 0
    return json.loads(capsys.readouterr().out)


def _same(block, columns, wanted, number):
    for line, spring in zip(block, wanted, strict=True):
        row = dict(zip(columns, line, strict=True))
        assert row[number] == spring[number]
        for key in ("supplier", "item", "why", "currency"):
            assert row[key] == spring[key]
        for key in ("width_mm", "strength_mm", "length_mm", "drive_index", "load_index", "turns_delivered", "fill"):
            assert row[key] == pytest.approx(spring[key], rel=1e-12)
        assert row["drive_index_pm"] == pytest.approx(2 * spring["drive_index_u"], rel=1e-9)
        assert row["price"] == float(spring["price"])


def test_ranking_is_that_of_the_command_line(capsys, barrels, catalogue, terms):
    block = answer("RANK_SPRINGS", ["R-006-B1", barrels, catalogue, None, *terms, None, None, 7, "GBP"])
    _same(block, RANK_COLUMNS, _command(capsys, "rank", "--top", "7")["springs"], "rank")


def test_graded_order_is_that_of_the_command_line(capsys, barrels, catalogue, terms):
    block = answer("GRADED_ORDER", ["r-006-b1", barrels, catalogue, None, *terms, None, None, 3, "gbp"])
    wanted = _command(capsys, "grade", "--count", "3")
    _same(block, STAGE_COLUMNS, wanted["stages"], "stage")
    for line, stage in zip(block, wanted["stages"], strict=True):
        row = dict(zip(STAGE_COLUMNS, line, strict=True))
        assert row["chance_percent"] == pytest.approx(100 * stage["chance_it_is_the_one"])
        assert row["step_percent"] == pytest.approx(stage["step_percent"])


def test_a_tried_spring_counts(barrels, catalogue, terms):
    """A verdict in Trials moves the choice to stronger springs, as the verdict says it must."""
    tried = {"order": "D-1", "barrel": "R-006-B1", "verdict": "too weak", "width_mm": 2.9, "strength_mm": 0.17,
             "length_mm": 560}  # fmt: skip
    columns = ["order", "barrel", "verdict", "width_mm", "strength_mm", "length_mm"]
    trials = [columns, [tried[c] for c in columns], ["D-2", "R-001", "too strong", 2.9, 0.17, 560]]
    given = ["R-006-B1", barrels, catalogue]
    before, after = (answer("GRADED_ORDER", [*given, t, *terms]) for t in (None, trials))
    drive = STAGE_COLUMNS.index("drive_index")
    assert after[0][drive] > before[0][drive]
    (seen,) = barrel_of(books_in(barrels=barrels, trials=trials), "R-006-B1").trials
    assert (seen.strength_mm, seen.verdict) == (0.17, "too weak")


def test_size_of_a_barrel_is_that_of_its_readings(barrels):
    block = {line[0]: line[1:] for line in answer("BARREL_SIZE", ["R-006-B1", barrels])}
    readings = {
        "bore": ["15.6"],
        "arbor": ["5.2"],
        "depth": ["3.1"],
        "used": ["3.5"],
        "instrument": ["caliper 0.03 mm"],
    }
    wanted = size(barrel_from_texts(readings)[0])
    for line in wanted.lines:
        assert block[line.what][0] == pytest.approx(line.value, rel=1e-12)
        assert block[line.what][2] == pytest.approx(2 * line.u, rel=1e-6)
        assert block[line.what][3] == line.source


def test_size_from_single_cells():
    block = {line[0]: line[1] for line in answer("SPRING_SIZE", [15.6, 5.2, 3.1, None, 3.5]) if line[0]}
    readings = {"bore": ["15.6"], "arbor": ["5.2"], "depth": ["3.1"], "used": ["3.5"]}
    assert block == pytest.approx({line.what: line.value for line in size(barrel_from_texts(readings)[0]).lines})


def test_columns_are_found_by_header_in_any_order(barrels):
    shuffled = [row[::-1] for row in barrels]
    assert answer("BARREL_SIZE", ["R-006-B1", shuffled]) == answer("BARREL_SIZE", ["R-006-B1", barrels])


def test_a_block_keeps_its_shape(barrels, catalogue):
    narrow = [catalogue[0], *[row for row in catalogue[1:] if row[2] == 2.9][:2]]
    block = answer("RANK_SPRINGS", ["R-006-B1", barrels, narrow])
    assert (len(block), {len(line) for line in block}) == (10, {len(RANK_COLUMNS)})
    assert len(answer("GRADED_ORDER", ["R-006-B1", barrels, narrow])) == 3


def test_rows_that_cannot_be_used_are_counted(barrels, catalogue):
    strength = [c.key for c in book_definition().tables["Catalogue"].columns].index("strength_mm")
    spoilt = [list(row) for row in catalogue[:200]]
    spoilt[3][strength], spoilt[7][strength] = "thin", None
    springs, rejects = catalogue_from(rows_in("Catalogue", spoilt, "catalogue"))
    assert (len(springs), len(rejects)) == (197, 2)
    block = answer("RANK_SPRINGS", ["R-006-B1", barrels, spoilt, None, None, None, None, None, 3])
    said = str(block)
    assert "2 rows of the catalogue could not be used" in said


@pytest.mark.parametrize(
    ("given", "said"),
    [
        (["R-999"], "#barrel: no R-999; there are: R-001, R-006-B1"),
        ([None], "#barrel_id: empty"),
        (["R-006-B1", 3.0], "#barrels: one cell. Give a table with its header"),
        (["R-006-B1", [["Barrel"], ["R-006-B1"]]], "#barrels: no column 'Restoration'"),
        (["R-006-B1", "B", [["Item"], ["a"]]], "#catalogue: no column 'Supplier'"),
        (["R-001", "B"], "#depth in Readings: not given"),
    ],
)
def test_what_is_missing_is_one_line(barrels, catalogue, given, said):
    full = ["R-006-B1", barrels, catalogue]
    given = [full[n] if value == "B" else value for n, value in enumerate(given)] + full[len(given) :]
    shown = answer("RANK_SPRINGS", given)
    assert isinstance(shown, str), shown
    assert shown.startswith(said), shown


def test_leave_out_and_barrel_number_as_a_number(barrels, catalogue):
    header = [c.key for c in book_definition().tables["Catalogue"].columns]
    without = [list(row) for row in catalogue]
    for row in without[1:]:
        if row[header.index("supplier")] == "Supplier West":
            row[header.index("leave_out")] = "yes"
    block = answer("RANK_SPRINGS", ["R-006-B1", barrels, without])
    assert {line[1] for line in block if line[1]} == {"Supplier North"}
    numbered = [list(barrels[0]), [7.0, *barrels[2][1:]]]
    assert isinstance(answer("BARREL_SIZE", [7.0, numbered]), list)


def test_what_was_worked_out_is_kept_within_bounds():
    calls = []

    def make(cells):
        calls.append(len(cells))
        return sum(map(sum, cells))

    kept = Kept(most_cells=1000)
    first = [[1.0] * 10 for _ in range(30)]
    assert kept.get(make, first) == kept.get(make, [list(row) for row in first]) == 300
    assert calls == [30]
    for n in range(20):
        kept.get(make, [[float(n)] * 10 for _ in range(30)])
        assert kept.cells <= 1000
    kept.get(make, first)
    assert calls.count(30) == len(calls) >= 21


def test_a_spring_of_which_none_is_in_stock_is_not_proposed(barrels, catalogue):
    first = answer("GRADED_ORDER", ["R-006-B1", barrels, catalogue])[1][STAGE_COLUMNS.index("item")]
    header = catalogue[0]
    item, stock = header.index("Item"), header.index("Stock")
    gone = [row if row[item] != first else [*row[:stock], 0, *row[stock + 1 :]] for row in catalogue]
    assert first not in [
        row[STAGE_COLUMNS.index("item")] for row in answer("GRADED_ORDER", ["R-006-B1", barrels, gone])
    ]


def test_a_new_spring_in_the_drawer_is_known_better_than_an_old_one():
    sizes = {"width_mm": 2.9, "strength_mm": 0.18, "length_mm": 472, "state": "in drawer"}
    rows = [{"drawer": "D-1", **sizes, "origin": "new"}, {"drawer": "D-2", **sizes, "origin": "used"}]
    rows.append({"drawer": "D-3", **sizes, "origin": "new", "state": "fitted"})
    told = drawer_of(books_in(drawer=table("Drawer", rows)))
    assert [(own.label, own.is_new) for own in told] == [("D-1", True), ("D-2", False)]  # the third is fitted
