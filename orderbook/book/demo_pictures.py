"""Pictures for the demo's record: drawn, not taken, and they say so."""

from __future__ import annotations

import math
from collections.abc import Callable
from io import BytesIO
from typing import Any

SIZE = (960, 720)
BRASS, STEEL, PAPER, INK = (196, 168, 98), (88, 104, 124), (244, 240, 228), (38, 35, 31)


def demo_photographs() -> dict[str, bytes]:
    """Return the pictures that the demo's book names, by file name."""
    return {
        "R-006-01.jpg": _drawn("lever watch, as it came", _watch),
        "R-006-02.jpg": _drawn("lever watch, when it went back", _watch),
        "R-007-01.jpg": _drawn("bracket clock, backplate with two odd holes", _backplate),
        "R-007-02.jpg": _drawn("fusee chain, its stiff link", _chain),
        "R-007-03.jpg": _drawn("going barrel, the old spring in it", _barrel),
    }


def _drawn(words: str, draw: Callable[[Any], None]) -> bytes:
    from PIL import Image, ImageDraw, ImageFont

    image = Image.new("RGB", SIZE, PAPER)
    pen = ImageDraw.Draw(image)
    draw(pen)
    pen.rectangle((0, SIZE[1] - 54, *SIZE), fill=INK)
    pen.text((20, SIZE[1] - 42), f"drawn for the demo, invented: {words}", fill=PAPER, font=ImageFont.load_default(24))
    page = BytesIO()
    image.save(page, "JPEG", quality=80)
    return page.getvalue()


def _ring(pen: Any, x: float, y: float, r: float, **look: Any) -> None:
    pen.ellipse((x - r, y - r, x + r, y + r), **look)


def _wheel(pen: Any, x: float, y: float, r: float, teeth: int) -> None:
    for n in range(teeth):
        a = 2 * math.pi * n / teeth
        inner, outer = r * 0.94, r * 1.05
        pen.line(
            (x + inner * math.cos(a), y + inner * math.sin(a), x + outer * math.cos(a), y + outer * math.sin(a)),
            fill=INK,
            width=4,
        )
    _ring(pen, x, y, r * 0.95, fill=BRASS, outline=INK, width=3)
    _ring(pen, x, y, r * 0.12, fill=STEEL, outline=INK, width=2)


def _watch(pen: Any) -> None:
    _ring(pen, 480, 330, 290, fill=(224, 208, 160), outline=INK, width=4)
    for x, y, r, teeth in ((380, 230, 110, 60), (590, 260, 80, 48), (430, 440, 70, 40), (600, 440, 95, 1)):
        _wheel(pen, x, y, r, teeth)


def _backplate(pen: Any) -> None:
    pen.rectangle((260, 60, 700, 620), fill=BRASS, outline=INK, width=4)
    for x, y in ((300, 100), (660, 100), (300, 580), (660, 580)):
        _ring(pen, x, y, 14, fill=STEEL, outline=INK, width=2)
    for x in (440, 520):
        _ring(pen, x, 300, 9, fill=INK)
    for x, y, r in ((480, 450, 60), (400, 200, 26), (560, 200, 26)):
        _ring(pen, x, y, r, outline=INK, width=3)
    pen.line((480, 450, 480, 610), fill=INK, width=3)


def _chain(pen: Any) -> None:
    for n in range(18):
        x, y = 70 + n * 48, 330 + 60 * math.sin(n / 2.6) + (26 if n == 9 else 0)
        pen.rounded_rectangle((x, y, x + 44, y + 20), 10, fill=STEEL, outline=INK, width=2)
        _ring(pen, x + 8, y + 10, 5, fill=PAPER, outline=INK)


def _barrel(pen: Any) -> None:
    _ring(pen, 480, 330, 290, fill=BRASS, outline=INK, width=5)
    _ring(pen, 480, 330, 255, fill=PAPER, outline=INK, width=3)
    points = []
    for n in range(900):
        a, r = n * 0.06, 250 - n * 0.16
        points.append((480 + r * math.cos(a), 330 + r * math.sin(a)))
    pen.line(points, fill=STEEL, width=4)
    _ring(pen, 480, 330, 62, fill=STEEL, outline=INK, width=3)
