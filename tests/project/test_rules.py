"""The rules of the house: layers, style and types, checked in the same run as everything else."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize(
    "command",
    [
        ["ruff", "check", "."],
        ["ruff", "format", "--check", "."],
        ["mypy"],
        ["importlinter.cli"],
    ],
    ids=["ruff", "format", "mypy", "layers"],
)
def test_rule(command: list[str]) -> None:
    if command[0] == "importlinter.cli":
        command = ["-c", "from importlinter.cli import lint_imports_command as c; c(['--no-cache'])"]
    else:
        command = ["-m", *command]
    done = subprocess.run([sys.executable, *command], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
