"""The process that answers Calc: what happens when it hangs, dies, is missing or was moved."""

import sys
import time
from pathlib import Path

import psutil
import pytest

from orderbook.addin.calc import messenger as messenger_module
from orderbook.addin.calc.messenger import Memory, Messenger

FOLDER = str(Path(messenger_module.__file__).resolve().parents[3])


@pytest.fixture
def ours():
    made = Messenger(lambda: sys.executable, FOLDER)
    yield made
    made.end()


def _acting(tmp_path, body, **limits):
    """Make a messenger whose helper is a script of the test."""
    script = tmp_path / "helper.py"
    script.write_text(f"import json, sys, time\nsay = lambda x: print(json.dumps(x), flush=True)\n{body}\n")
    made = Messenger(lambda: sys.executable, FOLDER, **limits)
    made.arguments = [str(script)]
    return made


def test_answers(ours):
    assert ours.ask(("LENGTH_MM", ("12 thou",))) == (True, 0.3048)
    assert ours.ask(("LENGTH_MM", ("17‴",)))[1] == pytest.approx(17 * 1000 / 443.296, rel=1e-12)


def test_a_helper_killed_between_two_calls_comes_back(ours):
    ours.ask(("LENGTH_MM", ("1 in",)))
    first = ours.process.pid
    psutil.Process(first).kill()
    psutil.wait_procs([psutil.Process(first)] if psutil.pid_exists(first) else [], 5)
    assert ours.ask(("LENGTH_MM", ("1 in",))) == (True, 25.4)
    assert ours.process.pid != first


def test_a_hanging_helper_is_ended_and_comes_back(tmp_path):
    body = "say(['ready', '1'])\nfor line in sys.stdin:\n    if 'hang' in line: time.sleep(600)\n    say(7)"
    made = _acting(tmp_path, body, time_limit=0.4, pause=0.3)
    assert made.ask(("F", ("quick",))) == (True, 7)
    hanging = made.process.pid
    begin = time.monotonic()
    answered, said = made.ask(("F", ("hang",)))
    assert (answered, said) == (False, "#stopped: it took longer than 0.4 s. Give fewer rows, then recalculate")
    assert time.monotonic() - begin < 5
    assert not psutil.pid_exists(hanging)
    begin = time.monotonic()
    assert [made.ask(("F", (n,)))[0] for n in range(100)] == [False] * 100  # no second wait for other cells
    assert time.monotonic() - begin < 0.25
    time.sleep(0.35)
    assert made.ask(("F", ("quick",))) == (True, 7)
    made.end()


def test_a_helper_that_hangs_at_its_start_is_ended(tmp_path):
    made = _acting(tmp_path, "time.sleep(600)", time_limit=0.4, pause=0.1)
    assert made.ask(("F", ()))[1].startswith("#stopped: it took longer")


def test_a_helper_that_crashes_on_a_question_gives_one_line(tmp_path):
    made = _acting(tmp_path, "say(['ready', '1'])\nsys.stdin.readline()\nsys.exit(3)", pause=0.1)
    answered, said = made.ask(("F", ()))
    assert (answered, said) == (False, "#orderbook gave no answer. Choose Set up in the menu Order book")


def test_a_missing_interpreter_gives_one_line_and_does_not_slow_the_sheet():
    made = Messenger(lambda: "/nowhere/python3", FOLDER)
    begin = time.monotonic()
    said = {made.ask(("F", (n,)))[1] for n in range(1000)}
    assert said == {
        "#cannot start Python for orderbook: No such file or directory. Choose Set up in the menu Order book"
    }
    assert time.monotonic() - begin < 1


def test_a_python_without_the_package_says_what_is_missing(tmp_path):
    made = Messenger(lambda: sys.executable, str(tmp_path))
    made.arguments[:0] = ["-I", "-S"]  # an interpreter that sees no package and not this folder
    answered, said = made.ask(("F", ()))
    assert not answered
    assert said.startswith("#cannot start Python for orderbook: ModuleNotFoundError: No module named 'orderbook'")


def test_what_is_printed_inside_does_not_reach_the_answers(ours):
    """The helper turns standard output away, so that a stray print cannot be taken for an answer."""
    assert ours.ask(("LENGTH_MM", ("1 in",))) == (True, 25.4)
    assert ours.ask(("NO_SUCH_FUNCTION", ()))[1].startswith("#NO_SUCH_FUNCTION: this version of orderbook")


def test_it_ends_with_the_program_that_asks(ours):
    """When LibreOffice closes the pipe, or dies, nothing of ours is left running."""
    ours.ask(("LENGTH_MM", ("1 in",)))
    process = ours.process
    process.stdin.close()
    assert process.wait(10) == 0


def test_memory_is_bounded_and_forgets_the_oldest():
    memory = Memory(most_cells=1000)
    for n in range(5000):
        memory.keep(("F", (float(n),)), ((1.0,),))
        assert len(memory.young) + len(memory.old) <= 500
    assert memory.get(("F", (4999.0,))) is not None
    assert memory.get(("F", (0.0,))) is None
    big = tuple((float(n), 1.0) for n in range(400))
    memory.keep(("F", (big,)), ((1.0,),))
    assert memory.get(("F", (big,))) is None  # too large a part of the whole to be worth it


def test_what_is_used_stays_remembered():
    memory = Memory(most_cells=1000)
    memory.keep(("F", ("often",)), ((1.0,),))
    for n in range(5000):
        memory.keep(("F", (float(n),)), ((1.0,),))
        assert memory.get(("F", ("often",))) is not None
