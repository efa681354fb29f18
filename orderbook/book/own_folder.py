"""A folder that a command fills, and fills again, without ever writing over what a person put or changed there."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path

from orderbook.errors import error

MARK = ".made-by-orderbook.json"


def fill(folder: Path, files: Mapping[str, bytes], *, may_step_aside: bool = False) -> Path:
    """Write files into a folder of our own and return it; with `may_step_aside` the next free name is taken instead.

    A folder is ours while it is new, empty, or holds only files we wrote that nobody has changed since.
    Raises: OrderbookError(folder_not_ours) naming what was found in it.
    """
    chosen = folder
    number = 2
    while (foreign := _foreign(chosen)) is not None:
        if not may_step_aside:
            raise error("folder_not_ours", where=str(folder), saw=f"it holds {foreign}")
        chosen, number = folder.with_name(f"{folder.name}-{number}"), number + 1
    _clear(chosen, files)
    for name, content in files.items():
        target = chosen / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes(content)
    (chosen / MARK).write_text(json.dumps({name: _fingerprint(content) for name, content in files.items()}, indent=1))
    return chosen


def _clear(folder: Path, files: Mapping[str, bytes]) -> None:
    """Take away what an earlier run wrote, nobody has changed, and this run does not write."""
    ours = _written(folder)
    for path in [p for p in folder.rglob("*") if p.is_file()]:
        name = path.relative_to(folder).as_posix()
        if name in ours and name not in files and _fingerprint(path.read_bytes()) == ours[name]:
            path.unlink()


def _foreign(folder: Path) -> str | None:
    """Say what in the folder is not ours to write over, or None."""
    if not folder.exists():
        return None
    if not folder.is_dir():
        return "a file, not a folder"
    ours = _written(folder)
    for path in sorted(p for p in folder.rglob("*") if p.is_file() and p.name != MARK):
        name = path.relative_to(folder).as_posix()
        if name not in ours:
            return f"{name}, which this command did not write"
        if _fingerprint(path.read_bytes()) != ours[name]:
            return f"{name}, which was changed since"
    return None


def _written(folder: Path) -> dict[str, str]:
    try:
        noted = json.loads((folder / MARK).read_text(encoding="utf-8"))
    except (FileNotFoundError, ValueError):
        return {}
    return noted if isinstance(noted, dict) else {}


def _fingerprint(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
