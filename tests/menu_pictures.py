"""Takes the pictures of the menu for the documents: `python -m tests.menu_pictures`; needs LibreOffice and Xvfb."""

from __future__ import annotations

import struct
import subprocess
import tempfile
import time
from pathlib import Path

import numpy
from matplotlib.image import imsave

from orderbook.addin.calc.extension import build
from orderbook.book.demo_book import write_demo_book
from tests.office import Office

FOLDER = Path(__file__).resolve().parents[1] / "docs" / "pictures"
SCREEN, SIZE = ":77", (1280, 800)
SETTLE_S, LOOK_S = 90, 4  # the longest wait until what was opened is drawn, and how often is looked


def keep(framebuffer: Path, name: str) -> None:
    """Write what is on the screen, out of the file in which Xvfb keeps it (format XWD, 32 bits a dot), as a PNG."""
    data = framebuffer.read_bytes()
    head, width, height = (struct.unpack_from(">I", data, at)[0] for at in (0, 16, 20))
    colours, line = (struct.unpack_from(">I", data, at)[0] for at in (76, 48))
    start = head + colours * 12
    dots = numpy.frombuffer(data, numpy.uint8, height * line, start).reshape(height, line)[:, : width * 4]
    imsave(FOLDER / name, numpy.ascontiguousarray(dots.reshape(height, width, 4)[:, :, 2::-1]))


def settled(framebuffer: Path) -> None:
    """Wait until the screen stays as it is, or a blinking cursor is all that can still change."""
    end, seen = time.monotonic() + SETTLE_S, [framebuffer.read_bytes()]
    while time.monotonic() < end and seen[-3:] != [seen[-1]] * 3:
        time.sleep(LOOK_S)
        seen = [*seen[-2:], framebuffer.read_bytes()]


def main() -> None:
    """Open the demo's book, its menu and a dialog, and keep what the screen shows."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        screen = subprocess.Popen(
            ["Xvfb", SCREEN, "-screen", "0", f"{SIZE[0]}x{SIZE[1]}x24", "-fbdir", folder], stderr=subprocess.DEVNULL
        )
        try:
            time.sleep(1)
            write_demo_book(place / "book.xlsx")
            with Office(build(place / "orderbook.oxt"), display=SCREEN) as office:
                _take(office, place)
        finally:
            screen.terminate()
            screen.wait()


def _take(office: Office, place: Path) -> None:
    framebuffer = place / "Xvfb_screen0"
    with office.window(place / "book.xlsx") as window:
        sheet, _, top, *_ = window.table_area("Orders")
        orders = [row["Order"] for row in window.table("Orders")]
        window.look_at(sheet, f"B{top + 2 + orders.index('O-0004')}", 0)
        window.full_size(*SIZE)
        window.start("trial")
        office.ask("dialog", "Note a trial", 60)
        settled(framebuffer)
        keep(framebuffer, "menu-trial.png")
        office.ask("push", "Cancel")
        window.wait()
        window.menu()  # last: it stays open
        settled(framebuffer)
        keep(framebuffer, "menu.png")


if __name__ == "__main__":
    main()
