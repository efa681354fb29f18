"""A process of the package's own Python, read line by line beside LibreOffice; it can be stopped, nothing waits for it.

LibreOffice's main thread holds its one large lock and must never wait for a thread of Python, not even for its start,
as `threading.Thread.start` does: Python may collect garbage there first, objects of documents among it, and these wait
for that lock, for ever. `_thread.start_new_thread` does not wait.

Runs inside LibreOffice's Python (3.8 or later) with the standard library alone.
"""

from __future__ import annotations

import _thread
import json
import os
import subprocess

NOT_FOR_OUR_PYTHON = ("PYTHONPATH", "PYTHONHOME", "LD_LIBRARY_PATH")  # set by LibreOffice for its own Python
NO_WINDOW = 0x08000000  # Windows: no console window flashes up
START = """
import sys
try:
    import orderbook
except ImportError:
    sys.path.append(sys.argv[1])
from orderbook.book.menu import serve
serve()
"""


def own_environment():
    """Return the environment for a Python that is not LibreOffice's."""
    environment = {k: v for k, v in os.environ.items() if k not in NOT_FOR_OUR_PYTHON}
    environment["PYTHONIOENCODING"] = "utf-8"
    return environment


def quietly():
    """Return what keeps a console window of Windows away."""
    return {"creationflags": NO_WINDOW} if os.name == "nt" else {}


class Running:
    """Steps done one after the other in a thread, each of them a process or a plain function.

    `on_message(kind, what)` is called for each line, then `on_end(words)` once: "" well, "stopped", or what went wrong.
    Both are called in that thread: the caller hands over to the main thread.
    """

    def __init__(self, do, on_message, on_end):
        self.do, self.on_message, self.on_end = do, on_message, on_end
        self.process, self.stopped = None, False
        _thread.start_new_thread(self._run, ())

    def stop(self):
        """End the process; what it writes is a copy that is thrown away, so that is safe at any instant."""
        self.stopped = True
        if self.process is not None:
            self.process.kill()

    def _run(self):
        try:
            words = self.do(self)
        except Exception as problem:  # whatever it is: the caller must hear that it is over
            words = f"{type(problem).__name__}: {problem}"
        self.on_end("stopped" if self.stopped else words)

    def lines_of(self, command, written=""):
        """Run a process and hand over each line that is a message; return "" if it went well, else its last words."""
        if self.stopped:
            return "stopped"
        pipe = subprocess.PIPE
        try:
            self.process = subprocess.Popen(
                command, stdin=pipe, stdout=pipe, stderr=subprocess.STDOUT, env=own_environment(), encoding="utf-8",
                errors="replace", **quietly(),
            )  # fmt: skip
        except OSError as problem:
            return f"{command[0]}: {problem.strerror or problem}"
        if self.stopped:  # between the start and here
            self.process.kill()
        last = ""
        with self.process.stdout as lines:
            try:
                self.process.stdin.write(written)
                self.process.stdin.close()
            except OSError:
                pass  # it ended before it read; what it said comes below
            for line in lines:
                try:
                    kind, what = json.loads(line)
                except (ValueError, TypeError):
                    last = line.strip() or last  # a traceback: its last line says what it was
                    self.on_message("said", last)
                else:
                    self.on_message(kind, what)
        status = self.process.wait()
        if not status:
            return ""
        return last or f"it was ended (status {status})"
