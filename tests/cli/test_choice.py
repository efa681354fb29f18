"""The commands rank and grade as a restorer runs them: answers, exit statuses, one-line errors."""

import json
import re

import pytest
from click.testing import CliRunner

from orderbook.cli import cli, console
from tests.choosing.choice_lists import DEMO

WATCH = ["--bore", "15.6", "--arbor", "5.2", "--depth", "3.1", "--used", "3.5"]
NORTH = str(DEMO / "supplier_north_watch.csv")
TOO_WEAK = ["--tried", "2.9 x 0.15 x 560: too weak"]
MONEY = ["--suppliers", str(DEMO / "suppliers.csv"), "--rates", str(DEMO / "rates.csv"), "--currency", "GBP"]
FUSEE = ["--bore", "40", "--arbor", "13", "--depth", "22", "--drive", "fusee", "--used", "6"]
CLOCKS = [str(DEMO / name) for name in ("supplier_north_clock.csv", "supplier_east.csv", "supplier_west.csv")]


def run(capsys, *arguments):
    status = console.run(cli, list(arguments))
    out, err = capsys.readouterr()
    return status, out, err


def test_grade_answers_in_words(capsys):
    status, out, _ = run(capsys, "grade", NORTH, *WATCH, *TOO_WEAK)
    assert status == 0
    lines = out.splitlines()
    assert lines[0] == "Try in this order, weakest first; stop at the first that runs well."
    for words in ("Next: order", "Why: ", "let it down fully", "More: --why"):
        assert words in out
    assert len(lines) <= 24
    assert max(map(len, lines)) <= 80
    _, out, _ = run(capsys, "grade", NORTH, *WATCH, *TOO_WEAK, "--why")
    for words in ("Try in this order, weakest first", "Next: Order", "Why these", "Taken for granted", "Caution:"):
        assert words in out
    assert max(map(len, out.splitlines())) <= 100


def test_grade_and_rank_agree(capsys):
    _, graded, _ = run(capsys, "grade", NORTH, *WATCH, *TOO_WEAK, "--json")
    _, ranked, _ = run(capsys, "rank", NORTH, *WATCH, *TOO_WEAK, "--json")
    first = json.loads(graded)["stages"][0]
    assert json.loads(ranked)["springs"][0]["item"] == first["item"]


def test_the_fusee_clock_says_what_a_rod_test_would_save_and_goes_on_after_one_more_verdict(capsys):
    one = ["--tried", "21 x 0.32 x 1750: too weak"]
    status, out, _ = run(capsys, "grade", *CLOCKS, *FUSEE, *MONEY, *one, "--json")
    answer = json.loads(out)
    assert status == 0
    assert answer["stages"]
    assert answer["rod_test"]["pays"]
    assert float(answer["rod_test"]["saves"]) > float(answer["rod_test"]["takes"])
    more = ["--tried", "21 x 0.34 x 1650: too weak"]
    _, out, _ = run(capsys, "grade", *CLOCKS, *FUSEE, *MONEY, *one, *more, "--json")
    again = json.loads(out)
    assert again["need_median"] > answer["need_median"]
    assert again["next_action"]


def test_a_rod_test_narrows_the_need(capsys):
    tried = ["--tried", "21 x 0.32 x 1750: too weak"]
    rods = ["--rod", "300 g x 180 mm: gives, falling", "--rod", "210 g x 180 mm: just drives"]
    width = []
    for more in ([], rods):
        _, out, _ = run(capsys, "grade", *CLOCKS, *FUSEE, *MONEY, *tried, *more, "--json")
        answer = json.loads(out)
        width.append(answer["need_high"] / answer["need_low"])
    assert width[1] < 0.8 * width[0]


