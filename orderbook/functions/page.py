"""Writes the reference page of the worksheet functions: `python -m orderbook.functions.page`."""

from __future__ import annotations

from pathlib import Path

from orderbook.functions.blocks import RANK_COLUMNS, SIZE_COLUMNS, STAGE_COLUMNS
from orderbook.functions.help_text import argument_help, example_formula
from orderbook.functions.table import FUNCTIONS, Function

PAGE = Path(__file__).resolve().parents[2] / "docs/reference/functions.md"
HEAD = """# Worksheet functions

The same functions in Excel on Windows and in LibreOffice Calc; [how to set them up](../how-to/live-functions.md).
Lengths are in mm, torque in N·mm, turns are counted from run down. An argument in brackets may be left out; an empty
cell given for one counts as left out. A length may also be a text with its unit, such as `"17 ligne"` or `"0.0125 in"`.

- A function of single numbers also takes whole columns of equal length and answers one row each, in one call. A row
  that cannot be answered shows its own line; the others are answered.
- Whatever cannot be answered is one line of text that begins with `#` and says what to do.
- A table is handed over with its header, `Barrels[[#Headers],[#Data]]`; columns are found by their headings, in any
  order. A block of rows keeps its shape; rows it does not need are empty.

Made from the table of functions; the examples are run with the tests, in Python and in LibreOffice.
"""
COLUMNS = {
    "SPRING_SIZE": SIZE_COLUMNS,
    "BARREL_SIZE": SIZE_COLUMNS,
    "RANK_SPRINGS": RANK_COLUMNS,
    "GRADED_ORDER": STAGE_COLUMNS,
}


def functions_page() -> str:
    """Return the page as Markdown."""
    listed = "\n".join(f"| [`{f.syntax}`](#{f.name.lower()}) | {f.unit or 'rows'} |" for f in FUNCTIONS.values())
    table = f"| function | gives |\n| --- | --- |\n{listed}\n"
    return "\n".join([HEAD, table, *map(_function, FUNCTIONS.values())])


def _function(function: Function) -> str:
    gives = f"{function.gives} In {function.unit}." if function.unit else function.gives
    rows = "\n".join(f"| `{a.name}` | {argument_help(a)} |" for a in function.arguments)
    parts = [f"## {function.name}\n", f"`{function.syntax}`\n", gives + "\n"]
    if function.name in COLUMNS:
        parts.append(f"Columns: {', '.join(COLUMNS[function.name])}.\n")
    parts.append(f"| argument | meaning |\n| --- | --- |\n{rows}\n")
    return "\n".join([*parts, *_example(function)])


def _example(function: Function) -> list[str]:
    if function.example is None:
        return [f"As typed in a cell: `{function.typed}`\n"]
    answer, places = function.example.answer, function.example.places
    given = ", ".join(repr(value) for value in function.example.arguments)
    return [
        f"`{example_formula(function)}` gives {answer:g}. Checked against: {function.example.source}.\n",
        "```python",
        ">>> from orderbook.functions.call import answer",
        f'>>> round(answer("{function.name}", [{given}]), {places})',
        f"{float(answer)!r}",
        "```\n",
    ]


if __name__ == "__main__":
    PAGE.parent.mkdir(parents=True, exist_ok=True)
    PAGE.write_text(functions_page(), encoding="utf-8")
