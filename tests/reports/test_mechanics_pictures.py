"""The pictures of the page on mechanics are drawn by the code, and the page shows each of them."""

from pathlib import Path

from orderbook.reports.mechanics_pictures import pictures

PAGE = Path(__file__).resolve().parents[2] / "docs/explanation/mechanics.md"


def test_every_picture_is_drawn_and_shown() -> None:
    drawn = pictures()
    text = PAGE.read_text(encoding="utf-8")
    for name, png in drawn.items():
        assert png.startswith(b"\x89PNG")
        assert len(png) > 10_000
        assert f"(mechanics/{name})" in text
        assert (PAGE.parent / "mechanics" / name).exists()
