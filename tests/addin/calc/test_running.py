"""The process behind the menu, read beside LibreOffice: starting it waits for nothing, whatever the new thread does."""

import importlib.util
import sys
import threading
import time
from pathlib import Path

import pytest

from orderbook.addin import calc

INSIDE = Path(calc.__file__).parent / "inside"


def _loaded(name):
    spec = importlib.util.spec_from_file_location(f"orderbook_{name}", INSIDE / f"{name}.py")
    made = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(made)
    return made


@pytest.fixture
def running():
    return _loaded("running")


def test_a_thread_that_cannot_begin_holds_nobody_up(running, monkeypatch):
    """A new thread may first have to wait for LibreOffice's lock, which the caller holds: the caller must go on.

    Here the thread begins only when the caller has gone on; whoever waited for its start would wait for ever.
    """
    gone_on, over = threading.Event(), threading.Event()
    start = running._thread.start_new_thread
    monkeypatch.setattr(
        running._thread, "start_new_thread", lambda do, arguments: start(lambda: (gone_on.wait(60), do(*arguments)), ())
    )
    said = []
    begin = time.monotonic()
    running.Running(lambda _: "", print, lambda words: (said.append(words), over.set()))
    assert time.monotonic() - begin < 30
    assert said == []
    gone_on.set()
    assert over.wait(60)
    assert said == [""]


def test_the_check_above_finds_a_start_that_waits(running, monkeypatch):
    """`threading.Thread.start` under the same hindrance does wait: it is ended by a clock here."""
    gone_on = threading.Event()
    start = threading._start_new_thread
    monkeypatch.setattr(
        threading, "_start_new_thread", lambda do, arguments: start(lambda: (gone_on.wait(60), do(*arguments)), ())
    )
    waited = threading.Thread(target=lambda: None)
    went_on = []
    clock = start(lambda: (time.sleep(1.0), went_on.append("the clock"), gone_on.set()), ())
    assert clock
    waited.start()
    assert went_on == ["the clock"]


def test_lines_come_one_by_one_and_the_last_words_are_kept(running):
    seen, ends, over = [], [], threading.Event()
    code = "import json; print(json.dumps(['progress', 'x'])); raise SystemExit('gone wrong')"
    running.Running(
        lambda own: own.lines_of([sys.executable, "-c", code]),
        lambda kind, what: seen.append((kind, what)),
        lambda words: (ends.append(words), over.set()),
    )
    assert over.wait(60)
    assert ("progress", "x") in seen
    assert ends == ["gone wrong"]


def test_stop_ends_what_hangs(running):
    ends, over = [], threading.Event()
    made = running.Running(
        lambda own: own.lines_of([sys.executable, "-c", "import time; time.sleep(600)"]),
        lambda *_: None,
        lambda words: (ends.append(words), over.set()),
    )
    while made.process is None:
        time.sleep(0.01)
    made.stop()
    assert over.wait(60)
    assert ends == ["stopped"]
