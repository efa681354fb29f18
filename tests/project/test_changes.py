"""The page of usual changes is followed literally, and the files that a hand touches are counted."""

from pathlib import Path

import pytest

from tests.project.changes import BEGIN, END, Change, changes, made
from tests.project.house import PAGE

CHANGES = changes()


def written() -> dict[str, str]:
    """Return the files by hand that DEVELOPERS.md tells, by change."""
    told = PAGE.read_text(encoding="utf-8").partition(BEGIN)[2].partition(END)[0]
    lines = [line.strip("| ").split(" | ") for line in told.strip().splitlines()[2:]]
    return {cells[0]: cells[1] for cells in lines}


@pytest.mark.slow
@pytest.mark.parametrize("change", CHANGES, ids=lambda one: one.title)
def test_a_usual_change_touches_the_files_that_the_page_says(change: Change, tmp_path: Path) -> None:
    by_hand, _ = made(change, tmp_path)
    assert written()[change.title] == str(by_hand), "run: python -m tests.project.changes"


def test_the_table_names_every_change() -> None:
    assert list(written()) == [one.title for one in CHANGES]