@pytest.mark.parametrize(
    ("flags", "where", "status"),
    [
        (["--count", "0"], "--count", 2),
        (["--count", "9"], "--count", 2),
        (["--spread", "-1"], "--spread", 2),
        (["--must", "XX-1"], "--must XX-1", 2),
        (["--currency", "QQQ"], "--currency", 2),
        (["--suppliers", str(DEMO / "rates.csv")], "rates.csv", 2),
        (["--at-most", "a lot"], "--at-most", 2),
        (["--tried", "2.9 x 0.15 x 560: too week"], "--tried", 2),
        (["--figure", "belief.doc"], "belief.doc", 2),
    ],
)
def test_a_wrong_flag_is_one_line_that_names_it(capsys, flags, where, status):
    got, out, err = run(capsys, "grade", NORTH, *WATCH, *flags)
    assert got == status
    assert out == ""
    assert len(err.splitlines()) == 1
    assert where in err


def test_weights_below_zero_and_unknown_ones(capsys, tmp_path):
    for text, saw in (("lambda = -1", "-1"), ("lamda = 1", "lamda"), ("lambda =", "weights.toml")):
        path = tmp_path / "weights.toml"
        path.write_text(text, encoding="utf-8")
        status, _, err = run(capsys, "grade", NORTH, *WATCH, "--weights", str(path))
        assert status == 2
        assert saw in err


def test_nothing_goes_in_is_answered_with_status_one(capsys):
    status, out, _ = run(capsys, "grade", NORTH, "--bore", "15.6", "--arbor", "5.2", "--depth", "1.2", "--used", "3.5")
    assert status == 1
    assert "mm too wide" in out or "turns too few" in out


def test_verdicts_that_contradict_stop_the_order(capsys):
    tried = ["--tried", "2.9 x 0.19 x 450: too weak", "--tried", "2.9 x 0.14 x 560: too strong"]
    status, out, _ = run(capsys, "grade", NORTH, *WATCH, *tried)
    assert status == 1
    assert out.startswith("Stop: tried springs")
    assert "friction" in out
    status, out, _ = run(capsys, "grade", NORTH, *WATCH, *tried, "--even-so")
    assert "Try in this order" in out


def test_the_drawer_file_is_read(capsys, tmp_path):
    drawer = tmp_path / "drawer.csv"
    drawer.write_text("label,width_mm,strength_mm,length_mm,state\nD-1,2.95,0.175,560,new\n", encoding="utf-8")
    _, out, _ = run(capsys, "grade", NORTH, *WATCH, *TOO_WEAK, "--drawer", str(drawer), "--json")
    assert json.loads(out)["stages"][0]["item"] == "D-1"


@pytest.mark.parametrize("ending", [".png", ".svg"])
def test_the_picture_is_written_and_is_the_same_again(capsys, tmp_path, ending):
    pictures = [tmp_path / f"{n}{ending}" for n in "ab"]
    for picture in pictures:
        run(capsys, "grade", NORTH, *WATCH, *TOO_WEAK, "--figure", str(picture))
    if ending == ".png":
        assert pictures[0].read_bytes() == pictures[1].read_bytes()
    assert b"NW-" in pictures[0].read_bytes() or ending == ".png"


@pytest.mark.parametrize("command", ["rank", "grade"])
def test_help_names_every_flag(command):
    told = CliRunner().invoke(cli, [command, "--help"]).output
    for flag in ("--count", "--weights", "--suppliers", "--never-from", "--at-most", "--tried", "--json"):
        assert flag in told


@pytest.mark.parametrize("command", ["rank", "grade"])
def test_a_long_list_is_read_in_pieces_and_answers_alike(capsys, monkeypatch, command):
    whole = run(capsys, command, NORTH, *WATCH, *TOO_WEAK)
    from orderbook.answers import choice

    monkeypatch.setattr("orderbook.catalogue.opening.WHOLE_BYTES", 1000)
    assert run(capsys, command, NORTH, *WATCH, *TOO_WEAK) == whole
    monkeypatch.undo()
    monkeypatch.setattr(choice, "SHORT", 100)
    assert run(capsys, command, NORTH, *WATCH, *TOO_WEAK) == whole
    assert whole[2] == ""  # no progress where stderr is not a terminal


