"""Setting up the worksheet functions on the user's own machine, and checking that they work."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

import orderbook
from orderbook.addin import libreoffice
from orderbook.addin.calc.messenger import Messenger
from orderbook.errors import Finding, OrderbookError, finding
from orderbook.functions.call import answer
from orderbook.functions.table import FUNCTIONS

TRIAL = ("LENGTH_MM", ["17 ligne"])


@dataclass(frozen=True, slots=True)
class State:
    """What was looked at, in words, and what is wrong."""

    facts: tuple[tuple[str, str], ...]
    findings: tuple[Finding, ...]

    def as_dict(self) -> dict[str, Any]:
        """Return it as the JSON of the command."""
        return {"facts": dict(self.facts), "findings": [f.as_dict() for f in self.findings]}


def check_calc(profile: Path | None = None) -> State:
    """Look at LibreOffice, the installed add-in and the Python it starts, and ask that Python one question."""
    facts: list[tuple[str, str]] = []
    findings: list[Finding] = []
    try:
        office = libreoffice.find_libreoffice()
    except OrderbookError as problem:
        return State((), (problem.finding,))
    facts.append(("LibreOffice", f"{office.version or 'version not known'}, in {office.programs}"))
    if office.sandbox:
        findings.append(
            finding("libreoffice_sandboxed", where="LibreOffice", saw=f"it is installed as a {office.sandbox}")
        )
        return State(tuple(facts), tuple(findings))
    settings = libreoffice.installed_settings(office, profile)
    if libreoffice.installed_version(office, profile) is None or settings is None:
        findings.append(finding("addin_not_installed", where="LibreOffice", saw="the add-in is not installed in it"))
        return State(tuple(facts), tuple(findings))
    facts.append(("Add-in", f"{settings['version']}, {len(settings['functions'])} functions"))
    facts.append(("Package", f"{orderbook.__version__}, {len(FUNCTIONS)} functions"))
    facts.append(("Python", settings["python"]))
    findings += _same_functions(settings)
    said, trouble = _ask(settings)
    facts.append((f'{TRIAL[0]}("{TRIAL[1][0]}")', said))
    return State(tuple(facts), tuple(findings + trouble))


def _same_functions(settings: dict[str, Any]) -> list[Finding]:
    if settings["version"] == orderbook.__version__ and set(settings["functions"]) == set(FUNCTIONS):
        return []
    saw = f"the add-in is of version {settings['version']}, the package of {orderbook.__version__}"
    return [finding("addin_differs", where="LibreOffice", saw=saw)]


def _ask(settings: dict[str, Any]) -> tuple[str, list[Finding]]:
    """Start the Python of the add-in as LibreOffice would, and compare its answer with our own."""
    messenger = Messenger(lambda: str(settings["python"]), settings["package_folder"])
    try:
        answered, said = messenger.ask(TRIAL)
    finally:
        messenger.end()
    if answered and said == answer(*TRIAL):
        return f"{said:.4f}", []
    return str(said), [finding("addin_gives_no_answer", where=settings["python"], saw=str(said).lstrip("#"))]
