"""Follows the page of usual changes literally, on a copy of the checkout, and counts the files that a hand touches.

`python -m tests.project.changes` makes every change and writes the table of files touched into DEVELOPERS.md.
"""

from __future__ import annotations

import hashlib
import os
import re
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

from tests.project.house import PAGE, ROOT

HOW_TO = ROOT / "docs/how-to/change-the-code.md"
BEGIN, END = "<!-- changes: python -m tests.project.changes -->", "<!-- end of changes -->"
LEFT_OUT = shutil.ignore_patterns(
    ".git", "__pycache__", "dist", "build", "*.egg-info", ".venv", ".*_cache", ".hypothesis"
)
_STEP = re.compile(
    r"^(?P<what>In|New) `(?P<file>[^`]+)`(?:, (?P<where>after|before|in place of) `(?P<mark>[^`]+)`)?:\n+"
    r"```\w*\n(?P<text>.*?)^```$",
    re.MULTILINE | re.DOTALL,
)
_BLOCK = re.compile(r"^```(?P<kind>sh|pycon)\n(?P<body>.*?)^```$", re.MULTILINE | re.DOTALL)


@dataclass(frozen=True, slots=True)
class Step:
    """One edit by hand: a new file, or lines after, before or in place of the line that holds a mark."""

    file: str
    text: str
    where: str = ""
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Change:
    """One change of the page: what is edited, what is run, and what then holds."""

    title: str
    steps: tuple[Step, ...]
    commands: tuple[str, ...]
    proofs: tuple[str, ...] = field(default=())


def changes(page: Path = HOW_TO) -> list[Change]:
    """Read the changes of the page, one a heading of the second level that holds steps."""
    found = []
    for part in re.split(r"^## ", page.read_text(encoding="utf-8"), flags=re.MULTILINE)[1:]:
        title, _, body = part.partition("\n")
        steps = tuple(Step(m["file"], m["text"], m["where"] or "", m["mark"] or "") for m in _STEP.finditer(body))
        blocks = [(m["kind"], m["body"]) for m in _BLOCK.finditer(body)]
        commands = [line for kind, text in blocks if kind == "sh" for line in text.splitlines() if line.strip()]
        if steps:
            found.append(Change(title, steps, tuple(commands), tuple(text for kind, text in blocks if kind == "pycon")))
    return found


def made(change: Change, folder: Path) -> tuple[int, int]:
    """Make a change on a copy of the checkout in a folder and prove it; return files by hand, and files generated.

    Raises: AssertionError with what the step, the command or the proof said.
    """
    copy = folder / "checkout"
    shutil.copytree(ROOT, copy, ignore=LEFT_OUT)
    before = _prints(copy)
    for step in change.steps:
        _edit(copy, step)
    for command in change.commands:
        words = command.split()
        assert words[0] == "python", f"only Python is run here: {command}"
        _python(copy, *words[1:])
    for number, proof in enumerate(change.proofs):
        text = copy.parent / f"proof_{number}.txt"
        text.write_text(proof, encoding="utf-8")
        _python(copy, "-m", "doctest", "-o", "NORMALIZE_WHITESPACE", "-o", "ELLIPSIS", str(text))
    _python(copy, "-m", "ruff", "check", "--no-cache", "-q", "orderbook")
    after = _prints(copy)
    touched = {name for name in before | after if before.get(name) != after.get(name)}
    by_hand = {step.file for step in change.steps}
    assert by_hand <= touched
    return len(by_hand), len(touched - by_hand)


def _edit(copy: Path, step: Step) -> None:
    path = copy / step.file
    if not step.where:
        assert not path.exists() or step.text not in path.read_text(encoding="utf-8"), f"{step.file} has it already"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(step.text, encoding="utf-8")
        return
    lines = path.read_text(encoding="utf-8").splitlines(keepends=True)
    places = [n for n, line in enumerate(lines) if step.mark in line]
    assert len(places) == 1, f"{step.file}: {len(places)} lines hold {step.mark!r}"
    at = places[0]
    first, last = {"after": (at + 1, at + 1), "before": (at, at), "in place of": (at, at + 1)}[step.where]
    lines[first:last] = [step.text]
    path.write_text("".join(lines), encoding="utf-8")


def _python(copy: Path, *arguments: str) -> None:
    surroundings = os.environ | {"PYTHONPATH": str(copy), "PYTHONDONTWRITEBYTECODE": "1"}
    done = subprocess.run(
        [sys.executable, *arguments], cwd=copy, env=surroundings, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, f"{' '.join(arguments)}\n{done.stdout}{done.stderr}"


def _prints(copy: Path) -> dict[str, str]:
    files = (path for path in copy.rglob("*") if path.is_file() and "__pycache__" not in path.parts)
    return {str(path.relative_to(copy)): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def table(counts: dict[str, tuple[int, int]]) -> str:
    """Lay out the files touched by each change."""
    lines = ["| change | files by hand | files generated |", "| --- | --- | --- |"]
    return "\n".join(lines + [f"| {title} | {hand} | {made_} |" for title, (hand, made_) in counts.items()])


def page_with_table(text: str, counts: dict[str, tuple[int, int]]) -> str:
    """Return a page with the table between its marks."""
    return re.sub(f"{BEGIN}.*{END}", lambda _: f"{BEGIN}\n{table(counts)}\n{END}", text, flags=re.DOTALL)


if __name__ == "__main__":
    counted = {}
    for one in changes():
        with tempfile.TemporaryDirectory() as place:
            counted[one.title] = made(one, Path(place))
            print(one.title, *counted[one.title], file=sys.stderr)
    PAGE.write_text(page_with_table(PAGE.read_text(encoding="utf-8"), counted), encoding="utf-8")
