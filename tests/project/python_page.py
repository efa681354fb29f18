"""Writes the reference page of Python from the docstrings: `python -m tests.project.python_page`."""

from __future__ import annotations

import ast
import dataclasses
import inspect
import re
import textwrap
from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any

import orderbook
from orderbook.shown import Drawn, Shown
from tests.project.house import ROOT

PAGE = ROOT / "docs/reference/python.md"
GROUPS = {
    "A barrel and its spring": ("Barrel", "size", "Sizing", "compare", "Comparison", "Tried"),
    "Lists and the order": (
        "read_catalogue", "CatalogueReading", "grade", "Grading", "rank", "Ranking", "ChoiceTerms", "Supplier",
        "PostageRule", "SpringAtHand", "Rate", "Rates",
    ),
    "The book": ("Book", "new", "demo"),
    "Functions of a spring in a barrel": (
        "length_mm", "spring_width", "spring_strength", "spring_length", "spring_turns", "spring_fill", "spring_slack",
        "spring_torque", "drive_index", "load_index", "strongest_useful", "rod_test_torque", "fusee_set_up",
        "fusee_evenness",
    ),
    "Blocks as a worksheet shows them": ("spring_size", "barrel_size", "rank_springs", "graded_order"),
    "Values, findings and errors": ("Measured", "Money", "Finding", "OrderbookError"),
}  # fmt: skip
HEAD = """# Python

Everything a command does, with the same words: `import orderbook`. The [tutorial](../tutorial/python.md) goes from
readings to the record in one script; [how to install](../how-to/install.md).

**What goes in.** A length is a number in mm, a text as a person types it (`"12 thou"`, `"1 1/2 in"`, `"6¾ ligne"`), a
quantity of any pint registry, a `Measured` value with its ±, or a number of the package uncertainties; repeats are a
list, an array or a column of a data frame. None, NaN and NA are "not given". Suppliers, rates, the drawer and lists of
springs may be data frames or files. Money that comes back is exact (`Decimal`, `Money`, text in JSON), and a number in
a data frame.

**What comes out.** Every answer has its own attributes, and all of them have these:

{shown}
**What goes wrong.** What a user can put right is an `OrderbookError` with `code`, `where` (the argument, the cell, the
file and line), `saw`, `expected` and `try_this`. What should be known but stops nothing is in `findings`. A mistake of
the calling program is a TypeError or a ValueError.

`import orderbook` loads nothing else; pandas, pint, matplotlib and the rest are imported when they are first needed.

Made from the docstrings, every example run: `python -m tests.project.python_page`.
"""
WORD = "(?:Parameters|Returns|Raises|Source)"
SECTION = re.compile(f"^({WORD}(?:, {WORD})*):", re.MULTILINE)
BESIDES = {
    "date": "from datetime import date",
    "Decimal": "from decimal import Decimal",
    "Path": "from pathlib import Path",
}


def python_page() -> str:
    """Return the page as Markdown."""
    shown = "".join(f"- `{_call(name, method)}`: {_first_line(method)}\n" for name, method in _of_every_answer())
    parts = [HEAD.format(shown=shown)]
    for title, names in GROUPS.items():
        parts.append(f"\n## {title}\n")
        parts += [_entry(name) for name in names]
    return "".join(parts)


def _of_every_answer() -> Iterator[tuple[str, Callable[..., Any]]]:
    yield "str", lambda answer: None
    for cls, names in ((Shown, ("to_frame", "as_dict")), (Drawn, ("plot", "save_picture"))):
        yield from ((name, getattr(cls, name)) for name in names)


def _first_line(method: Any) -> str:
    doc = inspect.getdoc(method) or "The answer as its command prints it; a notebook shows a table."
    return " ".join(doc.split("\n\n")[0].split())


def _entry(name: str) -> str:
    thing = getattr(orderbook, name)
    parts = [f"\n### {name}\n\n"]
    if not isinstance(thing, type) or _is_made_by_hand(name):
        parts.append(f"`{_call(name, thing)}`\n\n")
    parts.append(_told(inspect.getdoc(thing) or ""))
    if isinstance(thing, type):
        parts.append(_members(thing))
    return "".join(parts)


def _is_made_by_hand(name: str) -> bool:
    return name in ("Barrel", "Book", "Measured", "Money", "Supplier", "SpringAtHand", "Rate", "Rates")


