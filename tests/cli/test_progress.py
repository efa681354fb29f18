"""What is shown while long lists are read: on a terminal alone, and gone afterwards."""

import io
import sys
import time
from pathlib import Path

from orderbook.cli import progress


class Terminal(io.StringIO):
    def isatty(self):
        return True


def shown(monkeypatch, stream, *counted):
    monkeypatch.setattr(progress, "SOON", 0.01)
    monkeypatch.setattr(progress, "EVERY", 0.01)
    monkeypatch.setattr(sys, "stderr", stream)
    with progress.shown_reading((Path("list.csv"),)) as reading:
        for done, size in counted:
            reading(done, size)
        time.sleep(0.1)
    return stream.getvalue()


def test_a_terminal_sees_how_far_it_is_and_the_line_is_wiped(monkeypatch):
    said = shown(monkeypatch, Terminal(), (34_000_000, 58_000_000))
    assert "\rReading list.csv, 34 of 58 MB: 0 s" in said
    assert said.endswith(" \r")


def test_a_packed_list_does_not_say_34_of_9(monkeypatch):
    assert "Reading list.csv, 34 MB: 0 s" in shown(monkeypatch, Terminal(), (34_000_000, 9_000_000))


def test_no_terminal_sees_nothing(monkeypatch):
    assert shown(monkeypatch, io.StringIO(), (1, 2)) == ""
