"""Asks the package's own Python for answers, one line each way; remembers them; never waits for ever.

It is asked in LibreOffice's main thread and starts no thread of its own: a thread may have to wait for LibreOffice's
one large lock, which the main thread holds while it waits here. So it looks whether there is something to read until
the time is over.

A question is a JSON line `[function, arguments]`; where every argument is a number, as in thousands of single cells, it
is the shorter `FUNCTION 20.0 6.0`. An answer is a JSON line.

Runs inside LibreOffice's Python (3.8 or later) with the standard library alone.
"""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import time
from typing import Any, Callable  # noqa: UP035

START = """
import sys
try:
    import orderbook
except ImportError:
    sys.path.append(sys.argv[1])
try:
    from orderbook.addin.calc.helper import serve
except Exception as problem:
    import json
    print(json.dumps(["failed", "%s: %s" % (type(problem).__name__, problem)]))
else:
    serve()
"""
NOT_FOR_OUR_PYTHON = ("PYTHONPATH", "PYTHONHOME", "LD_LIBRARY_PATH")  # set by LibreOffice for its own Python
NO_WINDOW = 0x08000000  # Windows: no console window flashes up
PIECE = 65536  # bytes written or read at once
TIME_LIMIT = 20.0  # seconds one call may take
PAUSE = 10.0  # seconds before a helper that failed is tried again
MOST_CELLS = 600_000  # cells remembered, in questions and answers together
MEND = "Choose Set up in the menu Order book"  # what a cell says of how to put it right
LARGEST_KEPT = 100_000  # a single question with more cells is not remembered here


class Memory:
    """Answers by question, bounded by the cells they hold; what was not used lately goes first.

    Two halves: a full young half becomes the old one, and the old one is dropped.
    """

    def __init__(self, most_cells: int = MOST_CELLS) -> None:
        """Start empty; a question is (function, arguments), an answer rows."""
        self.half = most_cells // 2
        self.young: dict[Any, Any] = {}
        self.old: dict[Any, Any] = {}
        self.cells = 0

    def get(self, question: Any) -> Any:
        """Return the remembered answer or None."""
        found = self.young.get(question)
        if found is None:
            found = self.old.pop(question, None)
            if found is not None:
                self.keep(question, found)
        return found

    def keep(self, question: Any, answer: Any) -> None:
        """Remember an answer."""
        cells = sum(map(_cells, question[1]), 1 + _cells(answer))
        if cells > min(LARGEST_KEPT, self.half):
            return
        if self.cells + cells > self.half:
            self.old, self.young, self.cells = self.young, {}, 0
        self.young[question] = answer
        self.cells += cells


def _cells(value: Any) -> int:
    return len(value) * len(value[0]) if type(value) is tuple and value and type(value[0]) is tuple else 1


def line_of(question: Any) -> bytes:
    """Write a question as one line.

    >>> line_of(("SPRING_TURNS", (20.0, 6.5))), line_of(("LENGTH_MM", ("12 thou",)))
    (b'SPRING_TURNS 20.0 6.5\\n', b'["LENGTH_MM", ["12 thou"]]\\n')
    """
    name, arguments = question
    for value in arguments:
        if type(value) is not float:
            return json.dumps(question).encode("ascii") + b"\n"
    return " ".join([name, *map(repr, arguments)]).encode("ascii") + b"\n"


def answer_of(line: bytes) -> Any:
    """Read an answer; most are one number.

    >>> answer_of(b"12.5\\n"), answer_of(b'["a", null]\\n')
    (12.5, ['a', None])
    """
    try:
        return float(line)
    except ValueError:
        return json.loads(line)


class TooSlowError(Exception):
    """The time for an answer is over."""


