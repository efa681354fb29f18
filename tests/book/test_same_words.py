"""One verb, one word: each command is a method of `Book` or a function of the package, and says what it answers."""

from __future__ import annotations

import ast
import inspect
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
import pytest

import orderbook as ob
from orderbook import Book
from orderbook.answers.choice import ChoiceTerms
from orderbook.book.lists import read_lists
from orderbook.cli import cli, commands
from orderbook.cli.readings import FLAGS as READINGS
from orderbook.cli.spelling import in_flags
from orderbook.errors import speaking

Run = Callable[..., tuple[int, str, str]]
OF_THE_PACKAGE = {
    "demo": ob.demo,
    "size": ob.size,
    "compare": ob.compare,
    "rank": ob.rank,
    "grade": ob.grade,
    "new": ob.new,
}
OF_A_BOOK = {"import": "import_"}  # a word of Python's own
NO_VERB = {"addin"}  # what is installed on a machine
HOW_IT_IS_SHOWN = {"json", "explain", "locale", "figure", "no_pictures", "help", "top", "why"}
ELSEWHERE = {
    "no_costs": "costs",
    "all": "everything",
    "from": "source",
    "never_from": "never_from",
    "map": "column_map",
}


def verb_of(name: str) -> Callable[..., Any]:
    return getattr(Book, OF_A_BOOK.get(name, name), None) or OF_THE_PACKAGE[name]


@pytest.mark.parametrize("name", sorted(set(commands()) - NO_VERB))
def test_each_command_is_a_verb_of_python(name: str) -> None:
    assert inspect.getdoc(verb_of(name))


@pytest.mark.parametrize(
    "name", ["refresh", "check", "order", "trial", "next", "ledger", "record", "export", "import", "new"]
)
def test_a_flag_is_an_argument_of_the_same_name(name: str) -> None:
    command = cli.get_command(click.Context(cli), name)
    assert command
    arguments = set(inspect.signature(verb_of(name)).parameters) | {"book", "watch"}
    flags = {(p.opts[-1].lstrip("-") or str(p.name)).replace("-", "_") for p in command.params}
    said = {ELSEWHERE.get(flag, flag) for flag in flags} - HOW_IT_IS_SHOWN
    assert {one.removesuffix("s") for one in said} <= {one.removesuffix("s") for one in arguments}


@pytest.mark.parametrize("name", ["rank", "grade"])
def test_a_flag_of_the_choice_is_a_term_of_the_same_name(name: str) -> None:
    command = cli.get_command(click.Context(cli), name)
    assert command
    flags = (
        {p.name for p in command.params if p.name not in READINGS} - HOW_IT_IS_SHOWN - {"as_json", "lists", "stop_work"}
    )
    assert flags - {"book", "barrel", "write"} <= set(ChoiceTerms.__annotations__)


ASKED = ("orderbook.book", "orderbook.barrel", "orderbook.answers.choice", "orderbook.errors", "orderbook.cli", "orderbook.addin")  # fmt: skip # noqa: E501
PRINTED = "orderbook.reports.printed_numbers"


def test_no_command_knows_more_than_how_to_ask_and_print() -> None:
    folder = Path(inspect.getfile(verb_of)).parents[2] / "orderbook/cli"
    for path in folder.glob("*.py"):
        nodes = [n for n in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(n, ast.ImportFrom)]
        rooms = [n.module for n in nodes if n.module and n.module.startswith("orderbook.")]
        assert [room for room in rooms if not room.startswith((*ASKED, PRINTED))] == [], path.name


ON = "2026-11-30"
VERBS: dict[str, tuple[list[object], Callable[[Book, Path], Any]]] = {
    "check": (["--on", ON], lambda b, _: b.check(on=ON)),
    "check --fix": (["--fix", "--on", ON], lambda b, _: b.check(fix=True, on=ON)),
    "order": (["R-007", "--on", ON], lambda b, _: b.order("R-007", on=ON)),
    "next": (["--on", ON], lambda b, _: b.next(on=ON)),
    "next of one": (["r-007", "--on", ON], lambda b, _: b.next("r-007", on=ON)),
    "ledger": (["R-007", "--on", ON], lambda b, _: b.ledger("R-007", on=ON)),
    "record": (["R-007", "--no-costs", "--on", ON], lambda b, _: b.record("R-007", costs=False, on=ON)),
}


@pytest.mark.parametrize("verb", VERBS)
@pytest.mark.parametrize("as_json", [True, False])
def test_the_command_says_what_the_answer_says(verb: str, as_json: bool, book: Path, orderbook: Run) -> None:
    arguments, call = VERBS[verb]
    before = _bytes(book)
    name = verb.split()[0]
    status, out, err = orderbook(name, book, *arguments, *(["--json"] if as_json else []))
    _put_back(book, before)
    with speaking(in_flags):
        answer = call(Book(book), book)
        assert err == ""
        assert (json.loads(out) if as_json else out) == (_as_json(answer) if as_json else f"{answer}\n")
    assert status == int(any(f.severity == "error" for f in answer.findings) if hasattr(answer, "findings") else 0)
    assert len(answer.to_frame()) == len(answer.shown_rows())
    assert answer._repr_html_().count("<table>") <= 1


def _as_json(answer: Any) -> Any:
    return json.loads(json.dumps(answer.as_dict(), default=str))


def _bytes(book: Path) -> dict[Path, bytes]:
    return {book: book.read_bytes()} if book.is_file() else {p: p.read_bytes() for p in book.glob("*.csv")}


def _put_back(book: Path, before: dict[Path, bytes]) -> None:
    for path, content in before.items():
        path.write_bytes(content)


def test_marks_and_trials_are_methods(book: Path) -> None:
    mine = Book(book)
    lines = [row["order"] for row in mine["Orders"] if row["state"] == "planned"]
    done = mine.mark("ordered", lines[0], on="2026-03-01")
    assert mine.row("Orders", lines[0])["state"] == "ordered"
    assert done.marked == "ordered"
    with pytest.raises(ob.OrderbookError) as caught:
        mine.mark("received")
    assert caught.value.code == "order_lines_missing"
    with pytest.raises(ob.OrderbookError) as caught:
        mine.check(on="yesterday")
    assert (caught.value.code, caught.value.where) == ("date_not_read", "on")


def test_lists_read_by_the_command_are_those_of_the_package(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from orderbook.locate import data_folder

    monkeypatch.chdir(tmp_path)
    path = data_folder("demo_catalog") / "messy_german.csv"
    done = read_lists([path], supplier="Supplier East", into=Path("tidy.csv"))
    reading = ob.read_catalogue(path, supplier="Supplier East")
    assert done.as_dict() == reading.as_dict() | {"written": list(done.written)}
    assert str(done).startswith(str(reading))
    assert len(done.written) == 2
    assert (tmp_path / "tidy.csv").exists()
