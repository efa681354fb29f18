"""Whole processes timed in turn, A B A B …, so that a ratio holds when the machine's speed drifts."""

from __future__ import annotations

import json
import os
import statistics
import subprocess
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
# an installed package is compiled; a machine that forbids that would time the compiler
AS_INSTALLED = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}

TIMED = """
import json, sys, time
PATH = {path!r}
begin = time.perf_counter()
exec({code!r})
spent = time.perf_counter() - begin
memory = [line.split()[1] for line in open("/proc/self/status") if line.startswith("VmHWM")]
print(json.dumps([spent, int(memory[0]) / 1024]))
"""


def seconds(arguments: Sequence[str]) -> float:
    """Run the interpreter once with these arguments and return wall seconds."""
    began = time.perf_counter()
    subprocess.run([sys.executable, *arguments], cwd=ROOT, env=AS_INSTALLED, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - began


def timed(code: str, path: Path) -> tuple[float, float]:
    """Run code in a fresh Python; return its seconds and its most memory in MB."""
    program = TIMED.format(path=str(path), code=code)
    done = subprocess.run(
        [sys.executable, "-c", program], cwd=ROOT, env=AS_INSTALLED, capture_output=True, text=True, check=True
    )
    spent, memory = json.loads(done.stdout)
    return spent, memory


def ratios(peer: Sequence[str], ours: Sequence[str], runs: int = 15) -> list[float]:
    """Time the peer and ours in turn after one warm-up each; return ours / peer, pair by pair."""
    seconds(peer), seconds(ours)
    pairs = [(seconds(peer), seconds(ours)) for _ in range(runs)]
    return [mine / theirs for theirs, mine in pairs]


def growth(sizes: Sequence[int], took: Sequence[float]) -> float:
    """Fit seconds ~ size^p over sizes that double, and return p: 1 is as long again for as much again.

    >>> round(growth([1, 2, 4], [3.0, 6.0, 12.0]), 6)
    1.0
    """
    return float(np.polyfit(np.log(sizes), np.log(took), 1)[0])


def growth_table(what: str, sizes: Sequence[int], took: Sequence[float]) -> str:
    """Lay out how the time of one piece of work grows with its size."""
    heads = " | ".join(f"{size:,}" for size in sizes)
    cells = " | ".join(f"{seconds:.3g}" for seconds in took)
    return (
        f"| {what} | {heads} | grows as |\n|{' --- |' * (len(sizes) + 2)}\n"
        f"| seconds | {cells} | size^{growth(sizes, took):.2f} |"
    )


def markdown(rows: Sequence[tuple[str, str, float, Sequence[float]]]) -> str:
    """Lay out rows of (what, peer, goal, ratios) as a Markdown table."""
    lines = [
        "| what | peer in the same run | goal | median ratio | lowest – highest |",
        "| --- | --- | --- | --- | --- |",
    ]
    for what, peer, goal, found in rows:
        spread = f"{min(found):.2f} – {max(found):.2f}"
        lines.append(f"| `{what}` | `{peer}` | ≤ {goal:g} | {statistics.median(found):.2f} | {spread} |")
    return "\n".join(lines)


def write(name: str, title: str, command: str, table: str) -> None:
    """Write a result page beside the other benchmark pages and print it."""
    page = (
        f"# {title}\n\nMade by `{command}`. Ratios of medians in one run on one machine; run it on yours.\n\n{table}\n"
    )
    target = ROOT / "docs/reference/benchmarks" / f"{name}.md"
    target.parent.mkdir(parents=True, exist_ok=True)
    target.write_text(page, encoding="utf-8")
    print(page)
