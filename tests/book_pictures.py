"""Takes the pictures of the demo's book and record for the documents: `python -m tests.book_pictures`.

Needs LibreOffice, pdftoppm (poppler) and WeasyPrint.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from datetime import date
from pathlib import Path

import numpy as np
from PIL import Image

from orderbook.book.record import record
from tests.office import Office

FOLDER = Path(__file__).resolve().parents[1] / "docs" / "pictures"
DOTS = 108  # an inch
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
        account = next(n for n in numbers if first_word_of(Path(folder) / "book.pdf", n) == "Account")
        keep(cropped(book[account - 1]), "account.png")
        with Office() as office, office.open(place / "earlier.xlsx", relink=False) as document:
            year = pages_of(document.save(Path(folder) / "earlier.pdf"))
        learned = next(
            n for n in range(1, len(year) + 1) if first_word_of(Path(folder) / "earlier.pdf", n) == "Learned"
        )
        keep(cropped(year[learned - 1]), "learned-page.png")
        papers = record(place / "book.xlsx", "R-006", on=date(2026, 3, 18), only="owner", into=Path(folder) / "papers")
        (pdf,) = (file for file in papers.files if file.suffix == ".pdf")
        keep(side_by_side(pages_of(pdf, 76)), "record.png")


def first_word_of(pdf: Path, page: int) -> str:
    """Return the first word of a page."""
    got = subprocess.run(
        ["pdftotext", "-f", str(page), "-l", str(page), "-layout", str(pdf), "-"],
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    return got.stdout.split()[0]


if __name__ == "__main__":
    main()
