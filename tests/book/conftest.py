"""The invented book, as a folder of CSV files and as a workbook."""

import importlib.util
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from orderbook.book.csv_folder import put_whole, text_of
from orderbook.book.new import new
from orderbook.book.opened import opened
from orderbook.cli import cli
from orderbook.cli.console import run
from orderbook.records.rows import Append, rows_from


def _invented() -> dict[str, list[dict[str, Any]]]:
    path = Path(__file__).parents[1] / "records" / "conftest.py"
    spec = importlib.util.spec_from_file_location("invented_book", path)
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    rows: dict[str, list[dict[str, Any]]] = module.invented_rows()
    return rows


def fill_folder(folder: Path, tables: dict[str, list[dict[str, Any]]]) -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    for table, rows in tables.items():
        put_whole(folder / f"{table}.csv", text_of(table, rows_from(table, rows)))
    return folder


@pytest.fixture
def rows() -> dict[str, list[dict[str, Any]]]:
    return _invented()


def fill_workbook(path: Path, tables: dict[str, list[dict[str, Any]]]) -> Path:
    new(path)
    opened(path).save([Append(table, row) for table, rows in tables.items() if table != "Settings" for row in rows])
    return path


@pytest.fixture
def folder(tmp_path: Path, rows: dict[str, list[dict[str, Any]]]) -> Path:
    return fill_folder(tmp_path / "book", rows)


@pytest.fixture(scope="session")
def workbook_bytes(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The invented book as a workbook, written once in each process."""
    return fill_workbook(tmp_path_factory.mktemp("invented") / "book.xlsx", _invented()).read_bytes()


@pytest.fixture
def workbook(tmp_path: Path, workbook_bytes: bytes) -> Path:
    path = tmp_path / "book.xlsx"
    path.write_bytes(workbook_bytes)
    return path


@pytest.fixture(params=["folder", "workbook"])
def book(request: pytest.FixtureRequest) -> Path:
    """The invented book in both forms."""
    path: Path = request.getfixturevalue(request.param)
    return path


@pytest.fixture
def orderbook(capsys: pytest.CaptureFixture[str]) -> Callable[..., tuple[int, str, str]]:
    """Run a command line; return its exit status, stdout and stderr."""

    def call(*arguments: object) -> tuple[int, str, str]:
        status = run(cli, [str(a) for a in arguments])
        said = capsys.readouterr()
        return status, said.out, said.err

    return call
