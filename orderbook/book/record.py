"""The restoration record as files to keep and print."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, ClassVar

from orderbook.answers.record_data import story
from orderbook.book.opened import opened
from orderbook.book.own_folder import fill
from orderbook.errors import Finding, OrderbookError
from orderbook.reports.record import record_html, record_pdf
from orderbook.shown import Shown


@dataclass(frozen=True, slots=True, repr=False)
class Recorded(Shown):
    """The files of a record, and what should be known: the PDF left out, readings that cannot be read."""

    files: tuple[Path, ...]
    findings: tuple[Finding, ...]

    shown_columns: ClassVar[tuple[str, ...]] = ("file",)

    def as_dict(self) -> dict[str, Any]:
        """Return the JSON keys of the command."""
        return {"files": [str(f) for f in self.files], "findings": [f.as_dict() for f in self.findings]}

    def shown_rows(self) -> list[dict[str, Any]]:
        """Return the files, a row each."""
        return [{"file": str(file)} for file in self.files]

    def text(self, **_: Any) -> str:
        """Say what was written, as the command prints it."""
        written = [f"Written: {file}" for file in self.files]
        return "\n".join([*written, *(f"{found.severity.capitalize()}: {found}" for found in self.findings)])


def record(book: Path, restoration: str, *, on: date, costs: bool = True, into: Path | None = None) -> Recorded:
    """Write the record of a restoration as HTML and, where it can be set, as PDF; into a folder of its own.

    Raises: OrderbookError(not_in_the_book | folder_not_ours).
    """
    told = story(opened(book).books, restoration, on=on)
    name = restoration if costs else f"{restoration}-owner"
    page = record_html(told, on=on, costs=costs)
    files, findings = {f"{name}.html": page.encode("utf-8")}, told.findings
    try:
        files[f"{name}.pdf"] = record_pdf(page)
    except OrderbookError as problem:
        findings += (problem.finding,)
    folder = fill(into or book.with_name(f"{book.stem}-records") / name, files)
    return Recorded(tuple(folder / file for file in files), findings)
