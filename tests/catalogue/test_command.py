"""The command: JSON keys, files it writes, and files it leaves alone."""

import json
from pathlib import Path

import pytest

from orderbook.cli import cli, console
from orderbook.locate import data_folder

LISTS = data_folder("demo_catalog")


def run(*arguments: str) -> int:
    return console.run(cli, ["catalogue", *arguments])


def test_json_has_the_keys_scripts_depend_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.chdir(tmp_path)
    assert run(str(LISTS / "messy_german.csv"), "--supplier", "Supplier East", "--json") == 0
    answer = json.loads(capsys.readouterr().out)
    assert {"springs", "columns", "rejects", "rows_in", "rows_kept", "rows_rejected", "rows_duplicate"} < set(answer)
    assert set(answer["columns"][0]) >= {"header", "meaning", "unit", "samples"}
    assert set(answer["rejects"][0]) >= {"file", "line", "column", "text", "reason", "try_this"}
    assert answer["springs"][2]["price"] == "52.80"
    assert answer["springs"][2]["price_each"] == "4.40"
    assert (tmp_path / "messy_german.csv.rejects.csv").read_text().count("\n") == 7


def test_files_of_others_are_left_alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.chdir(tmp_path)
    theirs = {"messy_inch.csv.rejects.csv": "my notes\n", "out.csv": "a,b\n1,2\n", "map.toml": "not a map"}
    for name, text in theirs.items():
        (tmp_path / name).write_text(text)
    assert run(str(LISTS / "messy_inch.csv")) == 2
    assert run(str(LISTS / "supplier_west.csv"), "--into", "out.csv") == 2
    assert run(str(LISTS / "supplier_west.csv"), "--map", "map.toml") == 2
    assert run(str(LISTS / "supplier_west.csv"), "--into", "book.xlsx") == 2
    for name, text in theirs.items():
        assert (tmp_path / name).read_text() == text
    said = capsys.readouterr().err.splitlines()
    assert len(said) == 4
    assert not any("Traceback" in line for line in said)


def test_a_list_without_one_spring_is_answered_with_an_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "list.csv").write_text("item,width mm,strength mm,length mm\na,,,\n")
    assert run("list.csv") == 1
