"""The restoration record, and an estimate before it, as files to keep and print."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date
from pathlib import Path

from orderbook.answers.record_data import story
from orderbook.book.opened import opened
from orderbook.book.own_folder import file_name, put_beside
from orderbook.book.photographs import photographs
from orderbook.errors import Finding, OrderbookError
from orderbook.reports.record import record_html, record_pdf, worth_knowing
from orderbook.reports.record_sections import files_of

EDITIONS = ("file", "owner")


def record(
    book: Path,
    restoration: str,
    *,
    on: date,
    costs: bool = True,
    owner_costs: bool = False,
    editions: Collection[str] = EDITIONS,
    into: Path | None = None,
) -> tuple[list[Path], tuple[Finding, ...]]:
    """Write the record of a restoration as HTML and, where it can be set, as PDF: for the file and for the owner.

    Parameters: costs, whether the copy for the file shows sums and hours; owner_costs, whether the owner's does;
    editions, which of “file” and “owner” to write; into, a folder, in which all else stays as it is.
    Returns: the files, and what should be known (what the record lacks, the PDF left out, photographs not shown).
    Raises: OrderbookError(not_in_the_book | folder_not_ours | file_not_ours).
    """
    told = story(opened(book).books, restoration, on=on)
    photos, findings = photographs(book, files_of(told))
    name = file_name(restoration)
    pages = {
        "file": (name, record_html(told, on=on, costs=costs, photos=photos)),
        "owner": (f"{name}-owner", record_html(told, on=on, owner=True, costs=owner_costs, photos=photos)),
    }
    findings = (*told.findings, *worth_knowing(told, pages["owner"][1]), *findings)
    wanted = [pages[edition] for edition in EDITIONS if edition in editions]
    return _written(book, restoration, dict(wanted), "record", into, findings)


def estimate(
    book: Path, restoration: str, *, on: date, into: Path | None = None
) -> tuple[list[Path], tuple[Finding, ...]]:
    """Write the estimate for the owner on one page, as HTML and, where it can be set, as PDF.

    Raises: OrderbookError(not_in_the_book | folder_not_ours | file_not_ours).
    """
    from orderbook.reports.estimate import estimate_html

    told = story(opened(book).books, restoration, on=on)
    pages = {f"{file_name(restoration)}-estimate": estimate_html(told, on=on)}
    return _written(book, restoration, pages, "estimate", into, ())


def _written(
    book: Path, restoration: str, pages: dict[str, str], what: str, into: Path | None, findings: tuple[Finding, ...]
) -> tuple[list[Path], tuple[Finding, ...]]:
    files: dict[str, bytes] = {}
    for name, page in pages.items():
        files[f"{name}.html"] = page.encode("utf-8")
        try:
            files[f"{name}.pdf"] = record_pdf(page)
        except OrderbookError as problem:
            if problem.finding not in findings:
                findings += (problem.finding,)
    folder = into or book.with_name(f"{book.stem}-records") / file_name(restoration)
    put_beside(folder, files, whose=f"{what} {restoration}")
    return [folder / file for file in files], findings
