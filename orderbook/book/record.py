"""The restoration record as files to keep and print."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from orderbook.answers.record_data import story
from orderbook.book.opened import opened
from orderbook.book.own_folder import fill
from orderbook.errors import Finding, OrderbookError
from orderbook.reports.record import record_html, record_pdf


def record(
    book: Path, restoration: str, *, on: date, costs: bool = True, into: Path | None = None
) -> tuple[list[Path], tuple[Finding, ...]]:
    """Write the record of a restoration as HTML and, where it can be set, as PDF; into a folder of its own.

    Returns: the files, and what should be known (the PDF left out, readings that cannot be read).
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
    return [folder / file for file in files], findings
