"""The restoration record: what it tells, what it keeps to itself, and that it needs nothing else."""

import re
from datetime import date
from html.parser import HTMLParser
from statistics import mean, stdev

import pytest

from orderbook.answers.answer import asked_barrel
from orderbook.answers.record_data import story
from orderbook.barrel.modelling import model_of
from orderbook.errors import OrderbookError
from orderbook.mechanics.materials import material
from orderbook.mechanics.torque import spring_torque
from orderbook.records.books import Books
from orderbook.reports.record import record_html, record_pdf
from orderbook.reports.torque_picture import curve

ON = date(2026, 3, 27)


class Outline(HTMLParser):
    """Tags, links and tables of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.sources: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.sources += [value or "" for name, value in attrs if name in ("src", "href") and tag not in ("use", "path")]


@pytest.fixture
def page(walked: Books) -> str:
    return record_html(story(walked, "R-007", on=ON), on=ON)


def test_it_tells_the_story(page: str) -> None:
    for words in (
        "Two-train fusee bracket clock", "key, pendulum", "stopped after 4.2 turns", "ran well", "O-0002",
        "found not to be required", "withdrawn", "later replacement", "stripped the hands", "returned",
        "A wound spring can injure", "licensed plater", "527.40", "1.5",
    ):  # fmt: skip
        assert words in page, words


def test_readings_carry_their_spread(walked: Books) -> None:
    (bore,) = [q for q in story(walked, "R-007", on=ON).barrels[0].quantities if q.what == "bore"]
    repeats = (56.04, 56.02, 56.06)
    # JCGM 100: u² = (t·s)²/n + a²/3 with t = 1.32 for three readings (95.45 % over 2, Student, 2 degrees of freedom)
    from scipy.stats import norm, t

    factor = t.ppf(norm.cdf(1), 2)
    expected = ((factor * stdev(repeats)) ** 2 / 3 + 0.03**2 / 3) ** 0.5
    assert bore.measured.value == pytest.approx(mean(repeats))
    assert bore.measured.u == pytest.approx(expected, rel=0.02)
    (strength,) = [q for q in story(walked, "R-007", on=ON).barrels[0].quantities if q.what == "fitted strength"]
    assert strength.measured.value == pytest.approx(0.0165 * 25.4)


def test_the_owners_copy_has_no_price_and_no_hours(walked: Books) -> None:
    page = record_html(story(walked, "R-007", on=ON), on=ON, owner=True, costs=False)
    for words in ("What it costs", "527.40", "6.40", "GBP", "hours", "1.5", "Supplier North", "N 37/43", "injure"):
        assert words not in re.sub(r"<style>.*?</style>|<svg.*?</svg>", "", page, flags=re.DOTALL), words


def test_it_is_one_file_that_needs_nothing_else(page: str) -> None:
    outline = Outline(page)
    assert "script" not in outline.tags
    assert [s for s in outline.sources if not s.startswith("#")] == []
    assert "@import" not in page
    assert "url(" not in re.sub(r"url\(#", "", page)
    assert page.isprintable() or "\x00" not in page


def test_what_was_typed_is_text_and_never_markup(page: str) -> None:
    assert "&lt;dust&gt; &amp; dry oil" in page
    assert "<dust>" not in page


def test_the_picture_is_the_torque_of_the_springs() -> None:
    line = curve(56.04, 18.93, 37.5, 0.43, 2400)
    assert line is not None
    turns, torque = line
    assert torque[40] == pytest.approx(float(spring_torque(56.04, 18.93, 37.5, 0.43, 2400, turns[40])))
    assert curve(56.04, 18.93, 37.5, 0.43, 9000) is None  # does not go in: not drawn, no error


def test_the_same_book_gives_the_same_page(walked: Books, page: str) -> None:
    assert record_html(story(walked, "R-007", on=ON), on=ON) == page


def test_an_unknown_restoration_is_an_error(walked: Books) -> None:
    with pytest.raises(OrderbookError) as raised:
        story(walked, "R-070", on=ON)
    assert raised.value.code == "not_in_the_book"


def test_it_can_be_set_as_pdf(page: str) -> None:
    pytest.importorskip("weasyprint", reason="the optional part for PDF is not installed", exc_type=ImportError)
    made = record_pdf(page)
    assert made.startswith(b"%PDF-")
    assert len(made) > 10_000


def test_the_record_draws_with_the_steel_that_a_sizing_takes(walked: Books) -> None:
    told = story(walked, "R-007", on=ON).barrels[0]
    steel = model_of(asked_barrel(walked, "R-007-B1")).material
    assert steel.curl < 0.2
    assert told.steel == steel
    stiff, usual = (
        curve(56.0, 18.0, 30.0, 0.42, 2300.0, flow_stress_mpa=one.flow_stress_mpa, modulus_mpa=one.modulus_mpa)
        for one in (told.steel, material("carbon"))
    )
    assert stiff is not None
    assert usual is not None
    assert stiff[1][-1] > 1.05 * usual[1][-1]
