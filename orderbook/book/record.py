"""The restoration record as pages to print, one for the file and one for the owner; and the estimate before it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any, ClassVar

from orderbook.answers.record_data import story
from orderbook.book.opened import opened
from orderbook.book.own_folder import file_name, put_beside
from orderbook.book.photographs import photographs
from orderbook.errors import Finding, OrderbookError, error
from orderbook.reports.estimate import estimate_html
from orderbook.reports.record import record_html, record_pdf, worth_knowing
from orderbook.reports.record_sections import files_of
from orderbook.shown import Shown

EDITIONS = ("file", "owner")


@dataclass(frozen=True, slots=True, repr=False)
class Recorded(Shown):
    """The files of a record, and what should be known: what it lacks, the PDF left out, photographs not shown."""

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


def record(
    book: Path,
    restoration: str,
    *,
    on: date,
    only: str = "",
    costs: bool = True,
    owner_costs: bool = False,
    estimate: bool = False,
    into: Path | None = None,
) -> Recorded:
    """Write the record of a restoration as HTML and, where it can be set, as PDF: for the file and for the owner.

    Parameters: only, “file” or “owner” for one of them; costs, whether the copy for the file shows sums and hours;
    owner_costs, whether the owner's does; estimate, the estimate for the owner in place of the record; into, a folder,
    in which all else stays as it is.
    Raises: OrderbookError(not_in_the_book | edition_not_known | folder_not_ours | file_not_ours).
    """
    if only not in ("", *EDITIONS):
        raise error("edition_not_known", where="⟨only⟩", saw=only)
    told = story(opened(book).books, restoration, on=on)
    name = file_name(restoration)
    folder = into or book.with_name(f"{book.stem}-records") / name
    if estimate:
        page = {f"{name}-estimate": estimate_html(told, on=on)}
        return _written(page, folder, f"estimate {restoration}", ())
    photos, findings = photographs(book, files_of(told))
    owners = record_html(told, on=on, owner=True, costs=owner_costs and costs, photos=photos)
    pages = {} if only == "owner" else {name: record_html(told, on=on, costs=costs, photos=photos)}
    pages |= {} if only == "file" else {f"{name}-owner": owners}
    return _written(pages, folder, f"record {restoration}", (*told.findings, *worth_knowing(told, owners), *findings))


def _written(pages: dict[str, str], folder: Path, whose: str, findings: tuple[Finding, ...]) -> Recorded:
    files: dict[str, bytes] = {}
    for name, page in pages.items():
        files[f"{name}.html"] = page.encode("utf-8")
        try:
            files[f"{name}.pdf"] = record_pdf(page)
        except OrderbookError as problem:
            if problem.finding not in findings:
                findings += (problem.finding,)
    put_beside(folder, files, whose=whose)
    return Recorded(tuple(folder / file for file in files), findings)
