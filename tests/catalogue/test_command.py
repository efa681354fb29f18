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


@pytest.fixture
def messy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a list of rows that are kept, rejected and there twice."""
    monkeypatch.chdir(tmp_path)
    header, *rows = (LISTS / "supplier_north_watch.csv").read_text(encoding="utf-8").splitlines()
    rows = [row.replace(",0.", ",7.") if n % 50 == 7 else row for n, row in enumerate(rows)] + rows[20:30]
    (tmp_path / "list.csv").write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    return tmp_path


def in_small_pieces(monkeypatch: pytest.MonkeyPatch, stop_after: int = 1000) -> None:
    from orderbook import catalogue

    pieces = catalogue.read_catalogue_chunks

    def small(*lists: object, **ways: object):  # type: ignore[no-untyped-def]
        for number, piece in enumerate(pieces(*lists, **ways, piece_bytes=5_000)):  # type: ignore[arg-type]
            if number == stop_after:
                raise KeyboardInterrupt
            yield piece

    monkeypatch.setattr("orderbook.catalogue.opening.WHOLE_BYTES", 1000)
    monkeypatch.setattr(catalogue, "read_catalogue_chunks", small)


def test_a_long_list_is_read_in_pieces_and_told_of_alike(
    messy: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys,  # type: ignore[no-untyped-def]
) -> None:
    asked = ("list.csv", "--into", "springs.csv", "--map", "north.toml")
    assert run(*asked) == 0
    whole = capsys.readouterr()
    files = {name: (messy / name).read_text() for name in ("springs.csv", "list.csv.rejects.csv", "north.toml")}
    assert "… and" in whole.out
    assert "10 duplicates" in whole.out
    for name in files:
        (messy / name).unlink()
    in_small_pieces(monkeypatch)
    assert run(*asked) == 0
    assert capsys.readouterr() == whole
    assert {name: (messy / name).read_text() for name in files} == files


@pytest.mark.parametrize("earlier", [True, False])
def test_a_reading_that_is_stopped_leaves_every_file_as_it_was(
    messy: Path,
    earlier: bool,
    monkeypatch: pytest.MonkeyPatch,
    capsys,  # type: ignore[no-untyped-def]
) -> None:
    asked = ("list.csv", "--into", "springs.csv", "--map", "north.toml")
    if earlier:
        assert run(*asked[:3]) == 0
    before = {path.name: path.read_bytes() for path in messy.iterdir()}
    in_small_pieces(monkeypatch, stop_after=5)
    assert run(*asked) == 130
    assert "nothing was left half done" in capsys.readouterr().err
    assert {path.name: path.read_bytes() for path in messy.iterdir()} == before


def test_an_old_rejects_file_says_nothing_old(messy: Path) -> None:
    run("list.csv")
    assert (messy / "list.csv.rejects.csv").read_text().count("\n") > 10
    (messy / "list.csv").write_bytes((LISTS / "supplier_north_watch.csv").read_bytes())
    run("list.csv")
    assert (messy / "list.csv.rejects.csv").read_text() == "file,line,column,text,reason,try_this\n"