def test_a_list_is_read_as_the_flags_say(capsys, tmp_path):
    plain = tmp_path / "plain.csv"
    plain.write_text("Ref;B;E;L\nA1;2,9;16;560\nA2;2,9;17;540\nA3;2,9;18;500\n", encoding="utf-8")
    entries = {"Ref": '"item"', "B": '{meaning = "width", unit = "mm", decimal = ","}'}
    entries |= {"E": '{meaning = "strength", unit = "1/100 mm"}', "L": '{meaning = "length", unit = "mm"}'}
    known = tmp_path / "plain.toml"
    known.write_text("[columns]\n" + "".join(f"{k} = {v}\n" for k, v in entries.items()), encoding="utf-8")
    said = ["--supplier", "Supplier North", "--map", str(known), "--json"]
    status, out, _ = run(capsys, "rank", str(plain), *WATCH, *said)
    springs = json.loads(out)["springs"]
    assert status == 0
    assert {spring["supplier"] for spring in springs} == {"Supplier North"}
    assert {spring["item"]: spring["strength_mm"] for spring in springs} == {"A1": 0.16, "A2": 0.17, "A3": 0.18}


def test_flags_of_reading_do_not_go_with_a_book(capsys, tmp_path):
    status, _, err = run(capsys, "rank", "--book", str(tmp_path / "b.xlsx"), "--barrel", "R-1-B1", "--sheet", "List")
    assert status == 2
    assert "beside a book" in err


@pytest.mark.parametrize("command", ["grade", "rank"])
def test_turns_used_that_were_only_assumed_are_warned_of_above_the_table(capsys, command):
    _, out, _ = run(capsys, command, NORTH, *WATCH[:-2], *TOO_WEAK)
    assert out.startswith("Warning: --used: ")
    assert out.count("between windings assumed") == 1


def test_nothing_asked_is_answered_by_the_help(capsys):
    status, out, err = run(capsys)
    assert status == 0
    assert out.startswith("Usage: orderbook ")
    assert "grade" in out
    assert not err


def test_what_is_paid_is_said_before_the_score(capsys):
    _, out, _ = run(capsys, "grade", NORTH, *WATCH, *TOO_WEAK, *MONEY)
    said = " ".join(out.split())
    (goods, postage) = re.search(r"springs ([\d.]+), postage ([\d.]+)", said).groups()
    assert "score" not in said
    _, told, _ = run(capsys, "grade", NORTH, *WATCH, *TOO_WEAK, *MONEY, "--json")
    assert float(goods) == pytest.approx(sum(float(one["price"]) for one in json.loads(told)["stages"]))
    assert float(postage) == 4.5  # what suppliers.csv says of Supplier North
    _, out, _ = run(capsys, "grade", NORTH, *WATCH, *TOO_WEAK, *MONEY, "--why")
    said = " ".join(out.split())
    assert f"You would pay {goods} GBP and postage {postage} for this order." in said
    assert said.index("You would pay") < said.index("As a score")


def test_rank_and_compare_warn_of_too_strong_a_spring_and_a_table_with_cuts_of_cutting(capsys):
    _, ranked, _ = run(capsys, "rank", NORTH, *WATCH, *TOO_WEAK, "--top", "5")
    _, graded, _ = run(capsys, "grade", NORTH, *WATCH, *TOO_WEAK, "--why")
    _, compared, _ = run(capsys, "compare", "2.9 x 0.15 x 560", "2.9 x 0.18 x 470", *WATCH, "--no-pictures")
    ranked, graded, compared = (" ".join(out.split()) for out in (ranked, graded, compared))
    for out in (ranked, graded, compared):
        assert "Caution: Too strong a spring" in out
    _, told, _ = run(capsys, "grade", NORTH, *WATCH, *TOO_WEAK, "--json")
    cut = any(one["trim_to_mm"] for one in json.loads(told)["stages"])
    assert ("cannot be made longer again" in graded) == cut
    assert "cannot be made longer again" not in compared
