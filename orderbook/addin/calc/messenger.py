"""Asks the package's own Python for answers, one line each way; remembers them; never waits for ever.

A question is a JSON line `[function, arguments]`; where every argument is a number, as in thousands of single cells, it
is the shorter `FUNCTION 20.0 6.0`. An answer is a JSON line.

Runs inside LibreOffice's Python (3.8 or later) with the standard library alone.
"""

from __future__ import annotations

import contextlib
import json
import os
import subprocess
import threading
import time
from typing import Any

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
TIME_LIMIT = 20.0  # seconds one call may take
PAUSE = 10.0  # seconds before a helper that failed is tried again
MOST_CELLS = 600_000  # cells remembered, in questions and answers together
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


class Messenger:
    """One helper process, started when it is first needed and again after it ended or was ended."""

    def __init__(self, python: str, package_folder: str, time_limit: float = TIME_LIMIT, pause: float = PAUSE) -> None:
        """Only keep what is needed to start; nothing runs yet."""
        self.command = [python, "-c", START, package_folder]
        self.time_limit = time_limit
        self.pause = pause
        self.process: Any = None
        self.busy_since = 0.0
        self.failed_at = 0.0
        self.failure = ""
        self.lock = threading.Lock()
        self.watch: Any = None

    def ask(self, question: Any) -> tuple[bool, Any]:
        """Return (answered, answer), or (not answered, the reason in one line)."""
        line = line_of(question)
        with self.lock:
            if self.failure and time.monotonic() - self.failed_at < self.pause:
                return False, self.failure
            was_running = self.process is not None
            reply = self._exchange(line)
            if not reply and was_running and not self.failure:  # it ended between two calls: once more, afresh
                reply = self._exchange(line)
            if not reply:
                self.failed_at = time.monotonic()
                self.failure = self.failure or "#orderbook gave no answer. Run: orderbook addin calc --check"
                return False, self.failure
            self.failure = ""
        return True, answer_of(reply)

    def _exchange(self, line: bytes) -> bytes:
        """Send one line and wait for one; empty if the helper ended, could not start, or was too slow."""
        self.failure = ""
        self.busy_since = time.monotonic()
        try:
            if self.process is None:
                self._start()
            process = self.process
            process.stdin.write(line)
            process.stdin.flush()
            reply: bytes = process.stdout.readline()
        except OSError as problem:
            reply = b""
            if self.process is None:
                self.failure = "#cannot start Python for orderbook: " + (problem.strerror or str(problem))
                self.failure += ". Run: orderbook addin calc --install"
        finally:
            took, self.busy_since = time.monotonic() - self.busy_since, 0.0
        if not reply.endswith(b"\n"):
            self.end()
            if took >= self.time_limit:
                self.failure = f"#stopped: it took longer than {self.time_limit:g} s. Give fewer rows, then recalculate"
            return b""
        return reply

    def _start(self) -> None:
        """Start the helper and read its first line, which says that it is ready."""
        environment = {k: v for k, v in os.environ.items() if k not in NOT_FOR_OUR_PYTHON}
        environment["PYTHONIOENCODING"] = "utf-8"
        more: Any = {"creationflags": NO_WINDOW} if os.name == "nt" else {}
        pipe, nothing = subprocess.PIPE, subprocess.DEVNULL
        self.process = subprocess.Popen(self.command, stdin=pipe, stdout=pipe, stderr=nothing, env=environment, **more)
        if self.watch is None:
            self.watch = threading.Thread(target=self._end_when_too_slow, daemon=True)
            self.watch.start()
        first = self.process.stdout.readline()
        if not first:
            raise OSError("it ended at once")
        state, said = json.loads(first)
        if state != "ready":
            self.end()
            raise OSError(said)

    def _end_when_too_slow(self) -> None:
        """Kill a helper that is busy beyond the limit, which wakes the call that waits for it."""
        while True:
            time.sleep(min(0.25, self.time_limit / 4))
            busy, process = self.busy_since, self.process
            if busy and process is not None and time.monotonic() - busy > self.time_limit:
                process.kill()

    def end(self) -> None:
        """End the helper; the next question starts another."""
        process, self.process = self.process, None
        if process is not None:
            process.kill()
            process.wait()
            for pipe in (process.stdin, process.stdout):
                with contextlib.suppress(OSError):  # what was still to be written has nobody to read it
                    pipe.close()