def _call(name: str, function: Any) -> str:
    """Write a call without types, which the text tells."""
    if name == "str":
        return "str(answer)"
    told, star = [], False
    for one in inspect.signature(function).parameters.values():
        if one.name in ("self", "cls") or one.name.startswith("_"):
            continue
        if one.kind is one.KEYWORD_ONLY and not star:
            told.append("*")
        star = star or one.kind in (one.KEYWORD_ONLY, one.VAR_POSITIONAL)
        mark = {one.VAR_POSITIONAL: "*", one.VAR_KEYWORD: "**"}.get(one.kind, "")
        told.append(f"{mark}{one.name}{_default(one.default)}")
    return f"{name}({', '.join(told)})"


def _default(value: Any) -> str:
    if value is inspect.Parameter.empty:
        return ""
    return f"={value!r}" if isinstance(value, (int, float, str, bool, tuple)) or value is None else "=…"


def _told(doc: str) -> str:
    """Turn a docstring into Markdown; its example becomes a block that the tests run by itself."""
    words, example = _split(doc)
    text = re.sub(r"\n{3,}", "\n\n", SECTION.sub(r"\n**\1:**", words).strip())
    block = f"\n```python\n{_imports(example)}{example}\n```\n" if example else ""
    return f"{text}\n{block}"


def _imports(example: str) -> str:
    """Write the imports that an example needs besides its own."""
    there = set(re.findall(r"import (.+)", example))
    imported = {name.strip() for names in there for name in names.split(",")}

    def used(names: Any) -> list[str]:
        return [n for n in names if n not in imported and re.search(rf"(?<![.\w'\"]){n}\b(?!\s*[:=]\s)", example)]

    lines = [BESIDES[name] for name in used(BESIDES)]
    lines += [f"from orderbook import {', '.join(names)}"] if (names := sorted(used(orderbook.ROOMS))) else []
    return "".join(f">>> {line}\n" for line in lines)


def _split(doc: str) -> tuple[str, str]:
    """Take the examples of a docstring apart from its words."""
    words, example = [], []
    inside = False
    for line in doc.splitlines():
        inside = line.startswith(">>>") or (inside and bool(line.strip()))
        (example if inside else words).append(line)
    return "\n".join(words), "\n".join(example)


def _members(cls: type) -> str:
    if cls is orderbook.ChoiceTerms:
        return "".join(
            ["\n| term | what it says |\n| --- | --- |\n", *(f"| `{key}` | {says} |\n" for key, says in _terms())]
        )
    lines = []
    if issubclass(cls, Shown) and (quantities := [n for n, v in vars(cls).items() if type(v).__name__ == "LineOf"]):
        lines.append(f"Quantities: {', '.join(f'`{name}`' for name in quantities)}.\n\n")
    own = [(n, v) for n, v in vars(cls).items() if not n.startswith("_") and not n.startswith("shown_")]
    properties = [(n, v.fget) for n, v in own if isinstance(v, property)]
    methods = [(n, getattr(cls, n)) for n, v in own if inspect.isfunction(v) or isinstance(v, classmethod)]
    if cls is orderbook.Book:
        methods.insert(0, ("[table]", cls.__getitem__))  # type: ignore[attr-defined]
    fields = (
        [f.name for f in dataclasses.fields(cls) if not f.name.startswith("_")] if dataclasses.is_dataclass(cls) else []
    )
    if fields and cls not in (orderbook.Barrel, orderbook.Book):
        lines.append(f"Fields: {', '.join(f'`{name}`' for name in fields)}.\n")
    lines += [f"\n- `{name}`: {_first_line(one)}" for name, one in properties]
    for name, method in methods:
        if issubclass(cls, Shown) and hasattr(Drawn, name):
            continue
        call = "[table]" if name == "[table]" else f".{_call(name, method)}"
        lines.append(f"\n- `{call}`: {_one_paragraph(method)}")
    return "\n" + "".join(lines).strip("\n") + "\n" if lines else ""


def _one_paragraph(method: Any) -> str:
    words = _split(inspect.getdoc(method) or "")[0]
    return " ".join(words.split())


def _terms() -> Iterator[tuple[str, str]]:
    """Read the terms with what is written below each."""
    tree = ast.parse(textwrap.dedent(inspect.getsource(orderbook.ChoiceTerms)))
    body = tree.body[0].body  # type: ignore[attr-defined]
    for one, below in pairwise(body):
        if isinstance(one, ast.AnnAssign) and isinstance(below, ast.Expr):
            yield one.target.id, " ".join(ast.literal_eval(below.value).split())  # type: ignore[union-attr]


if __name__ == "__main__":
    PAGE.write_text(python_page(), encoding="utf-8")
