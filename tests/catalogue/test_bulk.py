"""Rows cut many at a time: by pyarrow, by the csv module, and row by row, all alike."""

from __future__ import annotations

import csv
import io
import random
import sys

import pytest

from orderbook.catalogue import bulk
from orderbook.catalogue.bulk import CutRows, cut_by_csv, cut_rows


def told(rows: CutRows | None) -> tuple[list[list[str]], list[list[str]]] | None:
    """Regular rows and irregular ones, without blank lines, which the two ways count as one or the other."""
    if rows is None:
        return None
    columns = [[column.cells[code] for code in column.codes] for column in rows.columns]
    regular = [list(row) for row in zip(*columns, strict=True) if any(row)]
    return regular, [[cell.strip() for cell in cells] for _, cells in rows.irregular if any(cells)]


def garbage(dice: random.Random, letters: str) -> bytes:
    lines = []
    for _ in range(dice.randint(1, 6)):
        cells = 3 if dice.random() < 0.9 else dice.randint(1, 5)
        lines.append(",".join("".join(dice.choices(letters, k=dice.randint(0, 4))) for _ in range(cells)))
    end = dice.choice(["\n", "\r\n"])
    return (end.join(lines) + dice.choice(["", end])).encode() or b"\n"


@pytest.mark.parametrize("letters", ["ab", 'ab"', 'a "\t', "ä€"])
def test_both_ways_cut_garbage_alike(letters: str) -> None:
    pytest.importorskip("pyarrow")
    from orderbook.catalogue.arrow import cut_by_pyarrow

    dice, cut = random.Random(letters), 0
    for data in (garbage(dice, letters) for _ in range(1500)):
        plain = told(cut_by_csv(data, 0, ",", 3))
        assert told(cut_by_pyarrow(data, 0, ",", 3)) == plain, data
        cut += plain is not None
    assert cut > 300


@pytest.mark.parametrize("letters", ["ab", 'ab"', "ä€"])
def test_what_is_cut_is_what_the_csv_module_reads_in_one_go(letters: str) -> None:
    dice = random.Random(letters)
    for data in (garbage(dice, letters) for _ in range(500)):
        found = told(cut_by_csv(data, 0, ",", 3))
        every = [row for row in csv.reader(io.StringIO(data.decode(), newline="")) if any(row)]
        if found is not None:
            assert found[0] == [row for row in every if len(row) == 3]
            assert len(found[1]) == sum(len(row) != 3 for row in every)


def test_places_count_from_the_first_row_over_many_pieces() -> None:
    lines = [b"a,b\n"] * 1000
    lines[7], lines[500], lines[999] = b"a\n", b"a,b,c\n", b"\n"
    rows = cut_by_csv(b"head\n" + b"".join(lines), 5, ",", 2)
    assert rows is not None
    assert rows.irregular == [(7, ["a"]), (500, ["a", "b", "c"]), (999, [])]
    assert len(rows) == 1000


@pytest.mark.parametrize("data", [b'a,"b\nc",d\n', b"a,b\x00,c\n", b"a,b\rc,d\n", b"a,\xff,c\n"])
@pytest.mark.parametrize("pyarrow", [True, False])
def test_what_is_not_one_line_a_row_is_left_alone(data: bytes, pyarrow: bool, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bulk, "PAYS", 0)
    if not pyarrow:
        monkeypatch.setitem(sys.modules, "orderbook.catalogue.arrow", None)
    assert cut_rows(b"x,y,z\n" * 300 + data, 0, ",", 3) is None


def test_without_pyarrow_the_csv_module_is_taken(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bulk, "PAYS", 0)
    monkeypatch.setitem(sys.modules, "orderbook.catalogue.arrow", None)
    monkeypatch.setattr(bulk, "cut_by_csv", lambda *_: "taken")
    assert cut_rows(b"a,b\n", 0, ",", 2) == "taken"
