"""Setting up the functions of a live book on the user's own machine, and checking that Excel can reach them."""

from __future__ import annotations

import importlib.metadata
import subprocess
import sys
import zipfile
from pathlib import Path

import orderbook
from orderbook.addin.excel import configuration
from orderbook.addin.excel.project import kept_project
from orderbook.addin.state import TRIAL, State
from orderbook.errors import Finding, OrderbookError, error, finding
from orderbook.functions.call import answer
from orderbook.functions.table import FUNCTIONS
from orderbook.xlsx.changes import commit
from orderbook.xlsx.reading import OpenBook, open_book

ASK = f"from orderbook.functions.call import answer; print(answer({TRIAL[0]!r}, {TRIAL[1]!r}))"
MACROS = "xl/vbaProject.bin"
SECONDS = 60


def set_up(path: Path) -> dict[str, str]:
    """Write this machine's Python into a live book; return what was written.

    Raises: OrderbookError(not_a_live_book | excel_elsewhere), or of a book that cannot be opened or written.
    """
    book = open_book(path)
    configuration.settings_in(book)
    wanted = configuration.own_settings()
    if not any(key in wanted for key in configuration.INTERPRETERS.values()):
        raise error("excel_elsewhere", where=path.name, saw=f"this machine runs {sys.platform}; nothing was set up")
    commit(book, configuration.changes_for(book, wanted))
    return wanted


def clear(path: Path) -> None:
    """Take this machine's Python out of a live book again, before it goes to somebody else."""
    book = open_book(path)
    there = configuration.settings_in(book)
    commit(book, configuration.changes_for(book, {key: "" for key in configuration.OURS if key in there}))


def check_excel(path: Path | None = None) -> State:
    """Look at this machine, at xlwings, and at a book if one is named: its Python, its macro code, its version."""
    facts = [("Package", f"{orderbook.__version__}, {len(FUNCTIONS)} functions"), ("Python", sys.executable)]
    findings: list[Finding] = []
    if sys.platform not in configuration.INTERPRETERS:
        findings.append(finding("excel_elsewhere", where="Excel", saw=f"this machine runs {sys.platform}"))
    version = _xlwings()
    facts.append(("xlwings", version or "not installed"))
    if version != configuration.VERSION:
        findings.append(finding("xlwings_version", where="xlwings", saw=version or "not installed"))
    if path is not None:
        _look_at(path, facts, findings)
    return State(tuple(facts), tuple(findings))


def _xlwings() -> str:
    try:
        return importlib.metadata.version("xlwings")
    except importlib.metadata.PackageNotFoundError:
        return ""


def _look_at(path: Path, facts: list[tuple[str, str]], findings: list[Finding]) -> None:
    try:
        book = open_book(path)
        settings = configuration.settings_in(book)
    except OrderbookError as problem:
        findings.append(problem.finding)
        return
    facts.append(("Book", str(path)))
    findings += _same_macros(book)
    key = configuration.INTERPRETERS.get(sys.platform, "INTERPRETER_WIN")
    python = settings.get(key, "")
    facts.append((key, python or "not set"))
    if not python:
        findings.append(finding("book_without_python", where=f"{path.name}, {key}", saw="the book names no Python"))
    else:
        findings += _answers(python, f"{path.name}, {key}", settings.get("PYTHONPATH", ""))


def _same_macros(book: OpenBook) -> list[Finding]:
    with zipfile.ZipFile(book.path) as package:
        macros = package.read(MACROS) if MACROS in package.namelist() else b""
    if macros == kept_project():
        return []
    saw = "its macro code is of another version" if macros else "it has no macro code"
    return [finding("book_macros_differ", where=str(book.path), saw=saw)]


def _answers(python: str, where: str, folder: str) -> list[Finding]:
    """Start the Python the book names and ask it one question."""
    start = f"import sys; sys.path.append({folder!r}); " if folder else ""
    try:
        done = subprocess.run([python, "-c", start + ASK], capture_output=True, text=True, timeout=SECONDS, check=False)
    except (OSError, subprocess.TimeoutExpired) as problem:
        return [
            finding("book_python_fails", where=where, saw=f"{python}: {getattr(problem, 'strerror', '') or problem}")
        ]
    if done.stdout.strip() == str(answer(*TRIAL)):
        return []
    said = (done.stderr or done.stdout).strip().splitlines()[-1:] or ["no answer"]
    return [finding("book_python_fails", where=where, saw=f"{python}: {said[0]}")]
