"""Takes the pictures of the demo's book and record for the documents: `python -m tests.book_pictures`.

With them comes the page that shows every sheet of the demo's book and of a book of thirty pieces. Needs LibreOffice,
poppler (pdftoppm, pdftotext) and WeasyPrint; takes some minutes.
"""

from __future__ import annotations

import re
import subprocess
import sys
import tempfile
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
from openpyxl import load_workbook
from PIL import Image

from orderbook.book.demo_book import demo_tables
from orderbook.book.record import record
from orderbook.book.refresh import refresh
from orderbook.sheets.new_book import write_new_book
from tests.office import Office

FOLDER = Path(__file__).resolve().parents[1] / "docs" / "pictures"
SHEETS_PAGE = FOLDER.parent / "reference" / "every-sheet.md"
DOTS, SMALL_DOTS = 108, 64  # an inch
KEPT_ONCE = ("Catalogue", "Suppliers", "Rates", "Settings", "Instruments", "Units", "Weights")
BEGINS = {"Order sheet": "Order to"}  # pages that do not begin with the name of their sheet
SHEETS_HEAD = """# Every sheet of the book

The first page of each sheet as it is printed, on the left of the demo's book, on the right of a book of thirty pieces,
which are the demo's ten times over with numbers of their own. All of it is invented. What each column holds is on
[Sheets and columns](sheets-and-columns.md). Made by `python -m tests.book_pictures`.
"""
PAPER, BETWEEN, MARGIN = 255, (205, 198, 184), 12


def pages_of(pdf: Path, dots: int = DOTS) -> list[Image.Image]:
    """Return the pages of a PDF as pictures."""
    subprocess.run(["pdftoppm", "-r", str(dots), "-png", str(pdf), str(pdf.with_suffix(""))], check=True)
    return [Image.open(page).convert("RGB") for page in sorted(pdf.parent.glob(f"{pdf.stem}-*.png"))]


def cropped(page: Image.Image, foot: int = 60) -> Image.Image:
    """Cut the empty margins off a page, and the line at its foot."""
    dots = np.asarray(page)[: page.height - foot]
    rows, cols = (np.flatnonzero((dots < PAPER).any(axis=2).any(axis=along)) for along in (1, 0))
    left, top = max(cols[0] - MARGIN, 0), max(rows[0] - MARGIN, 0)
    return page.crop((left, top, cols[-1] + MARGIN, rows[-1] + MARGIN))


def side_by_side(pages: list[Image.Image]) -> Image.Image:
    """Lay pages beside each other."""
    wide, high = sum(p.width + 10 for p in pages) - 10, max(p.height for p in pages)
    whole = Image.new("RGB", (wide, high), BETWEEN)
    at = 0
    for page in pages:
        whole.paste(page, (at, 0))
        at += page.width + 10
    return whole


def keep(picture: Image.Image, name: str) -> None:
    """Write a picture in a palette of its own, which such pages need no more than."""
    picture.quantize(256, method=Image.Quantize.MAXCOVERAGE, dither=Image.Dither.NONE).save(
        FOLDER / name, optimize=True
    )


def main() -> None:
    """Make the demo, print its book and a record, and keep the pages."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / "demo"
        subprocess.run([sys.executable, "-m", "orderbook", "demo", "--into", str(place)], check=True)
        with Office() as office, office.open(place / "book.xlsx", relink=False) as document:
            book = pages_of(document.save(Path(folder) / "book.pdf"))
        keep(cropped(book[0]), "bench.png")
        numbers = range(1, len(book) + 1)
        account = next(n for n in numbers if first_line_of(Path(folder) / "book.pdf", n).startswith("Account"))
        keep(cropped(book[account - 1]), "account.png")
        with Office() as office, office.open(place / "earlier.xlsx", relink=False) as document:
            year = pages_of(document.save(Path(folder) / "earlier.pdf"))
        learned = next(
            n for n in range(1, len(year) + 1) if first_line_of(Path(folder) / "earlier.pdf", n).startswith("Learned")
        )
        keep(cropped(year[learned - 1]), "learned-page.png")
        write_new_book(Path(folder) / "thirty.xlsx", thirty_pieces())
        refresh(Path(folder) / "thirty.xlsx")
        every_sheet({"demo": place / "book.xlsx", "thirty": Path(folder) / "thirty.xlsx"}, Path(folder))
        papers = record(place / "book.xlsx", "R-006", on=date(2026, 3, 18), only="owner", into=Path(folder) / "papers")
        (pdf,) = (file for file in papers.files if file.suffix == ".pdf")
        keep(side_by_side(pages_of(pdf, 76)), "record.png")


def every_sheet(books: dict[str, Path], folder: Path) -> None:
    """Keep the first page of each sheet of some books beside each other, and write the page that shows them."""
    printed: dict[str, list[Image.Image]] = {}
    with Office() as office:
        for name, path in books.items():
            with office.open(path, relink=False) as document:
                pdf = document.save(folder / f"{name}.pdf")
                sheets = [sheet.title for sheet in load_workbook(path) if sheet.sheet_state == "visible"]
            for sheet, page in zip(sheets, first_pages(pdf, sheets), strict=True):
                printed.setdefault(sheet, []).append(page)
    lines = [SHEETS_HEAD]
    for sheet, pages in printed.items():
        name = f"sheet-{sheet.lower().replace(' ', '-')}.png"
        keep(side_by_side(pages), name)
        lines.append(f"\n## {sheet}\n\n![{sheet}: the demo's, and of thirty pieces](../pictures/{name})\n")
    SHEETS_PAGE.write_text("".join(lines), encoding="utf-8")


def first_pages(pdf: Path, sheets: list[str]) -> list[Image.Image]:
    """Return the first page of each sheet: the next one that begins with the sheet's name."""
    pages, found = pages_of(pdf, SMALL_DOTS), []
    numbers = iter(range(len(pages)))
    for sheet in sheets:
        number = next(n for n in numbers if first_line_of(pdf, n + 1).startswith(BEGINS.get(sheet, sheet)))
        found.append(cropped(pages[number], 0))
    return found


def thirty_pieces() -> dict[str, list[dict[str, Any]]]:
    """Return the demo's tables ten times over, pieces, orders, needs and drawer numbered anew."""
    once, found = demo_tables(), {}
    for name, rows in once.items():
        times = 1 if name in KEPT_ONCE else 10
        found[name] = [{key: _renumbered(value, n) for key, value in row.items()} for n in range(times) for row in rows]
    return found


def _renumbered(value: Any, time: int) -> Any:
    if not isinstance(value, str) or not time:
        return value
    value = re.sub(r"\bR-(\d{3})", lambda m: f"R-{int(m[1]) + 10 * time:03}", value)
    return re.sub(r"\b([OND])-(\d{4})\b", lambda m: f"{m[1]}-{int(m[2]) + 100 * time:04}", value)


def first_line_of(pdf: Path, page: int) -> str:
    """Return the first line of a page."""
    got = subprocess.run(
        ["pdftotext", "-f", str(page), "-l", str(page), "-layout", str(pdf), "-"],
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    return got.stdout.strip().partition("\n")[0]


if __name__ == "__main__":
    main()