class Messenger:
    """One helper process, started when it is first needed and again after it ended or was ended.

    Parameters: python, which gives the interpreter to start, asked at each start; time_limit and pause, in seconds.
    """

    def __init__(
        self,
        python: Callable[[], str],
        package_folder: str,
        time_limit: float = TIME_LIMIT,
        pause: float = PAUSE,
    ) -> None:
        """Only keep what is needed to start; nothing runs yet."""
        self.python = python
        self.arguments = ["-c", START, package_folder]
        self.time_limit = time_limit
        self.pause = pause
        self.process: Any = None
        self.failed_at = 0.0
        self.failure = ""

    def ask(self, question: Any) -> tuple[bool, Any]:
        """Return (answered, answer), or (not answered, the reason in one line)."""
        if self.failure and time.monotonic() - self.failed_at < self.pause:
            return False, self.failure
        line = line_of(question)
        was_running = self.process is not None
        reply = self._exchange(line)
        if not reply and was_running and not self.failure:  # it ended between two calls: once more, afresh
            reply = self._exchange(line)
        if not reply:
            self.failed_at = time.monotonic()
            self.failure = self.failure or f"#orderbook gave no answer. {MEND}"
            return False, self.failure
        self.failure = ""
        return True, answer_of(reply)

    def _exchange(self, line: bytes) -> bytes:
        """Send one line and wait for one; empty if the helper ended, could not start, or was too slow."""
        self.failure = ""
        until = time.monotonic() + self.time_limit
        try:
            if self.process is None:
                self._start(until)
            _write(self.process.stdin, line, until)
            return _line(self.process.stdout, until)
        except TooSlowError:
            self.end()
            self.failure = f"#stopped: it took longer than {self.time_limit:g} s. Give fewer rows, then recalculate"
        except OSError as problem:
            if self.process is None:
                self.failure = f"#cannot start Python for orderbook: {problem.strerror or problem}. {MEND}"
            self.end()
        return b""

    def _start(self, until: float) -> None:
        """Start the helper and read its first line, which says that it is ready."""
        environment = {k: v for k, v in os.environ.items() if k not in NOT_FOR_OUR_PYTHON}
        environment["PYTHONIOENCODING"] = "utf-8"
        more: Any = {"creationflags": NO_WINDOW} if os.name == "nt" else {}
        pipe, nothing = subprocess.PIPE, subprocess.DEVNULL
        command = [self.python(), *self.arguments]
        process = subprocess.Popen(command, stdin=pipe, stdout=pipe, stderr=nothing, env=environment, bufsize=0, **more)
        if os.name != "nt":
            os.set_blocking(process.stdin.fileno(), False)  # type: ignore[union-attr]
        self.process = process
        try:
            state, said = json.loads(_line(process.stdout, until))
        except OSError:
            state, said = "failed", "it ended at once"
        if state != "ready":
            self.end()
            raise OSError(said)

    def end(self) -> None:
        """End the helper; the next question starts another."""
        process, self.process = self.process, None
        if process is not None:
            process.kill()
            process.wait()
            for pipe in (process.stdin, process.stdout):
                with contextlib.suppress(OSError):  # what was still to be written has nobody to read it
                    pipe.close()


def _write(pipe: Any, line: bytes, until: float) -> None:
    """Write a line in pieces, as the other side takes them; Windows has no way to look whether it does."""
    for at in range(0, len(line), PIECE):
        piece = line[at : at + PIECE]
        while piece:
            try:
                piece = piece[os.write(pipe.fileno(), piece) :]
            except BlockingIOError:
                _wait(lambda: _can_write(pipe, until), until)


def _line(pipe: Any, until: float) -> bytes:
    """Read one line, which is all that the other side says at a time.

    Raises: TooSlowError; OSError where the other side ended.
    """
    found = b""
    while not found.endswith(b"\n"):
        _wait(lambda: _can_read(pipe, until), until)
        piece = os.read(pipe.fileno(), PIECE)
        if not piece:
            raise OSError("it ended")
        found += piece
    return found


def _wait(ready: Callable[[], bool], until: float) -> None:
    """Look again and again, at first without a pause: most answers come at once."""
    pause = 0.0
    while not ready():
        now = time.monotonic()
        if now > until:
            raise TooSlowError
        time.sleep(pause)
        pause = min(pause + 0.0001, 0.01)


if os.name == "nt":
    import _winapi  # type: ignore[import-not-found,unused-ignore]
    import msvcrt

    def _can_read(pipe: Any, until: float) -> bool:
        try:
            handle = msvcrt.get_osfhandle(pipe.fileno())  # type: ignore[attr-defined,unused-ignore]
            return bool(_winapi.PeekNamedPipe(handle, 0)[0])  # type: ignore[attr-defined,unused-ignore]
        except OSError:
            return True  # it ended: reading says so

    def _can_write(pipe: Any, until: float) -> bool:
        return True
else:
    import select

    def _can_read(pipe: Any, until: float) -> bool:
        return bool(select.select([pipe], [], [], max(0.0, until - time.monotonic()))[0])

    def _can_write(pipe: Any, until: float) -> bool:
        return bool(select.select([], [pipe], [], max(0.0, until - time.monotonic()))[1])
