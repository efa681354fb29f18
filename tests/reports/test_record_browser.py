"""The record in a real browser: no message on its console, and no serious fault an accessibility checker can find."""

import json
import os
import re
import shutil
import subprocess
from datetime import date
from html import unescape
from pathlib import Path

import pytest

from orderbook.answers.record_data import story
from orderbook.records.books import Books
from orderbook.reports.record import record_html

ROOT = Path(__file__).resolve().parents[2]
BROWSERS = ("chromium", "chromium-browser", "google-chrome")


def browser() -> str:
    found = next(filter(None, map(shutil.which, BROWSERS)), None)
    return found or _lack("needs Chromium (Debian: chromium)")


def checker() -> str:
    """Find axe-core: `npm install axe-core`, in the checkout or where AXE_CORE says."""
    folders = [Path(os.environ.get("AXE_CORE", "")), ROOT / "node_modules" / "axe-core"]
    found = next((folder / "axe.min.js" for folder in folders if (folder / "axe.min.js").is_file()), None)
    return found.read_text(encoding="utf-8") if found else _lack("needs axe-core (npm install axe-core)")


def _lack(what: str) -> str:
    (pytest.fail if os.environ.get("CI") else pytest.skip)(what)
    raise AssertionError


def dom_of(page: Path, folder: Path) -> tuple[str, str]:
    command = [
        browser(), "--headless", "--no-sandbox", "--disable-gpu", f"--user-data-dir={folder / 'profile'}",
        "--enable-logging=stderr", "--virtual-time-budget=10000", "--dump-dom", page.as_uri(),
    ]  # fmt: skip
    done = subprocess.run(command, capture_output=True, text=True, timeout=120, check=True)
    return done.stdout, done.stderr


@pytest.fixture
def page(walked: Books) -> str:
    return record_html(story(walked, "R-007", on=date(2026, 3, 27)), on=date(2026, 3, 27))


@pytest.mark.slow
def test_nothing_on_the_console(page: str, tmp_path: Path) -> None:
    (tmp_path / "record.html").write_text(page, encoding="utf-8")
    dom, log = dom_of(tmp_path / "record.html", tmp_path)
    assert "Restoration record R-007" in dom
    assert re.findall(r".*CONSOLE.*", log) == []


def violations(page: str, folder: Path) -> list[list[str]]:
    """Return what axe-core finds in a page: impact, rule, where."""
    found = "r.violations.map(v => [v.impact, v.id, v.nodes[0].html])"
    run = f"axe.run().then(r => {{ document.title = JSON.stringify({found}) }})"
    script = checker().replace("</script", "<\\/script")
    watched = page.replace("</body>", f"<script>{script}</script><script>{run}</script></body>")
    (folder / "watched.html").write_text(watched, encoding="utf-8")
    dom, _ = dom_of(folder / "watched.html", folder)
    title = re.search(r"<title>(.*?)</title>", dom, flags=re.DOTALL)
    assert title
    listed: list[list[str]] = json.loads(unescape(title[1]))
    return listed


@pytest.mark.slow
def test_no_serious_accessibility_fault(page: str, tmp_path: Path) -> None:
    assert [v for v in violations(page, tmp_path) if v[0] in ("serious", "critical")] == []


@pytest.mark.slow
def test_the_checker_sees_a_fault(page: str, tmp_path: Path) -> None:
    faint = page.replace("--pumice: #635e55", "--pumice: #cccccc")
    assert "color-contrast" in {rule for _, rule, _ in violations(faint, tmp_path)}
