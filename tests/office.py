"""A real, headless LibreOffice for the tests: its own profile, its own pipe, killed when it hangs.

>>> with Office() as office, office.open(book) as document:     # doctest: +SKIP
...     document.recalculate()
...     document.cells("Bench", "C5:D12")

Where `CI` is set a missing LibreOffice fails the test; elsewhere the test is skipped with the reason.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import threading
import time
import uuid
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, Self

import pytest

DRIVER = Path(__file__).with_name("office_driver.py")
SECONDS = 120  # no single request takes longer, or everything is killed
WAIT_S = 100  # for what comes by itself; the machine may be busy
PROGRAMS = ("soffice", "libreoffice", "/Applications/LibreOffice.app/Contents/MacOS/soffice")
NOT_OURS = ("PYTHONPATH", "PYTHONHOME", "VIRTUAL_ENV", "DISPLAY")  # would reach LibreOffice's own Python


@cache
def programs() -> tuple[str, str] | None:
    """Find soffice and a Python that can speak to it."""
    office = next(filter(None, map(shutil.which, PROGRAMS)), None)
    if office is None:
        return None
    own = Path(office).resolve().parent / "python"
    for python in (sys.executable, "/usr/bin/python3", str(own)):
        if Path(python).exists() and subprocess.run([python, "-c", "import uno"], capture_output=True).returncode == 0:
            return office, python
    return None


def need_office() -> tuple[str, str]:
    """Return the programs, or skip the test (fail it in CI)."""
    found = programs()
    if found is None:
        say = "needs LibreOffice with its Python bridge (Debian: libreoffice-calc python3-uno)"
        (pytest.fail if os.environ.get("CI") else pytest.skip)(say)
    return found


def until(true: Callable[[], Any]) -> Any:
    """Wait for what comes by itself; the machine may be busy."""
    end = time.monotonic() + WAIT_S
    while time.monotonic() < end:
        if found := true():
            return found
        time.sleep(0.1)
    raise AssertionError("it never came")


class OfficeError(Exception):
    """LibreOffice answered with an error, or did not answer in time."""


class Office:
    """One running LibreOffice. `extension` is installed (and the office restarted) before it is used.

    Headless it takes every dialog for cancelled. Without `headless` and with no display it draws into memory, and
    dialogs open and wait; with `display` it is shown on that X server. What it writes to stderr is in `said`.
    """

    def __init__(
        self,
        extension: Path | None = None,
        *,
        environment: dict[str, str] | None = None,
        settings: tuple[tuple[str, str, str], ...] = (),
        profile: Path | None = None,
        headless: bool = True,
        display: str = "",
    ) -> None:
        self.headless = headless and not display
        self.soffice, self.python = need_office()
        self.throw_away = profile is None
        self.profile = profile or Path(tempfile.mkdtemp(prefix="office-"))
        self.environment = {k: v for k, v in os.environ.items() if k not in NOT_OURS}
        self.environment |= {"SAL_USE_VCLPLUGIN": "svp", "TMPDIR": str(self.profile), **(environment or {})}
        if display:
            self.environment |= {"SAL_USE_VCLPLUGIN": "gen", "DISPLAY": display}
        if profile is None:
            self._write_settings(settings)
        self.process: subprocess.Popen[bytes] | None = None
        self.driver: subprocess.Popen[str] | None = None
        try:
            self._start()
            if extension is not None:
                self.ask("install", extension.resolve().as_uri())
                self.restart()
        except BaseException:
            self.close()
            raise

    def _write_settings(self, settings: tuple[tuple[str, str, str], ...]) -> None:
        """Write (path, property, value) of LibreOffice's configuration into the new profile."""
        items = "".join(
            f'<item oor:path="{path}"><prop oor:name="{name}" oor:op="fuse"><value>{value}</value></prop></item>'
            for path, name, value in settings
        )
        spaces = (
            'xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema" '
            'xmlns:xsi="http://www.w3.org/2001/XMLSchema-instance"'
        )
        (self.profile / "user").mkdir()
        (self.profile / "user" / "registrymodifications.xcu").write_text(
            f'<?xml version="1.0" encoding="UTF-8"?><oor:items {spaces}>{items}</oor:items>', encoding="utf-8"
        )

    def _start(self) -> None:
        pipe = f"orderbook{uuid.uuid4().hex[:12]}"
        with (self.profile / "said.txt").open("ab") as said:
            self.process = subprocess.Popen(
                [
                    self.soffice,
                    f"-env:UserInstallation={self.profile.as_uri()}",
                    *(["--headless"] if self.headless else []),
                    *("--norestore", "--nologo", "--nodefault", "--nofirststartwizard"),
                    f"--accept=pipe,name={pipe};urp;StarOffice.ComponentContext",
                ],
                env=self.environment,
                stdin=subprocess.DEVNULL,
                stdout=subprocess.DEVNULL,
                stderr=said,
                start_new_session=True,
            )
        self.driver = subprocess.Popen(
            [self.python, str(DRIVER)],
            env=self.environment,
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            encoding="utf-8",
        )
        self.ask("connect", pipe, SECONDS / 2)

    def ask(self, verb: str, *arguments: Any) -> Any:
        """Send one request to the driver; kill everything if it does not answer in time."""
        assert self.driver is not None
        assert self.driver.stdin is not None
        assert self.driver.stdout is not None
        guard = threading.Timer(SECONDS, self._kill)
        guard.start()
        try:
            self.driver.stdin.write(json.dumps([verb, arguments]) + "\n")
            self.driver.stdin.flush()
            reply = self.driver.stdout.readline()
        finally:
            guard.cancel()
        if not reply:
            raise OfficeError(f"{verb}: LibreOffice gave no answer")
        status, answer = json.loads(reply)
        if status != "ok":
            raise OfficeError(f"{verb}: {answer}")
        return answer

    def open(self, path: Path, *, relink: bool = True) -> Document:
        """Open a copy of a file (so that no lock is left beside it)."""
        folder = Path(tempfile.mkdtemp(dir=self.profile))
        return Document(self, shutil.copy(path, folder / path.name).as_uri(), relink)

    def new(self) -> Document:
        """Open an empty spreadsheet; its sheet is called Sheet1."""
        return Document(self, "private:factory/scalc", relink=False)

    def window(self, path: Path | str, **how: Any) -> Window:
        """Open a file itself, or a `private:` address, in a window."""
        url = path if isinstance(path, str) else path.resolve().as_uri()
        return Window(self, *self.ask("window", url, how))

    def said(self) -> str:
        """Return what LibreOffice wrote to stderr, such as a traceback of what runs inside it."""
        lines = (self.profile / "said.txt").read_text(encoding="utf-8", errors="replace").splitlines()
        return "\n".join(line for line in lines if line and "javaldx" not in line)

    def restart(self) -> None:
        """End LibreOffice and start it again on the same profile."""
        self._stop()
        self._start()

    def _kill(self) -> None:
        for process in (self.process, self.driver):
            if process is not None and process.poll() is None:
                if process is self.process:
                    os.killpg(process.pid, signal.SIGKILL)
                else:
                    process.kill()

    def _stop(self) -> None:
        try:
            if self.driver is not None and self.driver.poll() is None:
                self.ask("finish")
        except (OfficeError, OSError):
            pass
        if self.driver is not None and self.driver.stdin is not None and self.driver.stdout is not None:
            self.driver.stdin.close()
            self.driver.wait(15)
            self.driver.stdout.close()
        if self.process is not None:
            try:
                self.process.wait(15)
            except subprocess.TimeoutExpired:
                self._kill()
                self.process.wait()
        self.driver = self.process = None

    def close(self) -> None:
        """End LibreOffice and throw its profile away, unless it was given."""
        self._stop()
        if self.throw_away:
            shutil.rmtree(self.profile, ignore_errors=True)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


