"""A map for a list that was refused: every heading with samples and the guess, and a "?" where an answer is due."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from orderbook.catalogue.blocks import Coded
from orderbook.catalogue.headings import SIZES, heading
from orderbook.catalogue.maps import QUESTION, ColumnMap, MapEntry, map_text
from orderbook.catalogue.reading import Ways, lists_of, ways_of
from orderbook.catalogue.stretches import Stretch
from orderbook.catalogue.words import Words
from orderbook.errors import OrderbookError

UNITS = frozenset(["unit_not_said", "unit_in_doubt", "unit_not_sensible", "sizes_unusual"])
MEANINGS = frozenset(["columns_conflict", "columns_not_found", "column_not_read"])
OTHERS = frozenset(["mark_undecided", "gauge_not_named"])
CAN_BE_ANSWERED = UNITS | MEANINGS | OTHERS
SAMPLES = 3
HOW = (
    'Answer each "?" and run the command again: this file is found beside its list.',
    'A meaning "unused" leaves a column out; a unit is mm, cm, in, 1/100 mm, ...; a decimal is "." or ",".',
)


def map_skeleton(path: str | Path, problem: OrderbookError, **said: Any) -> str | None:
    """Write a map for a refused list, to be answered: every heading, three samples, the guess, what is missing.

    Parameters: path, the list; problem, what `read_catalogue` raised; said, what it was given besides.
    Returns: TOML, or None if a map cannot cure what is wrong.
    """
    if problem.code not in CAN_BE_ANSWERED:
        return None
    ways = ways_of(**said)
    try:
        stretch = _first_rows(Path(path), ways)
    except OrderbookError:
        return None
    names = _names(stretch.head.header)
    entries, remarks = {}, {}
    for name, text, column in zip(names, stretch.head.header, stretch.block.columns, strict=True):
        samples = _samples(column)
        if not text and not samples:
            continue
        entry = _asked(_guess(text, ways.words), text, problem, ways.words)
        entries[name] = _with_unit(entry) if problem.code in UNITS and _are_bare(column) else entry
        remarks[name] = " · ".join(samples) or "nothing in it"
    if problem.code in UNITS and not any(entry.unit == QUESTION for entry in entries.values()):
        entries = {name: _with_unit(entry) for name, entry in entries.items()}
    gauge = QUESTION if problem.code == "gauge_not_named" else ""
    columns = ColumnMap(entries, gauge=gauge, headings=bool(stretch.head.line))
    return map_text(columns, remarks, head=(_one_line(str(problem)), *HOW))


def _first_rows(path: Path, ways: Ways) -> Stretch:
    """The first rows of a list, below its headings or, where none were found, below none."""
    try:
        lists, _, _ = lists_of(path, ways)
    except OrderbookError as problem:
        if problem.code != "columns_not_found":
            raise
        lists, _, _ = lists_of(path, replace(ways, column_map=ColumnMap(headings=False)))
    for stretch, walk in lists[0].stretches({}):
        if stretch is not None and len(stretch.block):
            return replace(stretch, head=walk.head if walk.head.number == stretch.head.number else stretch.head)
    raise OrderbookError(_nothing(path))


def _nothing(path: Path) -> Any:
    from orderbook.errors import finding

    return finding("list_empty", where=str(path), saw="no row below the headings")


def _names(header: Sequence[str]) -> list[str]:
    """A heading that stands there twice, or none at all, is named by its place."""
    return [
        text if text and list(header).count(text) == 1 else f"#{place} {text}".strip()
        for place, text in enumerate(header, start=1)
    ]


def _guess(text: str, words: Words) -> MapEntry:
    head = heading(text, words)
    meaning = "note" if head.meaning == "description" else head.meaning
    unit = head.unit.name if head.unit is not None and meaning in (*SIZES, "sizes") else ""
    return MapEntry(meaning or QUESTION, unit)


def _asked(guess: MapEntry, text: str, problem: OrderbookError, words: Words) -> MapEntry:
    """Put the question where the problem is."""
    named = bool(text) and repr(text) in problem.saw
    if problem.code in MEANINGS and (named or guess.meaning == QUESTION) and not _is_needed(guess, problem):
        return replace(guess, meaning=QUESTION, unit="")
    if guess.meaning == QUESTION and problem.code not in MEANINGS:
        guess = replace(guess, meaning="unused")
    if problem.code in UNITS and guess.meaning in (*SIZES, "sizes"):
        head = heading(text, words)
        if problem.code == "sizes_unusual" or (named and not guess.unit) or head.doubt or head.numbered:
            return replace(guess, unit=QUESTION)
    if problem.code == "mark_undecided" and named:
        return replace(guess, decimal=QUESTION)
    return guess


def _is_needed(guess: MapEntry, problem: OrderbookError) -> bool:
    """Whether a heading that the problem lists is understood all the same."""
    return problem.code == "columns_not_found" and guess.meaning != QUESTION


def _with_unit(entry: MapEntry) -> MapEntry:
    return replace(entry, unit=QUESTION) if entry.meaning in (*SIZES, "sizes") and not entry.unit else entry


def _are_bare(column: Coded) -> bool:
    """Whether the cells are numbers and nothing else: their unit, where no heading says it, is anybody's guess."""
    return not any(letter.isalpha() or letter in "\"'″′‴" for text in column.texts for letter in text)


def _samples(column: Coded) -> list[str]:
    return [" ".join(text.split())[:40] for text in column.texts if text][:SAMPLES]


def _one_line(text: str) -> str:
    return " ".join(text.split())
