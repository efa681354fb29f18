"""Large lists: the fast way, the careful way, pieces and a cluster all give the same answer."""

from __future__ import annotations

import csv
import dataclasses
import random
import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from orderbook.catalogue import (
    Catalogue,
    CatalogueReading,
    Limits,
    bulk,
    read_catalogue,
    read_catalogue_chunks,
    reading,
    texts,
)
from orderbook.errors import OrderbookError
from orderbook.locate import data_folder

LISTS = data_folder("demo_catalog")
TEXT_LISTS = sorted(path.name for path in LISTS.glob("*.csv") if path.name.startswith(("supplier_", "messy_g")))


def same_springs(one: Catalogue, other: Catalogue) -> None:
    for field in dataclasses.fields(Catalogue):
        assert getattr(one, field.name).tolist() == getattr(other, field.name).tolist(), field.name


def same_reading(one: CatalogueReading, other: CatalogueReading) -> None:
    same_springs(one.catalogue, other.catalogue)
    assert one.rejects == other.rejects
    assert one.counts() == other.counts()
    assert one.columns == other.columns
    assert one.findings == other.findings


@pytest.fixture(scope="module")
def damaged_list(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Some ten thousand rows with everything that is irregular but no stray quote."""
    dice = random.Random(7)
    rows = (LISTS / "supplier_north_watch.csv").read_text(encoding="utf-8").splitlines()
    header, body = rows[0], rows[1:]
    out = ["Price list (invented)", "", header]
    for n in range(12_000):
        row = dice.choice(body).replace("NW-", f"NW-{n % 9000}-")
        out.append(row)
        kind = dice.random()
        if kind < 0.002:
            out.append("")
        elif kind < 0.004:
            out.append(",".join(row.split(",")[:5]))
        elif kind < 0.005:
            out.append(header)
        elif kind < 0.007:
            out.append(row + ",,")
        elif kind < 0.009:
            out.append(row.replace(",hole,", ',"hole, ""round""",'))
        elif kind < 0.011:
            out.append(row.replace(",0.", ",7."))
        elif kind < 0.013:
            out.append(row)
        elif kind < 0.014:
            out.append(",,,,,,,,")
        elif kind < 0.016:
            out.append(row.replace(",hole,", ",Öse ¾,"))
    out.append("Total,,,,,,1234.50,,")
    path = tmp_path_factory.mktemp("lists") / "damaged.csv"
    path.write_text("\n".join(out) + "\n", encoding="utf-8")
    return path


def without_extra_cells(path: Path, place: Path) -> Path:
    """The list without the rows that only the careful way can mend (blank cells beyond the header)."""
    text = path.read_text(encoding="utf-8")
    narrow = [line for line in text.splitlines(keepends=True) if len(next(csv.reader([line]))) <= 9]
    place.write_text("".join(narrow), encoding="utf-8")
    return place


def carefully(path: Path, monkeypatch: pytest.MonkeyPatch) -> CatalogueReading:
    """Read a list row by row, however long it is."""
    monkeypatch.setattr(texts, "LARGE", 10**9)
    return read_catalogue(path)


def by_pyarrow(pyarrow: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    """Read short lists as long ones are read, by pyarrow or as if it were not installed."""
    monkeypatch.setattr(bulk, "PAYS", 0)
    if pyarrow:
        pytest.importorskip("pyarrow")
    else:
        monkeypatch.setitem(sys.modules, "orderbook.catalogue.arrow", None)


@pytest.mark.parametrize("pyarrow", [True, False])
def test_fast_way_is_the_careful_way(
    damaged_list: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, pyarrow: bool
) -> None:
    by_pyarrow(pyarrow, monkeypatch)
    path = without_extra_cells(damaged_list, tmp_path / "list.csv")
    careful = carefully(path, monkeypatch)
    assert careful.rows_rejected > 10
    assert careful.rows_duplicate > 10
    monkeypatch.setattr(texts, "LARGE", 10)
    cut, made = texts.many_at_a_time, []
    monkeypatch.setattr(texts, "many_at_a_time", lambda *a: made.append(cut(*a)) or made[-1])
    fast = read_catalogue(path)
    assert any(made), "the fast way was not taken"
    same_reading(fast, careful)


def test_what_the_fast_way_cannot_do_is_done_the_careful_way(
    damaged_list: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    careful = carefully(damaged_list, monkeypatch)
    monkeypatch.setattr(texts, "LARGE", 10)
    same_reading(read_catalogue(damaged_list), careful)


@pytest.mark.parametrize("pyarrow", [True, False])
@pytest.mark.parametrize("name", TEXT_LISTS)
def test_small_lists_by_the_fast_way(name: str, pyarrow: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    by_pyarrow(pyarrow, monkeypatch)
    careful = carefully(LISTS / name, monkeypatch)
    monkeypatch.setattr(texts, "LARGE", 10)
    same_reading(read_catalogue(LISTS / name), careful)


def joined_pieces(pieces: Iterator[CatalogueReading]) -> tuple[Catalogue, list[object], np.ndarray]:
    readings = list(pieces)
    assert len(readings) > 1
    counts = np.array([list(reading.counts().values()) for reading in readings]).sum(axis=0)
    rejects = [reject for reading in readings for reject in reading.rejects]
    return Catalogue.concat([reading.catalogue for reading in readings]), rejects, counts


@pytest.mark.parametrize("piece_bytes", [3_000, 200_000])
def test_pieces_are_the_whole(damaged_list: Path, piece_bytes: int) -> None:
    whole = read_catalogue(damaged_list)
    springs, rejects, counts = joined_pieces(read_catalogue_chunks(damaged_list, piece_bytes=piece_bytes))
    same_springs(springs, whole.catalogue)
    assert rejects == list(whole.rejects)
    assert counts.tolist() == list(whole.counts().values())


@pytest.mark.parametrize("name", TEXT_LISTS)
def test_pieces_of_every_demo_list(name: str) -> None:
    whole = read_catalogue(LISTS / name)
    springs = Catalogue.concat([r.catalogue for r in read_catalogue_chunks(LISTS / name, piece_bytes=700)])
    same_springs(springs, whole.catalogue)


def test_a_mark_is_decided_from_the_whole_list_not_from_a_piece(tmp_path: Path) -> None:
    rows = ["item;width;strength;length;price EUR"] + [f"a{n};2,5;0,16;340;1.250" for n in range(200)]
    path = tmp_path / "list.csv"
    path.write_text("\n".join([*rows, "last;2,5;0,16;340;12,50"]) + "\n", encoding="utf-8")
    first = next(iter(read_catalogue_chunks(path, piece_bytes=300)))
    assert set(first.catalogue.price_minor.tolist()) == {125_000}
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    first = next(iter(read_catalogue_chunks(path, piece_bytes=300)))
    assert set(first.catalogue.price_minor.tolist()) == {-1}
    assert "price_mark_undecided" in {found.code for found in first.findings}


@pytest.mark.parametrize("held", [0, 10**9])
def test_progress_counts_every_pass(held: int, monkeypatch: pytest.MonkeyPatch) -> None:
    said: list[tuple[int, int]] = []
    path = LISTS / "supplier_north_watch.csv"
    monkeypatch.setattr(reading, "HELD_IN_PIECES", held)
    list(read_catalogue_chunks(path, piece_bytes=20_000, progress=lambda done, size: said.append((done, size))))
    assert len(said) == (3 if held else 6)
    assert [done for done, _ in said[:3]] == sorted(done for done, _ in said[:3])
    assert said[2] == (path.stat().st_size, path.stat().st_size)


def test_rows_over_the_limit_are_refused(damaged_list: Path) -> None:
    with pytest.raises(OrderbookError) as caught:
        list(read_catalogue_chunks(damaged_list, limits=Limits(rows=500), piece_bytes=3_000))
    assert caught.value.code == "list_too_large"


def test_pieces_of_two_lists_drop_what_stands_in_both(damaged_list: Path) -> None:
    both = [damaged_list, LISTS / "supplier_north_watch.csv", damaged_list]
    whole = read_catalogue(both)
    springs, _, counts = joined_pieces(read_catalogue_chunks(both, piece_bytes=60_000))
    same_springs(springs, whole.catalogue)
    assert counts.tolist() == list(whole.counts().values())
    assert whole.rows_duplicate > 10_000


def test_an_item_that_differs_from_an_earlier_piece_is_told_of(tmp_path: Path) -> None:
    rows = ["item,width,strength,length"] + [f"a{n},2.5,0.16,{300 + n}" for n in range(200)] + ["a7,2.5,0.16,900"]
    path = tmp_path / "list.csv"
    path.write_text("\n".join([*rows, "a8,2.5,0.16,308"]) + "\n", encoding="utf-8")
    told = [f for piece in read_catalogue_chunks(path, piece_bytes=900) for f in piece.findings]
    assert [(f.code, f.saw) for f in told if f.code == "item_differs"] == [
        ("item_differs", "a7 in line 202 and before")
    ]


@pytest.mark.parametrize("piece_bytes", [900, 300_000])
def test_whether_short_rows_are_meant_is_decided_from_the_whole_list(tmp_path: Path, piece_bytes: int) -> None:
    header, *body = (LISTS / "supplier_north_watch.csv").read_text(encoding="utf-8").splitlines()
    rows = [row.replace("NW-", f"NW-{n}-") for n in range(12) for row in body]
    for share, kept in ((0.25, True), (0.1, False)):
        cut = int(share * len(rows))
        short = [",".join(row.split(",")[:7]) for row in rows[:cut]] + rows[cut:]
        path = tmp_path / "list.csv"
        path.write_text("\n".join([header, *short]) + "\n", encoding="utf-8")
        whole = read_catalogue(path)
        assert (whole.rows_rejected == 0) is kept
        springs, rejects, counts = joined_pieces(read_catalogue_chunks(path, piece_bytes=piece_bytes))
        same_springs(springs, whole.catalogue)
        assert rejects == list(whole.rejects)
        assert counts.tolist() == list(whole.counts().values())
