"""The command: what it shows, JSON keys, files it writes, and files it leaves alone."""

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from orderbook.cli import cli, console
from orderbook.locate import data_folder
from tests.catalogue.invented import CLOCK, INCH, written

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


QUESTION = written(["Item", "Width", "Strength", "Length"], CLOCK, (1, 1, INCH))


def test_three_springs_stand_above_everything_beside_the_text_they_came_from(tmp_path, monkeypatch, capsys) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.chdir(tmp_path)
    assert run(str(LISTS / "supplier_west.csv")) == 0
    said = capsys.readouterr().out
    above, _, below = said.partition("255 rows")
    assert below
    springs = [line for line in above.splitlines() if line.startswith("W/")]
    assert len(springs) == 3
    assert "1.8 mm wide, 0.07874 mm strong, 419.1 mm long" in springs[0]
    assert "Thickness (in): 0.0031" in above
    assert max(map(len, said.splitlines())) <= 80


@pytest.mark.parametrize("name", ["messy_german.csv", "messy_inch.csv", "messy_export.xlsx"])
def test_nothing_is_wider_than_eighty_columns(name: str, tmp_path, monkeypatch, capsys) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.chdir(tmp_path)
    assert run(str(LISTS / name)) == 0
    assert max(map(len, capsys.readouterr().out.splitlines())) <= 80


def test_a_refusal_puts_a_map_beside_the_list_and_never_writes_over_one(tmp_path, monkeypatch, capsys) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.chdir(tmp_path)
    (tmp_path / "list.csv").write_text(QUESTION)
    assert run("list.csv") == 2
    place = tmp_path / "list.csv.map.toml"
    said = capsys.readouterr().err
    assert "list.csv.map.toml" in said
    assert "--map" in said
    text = place.read_text()
    assert text.count('unit = "?"') == 3
    assert run("list.csv") == 2
    assert place.read_text() == text
    assert "still asks" in capsys.readouterr().err
    units = iter(["mm", "mm", "in"])
    answered = [line.replace('"?"', f'"{next(units)}"') if 'unit = "?"' in line else line for line in text.splitlines()]
    place.write_text("\n".join(answered))
    assert run("list.csv", "--json") == 0
    assert [round(spring["length_mm"]) for spring in json.loads(capsys.readouterr().out)["springs"]] == [
        1500,
        2250,
        1750,
    ]


def test_a_refusal_names_the_flag_that_cures_it(tmp_path, monkeypatch, capsys) -> None:  # type: ignore[no-untyped-def]
    monkeypatch.chdir(tmp_path)
    (tmp_path / "list.csv").write_text("Item,Width mm,Gauge,Length mm\na,2.5,12,340\n")
    assert run("list.csv") == 2
    assert "--gauge TABLE.csv" in capsys.readouterr().err
    (tmp_path / "dollar.csv").write_text("Item,Width mm,Strength mm,Length mm,Price\na,2.5,0.16,340,$4.80\n")
    assert run("dollar.csv") == 0
    assert "--currency GBP" in capsys.readouterr().out


def test_a_long_list_is_printed_as_json_piece_by_piece(messy: Path, monkeypatch, capsys) -> None:  # type: ignore[no-untyped-def]
    assert run("list.csv", "--json") == 0
    whole = json.loads(capsys.readouterr().out)
    in_small_pieces(monkeypatch)
    assert run("list.csv", "--json") == 0
    assert json.loads(capsys.readouterr().out) == whole


@pytest.mark.skipif(os.name == "nt", reason="no SIGTERM there")
def test_a_reading_that_is_ended_from_outside_leaves_nothing_hidden(tmp_path: Path) -> None:
    header, *rows = (LISTS / "supplier_north_watch.csv").read_text(encoding="utf-8").splitlines()
    many = [row.replace("NW-", f"NW-{n}-") for n in range(1500) for row in rows]
    (tmp_path / "list.csv").write_text("\n".join([header, *many]) + "\n", encoding="utf-8")
    (tmp_path / "springs.csv").write_text(
        "supplier,item,width_mm,strength_mm,length_mm,end,material,price,currency,pack,stock,note\n"
    )
    before = {path.name: path.stat().st_size for path in tmp_path.iterdir()}
    command = [sys.executable, "-m", "orderbook", "catalogue", "list.csv", "--into", "springs.csv"]
    running = subprocess.Popen(command, cwd=tmp_path, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    part = tmp_path / ".springs.csv.part"
    while not part.exists() and running.poll() is None:
        time.sleep(0.01)
    running.send_signal(signal.SIGTERM)
    assert running.wait(timeout=60) == 128 + signal.SIGTERM
    assert {path.name: path.stat().st_size for path in tmp_path.iterdir()} == before
