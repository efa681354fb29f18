"""Folders that a command fills, without ever writing over what a person put or changed there.

`fill` makes a whole folder ours (the demo, an export). `put_beside` adds the files of one piece to any folder: what is
there already stays, and only a file that was written for the same piece, and not changed since, is written again.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import tempfile
from collections.abc import Mapping
from pathlib import Path

from orderbook.errors import error

MARK = ".made-by-orderbook.json"
# names that Windows keeps for devices, with or without an ending
_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(1, 10))}


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
    _note(chosen, {name: (_fingerprint(content), "") for name, content in files.items()})
    return chosen


def put_beside(folder: Path, files: Mapping[str, bytes], *, whose: str) -> Path:
    """Write the files of one piece into a folder that may hold anything, and return it; all of them or none.

    Parameters: whose, what they are written for, such as `record R-007`. What an earlier run wrote for the same, and
    this run does not write, is taken away, if nobody changed it since.
    Raises: OrderbookError(folder_not_ours | file_not_ours) naming what is in the way.
    """
    if folder.exists() and not folder.is_dir():
        raise error("folder_not_ours", where=str(folder), saw="it is a file, not a folder")
    noted = _noted(folder)
    for name in files:
        if trouble := _in_the_way(folder / name, noted.get(name), whose):
            raise error("file_not_ours", where=str(folder / name), saw=trouble)
    folder.mkdir(parents=True, exist_ok=True)
    for name, (fingerprint, owner) in list(noted.items()):
        if owner == whose and name not in files and _is_untouched(folder / name, fingerprint):
            (folder / name).unlink()
            del noted[name]
    for name, content in files.items():
        _put_whole(folder / name, content)
        noted[name] = _fingerprint(content), whose
    _note(folder, noted)
    return folder


def file_name(name: str) -> str:
    """Return a name of the user's as the name of a file: it never leads into another folder.

    A name that had to be changed gets a few figures of its own, so that two of them never meet.

    >>> file_name("R-007"), file_name("../x"), file_name("2026/14"), file_name("NUL")
    ('R-007', 'x-d6b96a', '2026-14-daeb5e', 'NUL-ae6de1')
    """
    plain = re.sub(r"[^\w.-]+", "-", name).strip("-. ")[:60]
    device = plain.partition(".")[0].casefold() in _DEVICES
    if plain and plain == name and not device:
        return name
    own = hashlib.sha256(name.encode("utf-8", "surrogatepass")).hexdigest()[:6]
    return f"{plain or 'piece'}-{own}"


def _in_the_way(target: Path, noted: tuple[str, str] | None, whose: str) -> str | None:
    if target.is_symlink():
        return "it is a link to another place"
    if not target.exists():
        return None
    if noted is None or noted[1] != whose:
        return f"it was written for {noted[1]}" if noted and noted[1] else "it is there already, and not of ours"
    return None if _is_untouched(target, noted[0]) else "it was changed since it was written"


def _is_untouched(path: Path, fingerprint: str) -> bool:
    return path.is_file() and not path.is_symlink() and _fingerprint(path.read_bytes()) == fingerprint


def _put_whole(target: Path, content: bytes) -> None:
    """Write a file so that it is the old or the new one whole."""
    handle, beside = tempfile.mkstemp(prefix=".", suffix=".new", dir=target.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        Path(beside).chmod(0o644)
        Path(beside).replace(target)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise


def _clear(folder: Path, files: Mapping[str, bytes]) -> None:
    """Take away what an earlier run wrote, nobody has changed, and this run does not write."""
    ours = _noted(folder)
    for path in [p for p in folder.rglob("*") if p.is_file()]:
        name = path.relative_to(folder).as_posix()
        if name in ours and name not in files and _fingerprint(path.read_bytes()) == ours[name][0]:
            path.unlink()


def _foreign(folder: Path) -> str | None:
    """Say what in the folder is not ours to write over, or None."""
    if not folder.exists():
        return None
    if not folder.is_dir():
        return "a file, not a folder"
    ours = _noted(folder)
    for path in sorted(p for p in folder.rglob("*") if p.is_file() and p.name != MARK):
        name = path.relative_to(folder).as_posix()
        if name not in ours or ours[name][1]:
            return f"{name}, which this command did not write"
        if _fingerprint(path.read_bytes()) != ours[name][0]:
            return f"{name}, which was changed since"
    return None


def _note(folder: Path, files: Mapping[str, tuple[str, str]]) -> None:
    noted = {name: {"sha256": own, "for": owner} if owner else own for name, (own, owner) in files.items()}
    _put_whole(folder / MARK, json.dumps(noted, indent=1).encode())


def _noted(folder: Path) -> dict[str, tuple[str, str]]:
    """Return what earlier runs wrote here: name → fingerprint and what it was written for."""
    try:
        noted = json.loads((folder / MARK).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return {}
    found = {}
    for name, told in noted.items() if isinstance(noted, dict) else ():
        if isinstance(told, str):
            found[name] = told, ""
        elif isinstance(told, dict):
            found[name] = str(told.get("sha256")), str(told.get("for", ""))
    return found


def _fingerprint(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()
