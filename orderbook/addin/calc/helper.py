"""The process that answers the Calc add-in: one line in, one line out, until LibreOffice closes the pipe."""

from __future__ import annotations

import gc
import json
import sys
from typing import Any

import orderbook
from orderbook.functions.call import Answer, answer
from orderbook.functions.table import FUNCTIONS


def serve() -> None:
    """Say that we are ready, then answer until there is nothing more to read."""
    gc.freeze()  # what is loaded stays: thousands of short calls must not have it looked over again and again
    questions, answers = sys.stdin.buffer, sys.stdout.buffer
    sys.stdout = sys.stderr  # nothing else may be printed between the answers
    answers.write(json.dumps(["ready", orderbook.__version__]).encode("ascii") + b"\n")
    answers.flush()
    for line in questions:
        name, values = question_of(line)
        answers.write(line_of(answer(name, without_zeros(name, values))))
        answers.flush()


def question_of(line: bytes) -> tuple[str, list[Any]]:
    """Read a question in either of its two forms.

    >>> question_of(b"SPRING_TURNS 20.0 6.5\\n"), question_of(b'["LENGTH_MM", ["12 thou"]]\\n')
    (('SPRING_TURNS', [20.0, 6.5]), ('LENGTH_MM', ['12 thou']))
    """
    if line.startswith(b"["):
        name, values = json.loads(line)
        return name, values
    word, *numbers = line.split()
    return word.decode("ascii"), list(map(float, numbers))


def line_of(found: Answer) -> bytes:
    """Write an answer as one line of JSON.

    >>> line_of(12.5), line_of([["a", None]])
    (b'12.5\\n', b'[["a", null]]\\n')
    """
    said = repr(found) if type(found) is float else json.dumps(found)  # answers are finite
    return said.encode("ascii") + b"\n"


def without_zeros(name: str, values: list[Any]) -> list[Any]:
    """Take a zero for an empty cell where a zero makes no sense: Calc hands an empty cell over as 0.

    >>> without_zeros("LENGTH_MM", [0.0])
    [0.0]
    """
    if 0.0 not in values or (function := FUNCTIONS.get(name)) is None:
        return values
    arguments = function.arguments
    return [
        None if value == 0.0 and n < len(arguments) and arguments[n].empty_as_zero else value
        for n, value in enumerate(values)
    ]