class Window:
    """One open document and its window; verbs of `office_windows.py` are its methods."""

    def __init__(self, office: Office, number: int, sheets: list[str]) -> None:
        self.office, self.number, self.sheets = office, number, sheets
        self.slowest = 0.0

    def __getattr__(self, verb: str) -> Callable[..., Any]:
        return lambda *arguments: self.office.ask(verb, self.number, *arguments)

    def start(self, key: str, **given: Any) -> None:
        """Begin an action; with arguments it asks for nothing."""
        self.office.ask("start", self.number, key, given)

    def wait(self, minutes: int = 6) -> tuple[bool, str]:
        """Wait until it is over, on a busy machine too; `slowest` is then the longest the window stood still."""
        for _ in range(minutes):
            if found := self.office.ask("wait", self.number, SECONDS / 2):
                well, words, self.slowest = found
                return well, words
        return False, "it goes on"

    def do(self, key: str, **given: Any) -> tuple[bool, str]:
        """Do an action to its end."""
        self.start(key, **given)
        return self.wait()

    def close(self) -> None:
        """Close it without saving."""
        self.office.ask("window_close", self.number)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self.office.driver is not None and self.office.driver.poll() is None:
            self.close()


class Document:
    """One open spreadsheet. An error value reads as {"error": code, "shown": text}, an empty cell as None."""

    def __init__(self, office: Office, url: str, relink: bool) -> None:
        self.office = office
        self.number, self.sheets = office.ask("load", url, relink)

    def recalculate(self) -> float:
        """Recalculate every cell whether it needs it or not; return the seconds it took."""
        return float(self.office.ask("recalculate", self.number))

    def fill_down(self, sheet: str, address: str, formula: str) -> None:
        """Type a formula into the first cell of a range and fill it down."""
        self.office.ask("fill_down", self.number, sheet, address, formula)

    def by_hand(self) -> None:
        """Stop the document from recalculating by itself."""
        self.office.ask("by_hand", self.number)

    def cells(self, sheet: str, address: str) -> list[list[Any]]:
        """Read what a range shows, cell by cell, errors included."""
        return self.office.ask("cells", self.number, sheet, address)

    def cell(self, sheet: str, address: str) -> Any:
        """Read what one cell shows."""
        return self.cells(sheet, address)[0][0]

    def data(self, sheet: str, address: str) -> list[list[Any]]:
        """Read a large range at once; an error reads as empty."""
        return self.office.ask("data", self.number, sheet, address)

    def errors(self, sheet: str) -> dict[tuple[int, int], str]:
        """Find every formula on a sheet that comes to an error: row and column (from 0) → what it shows."""
        return {(row, column): shown for row, column, shown in self.office.ask("errors", self.number, sheet)}

    def formulas(self, sheet: str, address: str) -> list[list[str]]:
        """Read formulas (or typed values as text)."""
        return self.office.ask("formulas", self.number, sheet, address)

    def put(self, sheet: str, address: str, rows: list[list[Any]]) -> None:
        """Type values and formulas; arguments are separated by semicolons."""
        self.office.ask("put", self.number, sheet, address, rows)

    def type_in(self, sheet: str, address: str, text: str) -> None:
        """Type a text into one cell as a person does."""
        self.office.ask("type_text", self.number, sheet, address, text)

    def put_array(self, sheet: str, address: str, formula: str) -> None:
        """Type one array formula over a range."""
        self.office.ask("put_array", self.number, sheet, address, formula)

    def named(self, name: str) -> list[list[Any]]:
        """Read a named range, or a table with its header."""
        return self.office.ask("named", self.number, name)

    def save(self, path: Path) -> Path:
        """Save a copy; the ending says the format (xlsx, xlsm, ods, pdf)."""
        self.office.ask("save", self.number, path.resolve().as_uri(), path.suffix[1:])
        return path

    def store(self, path: Path) -> Path:
        """Save the document itself under a name, as a person does with Save As."""
        self.office.ask("store", self.number, path.resolve().as_uri(), path.suffix[1:])
        return path

    def close(self) -> None:
        """Close without saving."""
        self.office.ask("close", self.number)

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        if self.office.driver is not None and self.office.driver.poll() is None:
            self.close()
