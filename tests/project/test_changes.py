"""The page of usual changes is followed literally, and the files that a hand touches are counted."""

from pathlib import Path

import pytest

from tests.project.changes import Change, changes, made
from tests.project.house import PAGE

CHANGES = changes()


def written() -> dict[str, str]:
    lines = [line.strip("| ").split(" | ") for line in PAGE.read_text(encoding="utf-8").splitlines() if "|" in line]
    return {cells[0]: cells[1] for cells in lines if len(cells) == 3}


@pytest.mark.slow
@pytest.mark.parametrize("change", CHANGES, ids=lambda one: one.title)
def test_a_usual_change_touches_the_files_that_the_page_says(change: Change, tmp_path: Path) -> None:
    by_hand, _ = made(change, tmp_path)
    assert written()[change.title] == str(by_hand), "run: python -m tests.project.changes"


def test_the_table_names_every_change() -> None:
    assert list(written())[-len(CHANGES) :] == [one.title for one in CHANGES]
