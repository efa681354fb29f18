"""The house drawn from its code: `python -m tests.project.house` writes the map of the rooms into DEVELOPERS.md."""

from __future__ import annotations

import ast
import re
import tomllib
from collections import defaultdict
from collections.abc import Iterable, Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PAGE = ROOT / "DEVELOPERS.md"
BEGIN, END = "<!-- rooms: python -m tests.project.house -->", "<!-- end of rooms -->"


def modules(folder: Path = ROOT / "orderbook") -> dict[str, ast.Module]:
    """Return every module of the package by its dotted name."""
    found = {}
    for path in sorted(folder.rglob("*.py")):
        parts = path.relative_to(folder.parent).with_suffix("").parts
        name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        found[name] = ast.parse(path.read_text(encoding="utf-8"))
    return found


def imports(tree: ast.Module, known: Iterable[str]) -> Iterator[str]:
    """Name the modules of the package that a module imports anywhere: at its head, within a function, for types."""
    names = set(known)
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name in names)
        elif isinstance(node, ast.ImportFrom) and node.module in names:
            for alias in node.names:
                inner = f"{node.module}.{alias.name}"
                yield inner if inner in names else str(node.module)


def circles() -> list[list[str]]:
    """Return the groups of modules that import each other, whichever way round one starts."""
    found = modules()
    arrows = {name: set(imports(tree, found)) - {name} for name, tree in found.items()}
    # a package's front hands out names of the modules within it: its users mean those
    arrows.pop("orderbook")
    return [sorted(group) for group in _strongly_connected(arrows) if len(group) > 1]


def _strongly_connected(arrows: dict[str, set[str]]) -> Iterator[set[str]]:
    reached = {name: _reached(name, arrows) for name in arrows}
    left = set(arrows)
    while left:
        name = min(left)
        group = {other for other in reached[name] & left if name in reached.get(other, ())} | {name}
        left -= group
        yield group


def _reached(start: str, arrows: dict[str, set[str]]) -> set[str]:
    seen: set[str] = set()
    todo = [start]
    while todo:
        for name in arrows.get(todo.pop(), ()):
            if name not in seen:
                seen.add(name)
                todo.append(name)
    return seen


def doubled_classes() -> dict[str, list[str]]:
    """Return the class names that stand in more than one module."""
    where = defaultdict(list)
    for name, tree in modules().items():
        for node in tree.body:
            if isinstance(node, ast.ClassDef):
                where[node.name].append(name)
    return {name: places for name, places in where.items() if len(places) > 1}


def layers() -> list[str]:
    """Return the rooms from the uppermost down, as the contract of imports has them."""
    setting = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    contract = setting["tool"]["importlinter"]["contracts"][0]
    return [room.strip() for layer in contract["layers"] for room in layer.split("|")]


def map_of_rooms() -> str:
    """Return the table of rooms: subject, and which rooms below it uses."""
    found, order = modules(), layers()
    lines = ["| room | subject | uses |", "| --- | --- | --- |"]
    for room in order:
        of_room = [name for name in found if name == f"orderbook.{room}" or name.startswith(f"orderbook.{room}.")]
        used = {arrow.split(".")[1] for name in of_room for arrow in imports(found[name], found) if "." in arrow}
        subject = (ast.get_docstring(found[f"orderbook.{room}"]) or "").split("\n\n")[0].replace("\n", " ")
        below = ", ".join(one for one in order if one in used and one != room) or "–"
        lines.append(f"| `{room}` | {subject.rstrip('.')} | {below} |")
    return "\n".join(lines)


def page_with_map(text: str) -> str:
    """Return a page with the map of today between its marks."""
    return re.sub(f"{BEGIN}.*{END}", lambda _: f"{BEGIN}\n{map_of_rooms()}\n{END}", text, flags=re.DOTALL)


if __name__ == "__main__":
    PAGE.write_text(page_with_map(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
