"""The house as DEVELOPERS.md draws it: the map is of today, no circle, one name for one type, no private door."""

import ast
import importlib
from pathlib import Path

import pytest

from orderbook.choosing.rounds import best_plan
from tests.benchmarks.__main__ import PAGES
from tests.benchmarks.choosing_speed import one_of_ours
from tests.choosing.test_milp import a_list
from tests.project.house import PAGE, ROOT, circles, doubled_classes, page_with_map


def test_the_map_in_the_page_is_the_one_of_the_code() -> None:
    page = PAGE.read_text(encoding="utf-8")
    assert page_with_map(page) == page, "run: python -m tests.project.house"


def test_no_modules_import_each_other_in_a_circle() -> None:
    assert circles() == []


def test_a_class_name_stands_once() -> None:
    assert doubled_classes() == {}


def test_no_test_imports_a_private_name() -> None:
    found = []
    for path in sorted((ROOT / "tests").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("orderbook"):
                found += [f"{_short(path)}: {a.name}" for a in node.names if _private(a.name)]
    assert found == []


def _short(path: Path) -> str:
    return str(path.relative_to(ROOT))


def _private(name: str) -> bool:
    return name.startswith("_") and not name.startswith("__")


def test_every_benchmark_runs_by_one_command_and_has_a_page() -> None:
    folder = ROOT / "tests/benchmarks"
    with_main = {p.stem for p in folder.glob("*.py") if "\ndef main(" in p.read_text(encoding="utf-8")}
    assert with_main - {"__main__"} == set(PAGES)
    assert [page for page in PAGES.values() if not (ROOT / "docs/reference" / page).is_file()] == []


@pytest.mark.parametrize("name", PAGES)
def test_every_benchmark_can_be_imported(name: str) -> None:
    importlib.import_module(f"tests.benchmarks.{name}")


def test_the_benchmark_of_the_choice_times_the_choice() -> None:
    choice = a_list(30, 2, 9)
    plan = best_plan(choice)
    assert one_of_ours(plan) == pytest.approx(plan.cost)
