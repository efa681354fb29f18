"""The restoration record: one page in a file of its own, to read, print and keep with the piece."""

from __future__ import annotations

from datetime import date

from orderbook.answers.record_data import Story
from orderbook.errors import Finding, error, finding
from orderbook.reports.pages import filled
from orderbook.reports.record_blocks import Photograph, Section
from orderbook.reports.record_sections import Edition, Photos, lacking, sections


def record_html(
    story: Story, *, on: date, owner: bool = False, costs: bool = True, photos: Photos | None = None
) -> str:
    """Write the record as one HTML file that needs nothing else: no script, no link, pictures inside.

    Parameters: owner, the copy that goes with the piece, else the one for the file; costs, whether sums and hours are
    shown; photos, the photographs that could be read, by file name.
    """
    edition = Edition(owner, costs)
    r = story.restoration
    return page_html(f"Restoration record {r.restoration}", r.piece, edition.called,
                     sections(story, edition, photos or {}, on), on)  # fmt: skip


def page_html(title: str, piece: str, edition: str, told: list[Section], on: date, *, tight: bool = False) -> str:
    """Fill the template of the record's pages; `tight` where it should go on one."""
    return filled("record.html", title=title, piece=piece, edition=edition, sections=told, tight=tight,
                  printed=f"{on.day} {on:%b %Y}")  # fmt: skip


def record_pdf(html: str) -> bytes:
    """Set a record as a PDF.

    Raises: OrderbookError(pdf_needs_weasyprint) where the optional part is not installed.
    """
    try:
        from weasyprint import HTML
    except (ImportError, OSError) as problem:  # OSError: its system libraries are missing
        raise error("pdf_needs_weasyprint", where="PDF", saw=str(problem).splitlines()[0]) from problem
    page: bytes = HTML(string=html, base_url=None).write_pdf()
    return page


def worth_knowing(story: Story, owners_page: str) -> tuple[Finding, ...]:
    """Say what the record lacks yet, and which suppliers the words typed name on the owner's copy."""
    told: list[Finding] = []
    where = story.restoration.restoration
    if missing := lacking(story):
        told.append(finding("record_lacks", where=where, saw=f"nothing is noted of: {'; '.join(missing)}"))
    named = [name for name in story.suppliers if len(name) > 2 and name.casefold() in owners_page.casefold()]
    if named:
        told.append(
            finding("supplier_named_to_owner", where=where, saw=f"words that were typed name {', '.join(named)}")
        )
    return tuple(told)


__all__ = ["Photograph", "page_html", "record_html", "record_pdf", "worth_knowing"]
