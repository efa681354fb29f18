"""Saves a book in one step: locks of the programs honoured, the old book kept as a backup, never a half."""

from __future__ import annotations

import contextlib
import glob
import json
import os
import socket
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import IO

from orderbook.errors import error

OLD_LOCK_S = 600
GENERATIONS = 3  # books that were, kept beside the one that is


@dataclass(frozen=True, slots=True)
class Stamp:
    """What tells whether a book has been saved by somebody since it was read."""

    size: int
    changed_ns: int
    file: int


def stamp(path: Path) -> Stamp:
    """Return the stamp of a book as it stands."""
    found = path.stat()
    return Stamp(found.st_size, found.st_mtime_ns, found.st_ino)


def backup_of(path: Path) -> Path:
    """Return the name of a book's backup.

    >>> str(backup_of(Path("clocks.xlsx")))
    'clocks.xlsx.bak'
    """
    return older_backup_of(path, 1)


def older_backup_of(path: Path, generation: int) -> Path:
    """Return the name of an older backup; generation 1 is the book before.

    >>> [older_backup_of(Path("clocks.xlsx"), n).name for n in (1, 2, 3)]
    ['clocks.xlsx.bak', 'clocks.xlsx.bak2', 'clocks.xlsx.bak3']
    """
    return path.with_name(f"{path.name}.bak{generation if generation > 1 else ''}")


def save(path: Path, write: Callable[[IO[bytes]], None], *, since: Stamp) -> None:
    """Replace a book by what `write` writes, in one step; the book that was is kept as `<name>.bak`.

    The two books before that are kept too, as `<name>.bak2` and `<name>.bak3`.
    Raises: OrderbookError if the book is open in a program, was saved by somebody since it was read, is
    write-protected, or cannot be written; the book is then as it was.
    """
    path = path.resolve()
    refuse_if_open(path)
    if not path.stat().st_mode & 0o222:
        raise error("book_not_saved", where=str(path), saw="it is write-protected")
    with _own_lock(path), _as_one_line(path):
        _refuse_if_changed(path, since)
        with _written_beside(path, write) as new:
            refuse_if_open(path)
            _refuse_if_changed(path, since)
            _keep_backup(path)
            os.replace(new, path)
        _sync_folder(path.parent)


def refuse_if_open(path: Path) -> None:
    """Refuse if a spreadsheet program holds the book, which both programs show by a file beside it.

    Raises: OrderbookError that names the program and who has it open, where the file says so.
    """
    calc, excel = path.with_name(f".~lock.{path.name}#"), path.with_name(f"~${path.name}")
    if calc.exists():
        raise error("book_open_elsewhere", where=str(path), saw=f"it is open in LibreOffice{_calc_user(calc)}")
    if excel.exists():
        raise error("book_open_elsewhere", where=str(path), saw=f"it is open in Excel{_excel_user(excel)}")


def _calc_user(lock: Path) -> str:
    try:
        who = lock.read_text(encoding="utf-8", errors="replace").split(",")[0].strip()
    except OSError:
        return ""
    return f" ({who})" if who else ""


def _excel_user(lock: Path) -> str:
    try:
        data = lock.read_bytes()
    except OSError:
        return ""
    who = data[1 : 1 + data[0]].decode("latin-1", "replace").strip() if data and data[0] < len(data) else ""
    return f" ({who})" if who.isprintable() and who else ""


def _refuse_if_changed(path: Path, since: Stamp) -> None:
    if stamp(path) != since:
        raise error("book_changed", where=str(path), saw="it was saved by another program while this command ran")


@contextlib.contextmanager
def _own_lock(path: Path) -> Iterator[None]:
    lock = path.with_name(f".{path.name}.orderbook-lock")
    me = {"pid": os.getpid(), "host": socket.gethostname()}
    try:
        _take(lock, me)
    except FileExistsError:
        if not _left_behind(lock):
            saw = f"another orderbook command is saving it (its mark is the file {lock.name})"
            raise error("book_open_elsewhere", where=str(path), saw=saw) from None
        lock.unlink(missing_ok=True)
        _take(lock, me)
    except OSError as problem:
        raise error("book_not_saved", where=str(path), saw=_reason(problem)) from None
    try:
        yield
    finally:
        lock.unlink(missing_ok=True)


def _take(lock: Path, me: dict[str, object]) -> None:
    """Make the lock, whole from the first moment, so that nobody finds an empty one and takes it for left behind.

    Raises: FileExistsError if there is one already.
    """
    fresh = lock.with_name(f"{lock.name}.{os.getpid()}.part")  # swept up by the next command if this one is killed
    try:
        fresh.write_text(json.dumps(me), encoding="utf-8")
        try:
            os.link(fresh, lock)
        except FileExistsError:
            raise
        except FileNotFoundError:  # swept up just now, by a command that is saving
            raise FileExistsError(lock) from None
        except OSError:  # a disk that has no links
            with lock.open("x", encoding="utf-8") as file:
                json.dump(me, file)
    finally:
        fresh.unlink(missing_ok=True)


def _left_behind(lock: Path) -> bool:
    """Return whether the command that took the lock is gone: same host, and no such process."""
    if sys.platform == "win32":  # there, asking after a process by signal 0 would interrupt it
        return time.time() - lock.stat().st_mtime > OLD_LOCK_S
    try:
        held = json.loads(lock.read_text(encoding="utf-8"))
        pid = int(held["pid"])
    except (OSError, ValueError, KeyError, TypeError):
        return True
    if held.get("host") != socket.gethostname():
        return False
    try:
        os.kill(pid, 0)
    except ProcessLookupError:
        return True
    except OSError:
        return False
    return False


@contextlib.contextmanager
def _written_beside(path: Path, write: Callable[[IO[bytes]], None]) -> Iterator[str]:
    for left in path.parent.glob(f".{glob.escape(path.name)}.*part"):  # of a command that was killed while saving
        left.unlink(missing_ok=True)
    handle, name = tempfile.mkstemp(prefix=f".{path.name}.", suffix=".part", dir=path.parent)
    try:
        with os.fdopen(handle, "w+b") as file:
            write(file)
            file.flush()
            os.fsync(file.fileno())
        with contextlib.suppress(OSError):
            os.chmod(name, path.stat().st_mode & 0o7777)
        yield name
    finally:
        with contextlib.suppress(FileNotFoundError):
            os.unlink(name)


def _keep_backup(path: Path) -> None:
    """Keep the book as it is under its backup name, and the backups there are one name further on, the oldest gone."""
    for generation in range(GENERATIONS, 0, -1):
        before = path if generation == 1 else older_backup_of(path, generation - 1)
        if before.exists():
            _keep_as(before, older_backup_of(path, generation))


def _keep_as(path: Path, name: Path) -> None:
    """Keep a file under a second name, in one step; a link costs nothing, a copy where links fail."""
    import shutil

    fresh = path.with_name(f".{path.name}.{os.getpid()}.bak-part")
    try:
        try:
            os.link(path, fresh)
        except OSError:
            shutil.copy2(path, fresh)
        os.replace(fresh, name)
    finally:
        with contextlib.suppress(FileNotFoundError):
            fresh.unlink()


def _sync_folder(folder: Path) -> None:
    with contextlib.suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


@contextlib.contextmanager
def _as_one_line(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as problem:
        raise error("book_not_saved", where=str(path), saw=_reason(problem)) from None


def _reason(problem: OSError) -> str:
    return (problem.strerror or str(problem)).lower()
