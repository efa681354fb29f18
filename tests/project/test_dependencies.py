"""What is imported is declared: a fresh environment has it, and DEVELOPERS.md says what it is for."""

import ast
import re
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
# the office's own Python brings these; `org` is our add-in's type, known only inside the office
OFFICE = {"uno", "unohelper", "com", "org"}
OURS = {"orderbook", "tests"}
INSIDE = "orderbook_"  # what the extension packs for the office's own Python, there under this name


def _name(requirement: str) -> str:
    return re.match(r"[\w.-]+", requirement)[0].lower().replace("_", "-")  # type: ignore[index]


def _declared(*extras: str) -> set[str]:
    asked = [*PROJECT["dependencies"], *(r for e in extras for r in PROJECT["optional-dependencies"][e])]
    return {_name(requirement) for requirement in asked}


def _imported(folder: str) -> dict[str, str]:
    """Return top-level module → a file that imports it."""
    found: dict[str, str] = {}
    beside = {path.stem for path in (ROOT / folder).rglob("*.py")}
    for path in sorted((ROOT / folder).rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom) and node.module and not node.level:
                names = [node.module]
            for name in names:
                found.setdefault(name.partition(".")[0], str(path.relative_to(ROOT)))
    known = sys.stdlib_module_names | OFFICE | OURS | (beside - {"click"})
    return {n: p for n, p in found.items() if n not in known and not n.startswith(INSIDE)}


def _missing(folder: str, declared: set[str]) -> dict[str, str]:
    belongs = packages_distributions()
    return {
        module: path
        for module, path in _imported(folder).items()
        if not {d.lower().replace("_", "-") for d in belongs.get(module, [module])} & declared
    }


def test_the_package_imports_only_what_it_asks_for() -> None:
    optional = {_name(r) for extra in PROJECT["optional-dependencies"].values() for r in extra}
    assert _missing("orderbook", _declared() | optional) == {}


def test_the_tests_import_only_what_the_extra_test_brings() -> None:
    missing = _missing("tests", _declared("test"))
    assert {module: path for module, path in missing.items() if "benchmarks" not in path} == {}


def test_every_dependency_is_told_in_developers() -> None:
    told = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").lower()
    assert [name for name in sorted(_declared(*PROJECT["optional-dependencies"])) if name not in told] == []
