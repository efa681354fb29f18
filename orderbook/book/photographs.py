"""Photographs from the folder beside a book, made small enough to stand in a page, with nothing of the camera in them.

Only what lies in that folder is read, whatever a name in the book says; a picture is drawn anew, so that neither the
place it was taken at nor anything else hidden in the file gets into the record.
"""

from __future__ import annotations

import base64
import warnings
from collections.abc import Iterable
from io import BytesIO
from pathlib import Path

from orderbook.errors import Finding, finding
from orderbook.reports.record_blocks import Photograph

LARGEST_BYTES, LARGEST_PIXELS, SIDE = 60_000_000, 120_000_000, 1200


def folder_beside(book: Path) -> Path:
    """Return the folder of a book's photographs: `clocks.xlsx` has `clocks-photographs`."""
    return book.with_name(f"{book.stem}-photographs")


def photographs(book: Path, names: Iterable[str]) -> tuple[dict[str, Photograph], tuple[Finding, ...]]:
    """Return the photographs of these names that can be shown, and why others cannot."""
    folder = folder_beside(book)
    found: dict[str, Photograph] = {}
    told: list[Finding] = []
    for name in names:
        try:
            found[name] = Photograph(_data_uri(_inside(folder, name)), name)
        except (OSError, ValueError, SyntaxError, Warning) as problem:
            saw = str(problem) if type(problem) is ValueError else "it is not there, or is no picture that can be read"
            told.append(finding("photograph_not_shown", where=name, saw=saw))
    return found, tuple(told)


def _inside(folder: Path, name: str) -> Path:
    """Return the file of a name; ValueError where it leads out of the folder."""
    if "\0" in name or Path(name).is_absolute() or ":" in name:
        raise ValueError("the name is not that of a file in the folder")
    path, home = (folder / name).resolve(), folder.resolve()
    if not path.is_relative_to(home) or path == home:
        raise ValueError("the name leads out of the folder")
    if path.is_file() and path.stat().st_size > LARGEST_BYTES:
        raise ValueError(f"the file has more than {LARGEST_BYTES // 1_000_000} MB")
    return path


def _data_uri(path: Path) -> str:
    from PIL import Image, ImageOps

    with warnings.catch_warnings():
        warnings.simplefilter("error", Image.DecompressionBombWarning)
        try:
            with Image.open(path, formats=("JPEG", "PNG")) as image:
                if image.width * image.height > LARGEST_PIXELS:
                    raise ValueError(f"the picture has {image.width} × {image.height} points")
                image.draft("RGB", (SIDE, SIDE))
                upright = ImageOps.exif_transpose(image).convert("RGB")
        except Image.DecompressionBombError as problem:
            raise ValueError("the picture unpacks into far more than it seems") from problem
    upright.thumbnail((SIDE, SIDE))
    plain = Image.new("RGB", upright.size)
    plain.paste(upright)
    page = BytesIO()
    plain.save(page, "JPEG", quality=82, optimize=True)
    return "data:image/jpeg;base64," + base64.b64encode(page.getvalue()).decode("ascii")
