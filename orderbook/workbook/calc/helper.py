"""The process that answers the Calc add-in: one JSON line in, one JSON line out, until LibreOffice closes the pipe."""

from __future__ import annotations

import gc
import json
import sys
from typing import Any

import orderbook
from orderbook.workbook.functions import FUNCTIONS
from orderbook.workbook.worksheet_call import answer


def serve() -> None:
    """Say that we are ready, then answer until there is nothing more to read."""
    gc.freeze()  # what is loaded stays: thousands of short calls must not have it looked over again and again
    questions, answers = sys.stdin.buffer, sys.stdout.buffer
    sys.stdout = sys.stderr  # nothing else may be printed between the answers
    answers.write(json.dumps(["ready", orderbook.__version__]).encode("ascii") + b"\n")
    answers.flush()
    for line in questions:
        name, values = json.loads(line)
        answers.write(json.dumps(answer(name, without_zeros(name, values))).encode("ascii") + b"\n")
        answers.flush()


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
