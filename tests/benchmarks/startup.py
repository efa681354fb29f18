"""How soon the command line answers, against importing numpy: `python -m tests.benchmarks.startup`."""

from tests.benchmarks.side_by_side import markdown, ratios, write

NUMPY = ["-c", "import numpy"]
SIZE = ["-m", "orderbook", "size", "--bore", "11.40", "--arbor", "2.40", "--depth", "3.1", "--strength", "0.105"]


WHY = """\
Where the goal is missed: `size` works out today what each source says of the strength, each with its ±, and the range
that is useful; half of its time is numpy's own import.
"""


def main() -> None:
    """Time `--help` and `size`, and write the page."""
    rows = [
        ("orderbook --help", 'python -c "import numpy"', 1.5, ratios(NUMPY, ["-m", "orderbook", "--help"])),
        ("orderbook size …", 'python -c "import numpy"', 2.5, ratios(NUMPY, SIZE)),
        ("orderbook size … --json", 'python -c "import numpy"', 2.5, ratios(NUMPY, [*SIZE, "--json"])),
    ]
    write(
        "startup",
        "How soon the command line answers",
        "python -m tests.benchmarks.startup",
        f"{markdown(rows)}\n\n{WHY}",
    )


if __name__ == "__main__":
    main()
