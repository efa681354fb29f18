"""Run every benchmark and rewrite its page: `python -m tests.benchmarks`, or only those named.

Each runs as a process of its own, one after the other, so that none slows another; a machine that does nothing else
gives figures worth keeping. What cannot run here (LibreOffice is not installed) is said and left as it was.
"""

from __future__ import annotations

import subprocess
import sys
import time

from tests.benchmarks.side_by_side import ROOT

# module → the page it writes under docs/reference
PAGES = {
    "startup": "benchmarks/startup.md",
    "mechanics": "benchmarks/mechanics.md",
    "catalogue_robustness": "robustness.md",
    "catalogue_speed": "benchmarks/catalogue.md",
    "choosing_speed": "benchmarks/choosing_speed.md",
    "choosing_habits": "benchmarks/choosing_habits.md",
    "records": "benchmarks/records.md",
    "workbook": "benchmarks/workbook.md",
    "learning": "benchmarks/learning.md",
    "functions_calc": "benchmarks/functions.md",
}


def main(names: list[str]) -> int:
    """Run the benchmarks named, or all; return 1 if one failed."""
    for name in names:
        if name not in PAGES:
            print(f"no benchmark {name}; there are: {', '.join(PAGES)}", file=sys.stderr)
            return 2
    failed = []
    for name in names or PAGES:
        print(f"{name} …", file=sys.stderr)
        began = time.monotonic()
        done = subprocess.run([sys.executable, "-m", f"tests.benchmarks.{name}"], cwd=ROOT, stdout=subprocess.DEVNULL)
        print(f"{name}: {time.monotonic() - began:.0f} s, docs/reference/{PAGES[name]}", file=sys.stderr)
        if done.returncode:
            failed.append(name)
    if failed:
        print(f"did not run: {', '.join(failed)}", file=sys.stderr)
    return int(bool(failed))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
